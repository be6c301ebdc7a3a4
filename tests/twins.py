"""Twin experiments: tanks with hidden numbers, logged as keepers do, fitted, held against the truth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from functools import cache

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.calibration.deeds import Deeds, deeds_of
from backreef.calibration.evidence import Scale, at_moments, course_of, days_since, rows_needed, taken_of
from backreef.calibration.fit import fit_log, lived_of, march_lived
from backreef.calibration.lives import Window, window_of
from backreef.calibration.luck import LearnedDraws
from backreef.calibration.standing import StartsAfresh, go_on, standing_of
from backreef.calibration.tables import all_fitted, number
from backreef.logbook.entries import Entry, Reading
from backreef.logbook.kits import kit_trust
from backreef.simulation.lived import Lived
from tests.unit.aquarium.plans import catalogue, plan_of

Array = npt.NDArray[np.float64]
LANES = 8
LOGGED_DAYS, AHEAD_DAYS = 84, 56
TREND_DAYS = 42
KITS = {
    "nitrate_mg_n_per_l": "colour_card",
    "phosphate_mg_p_per_l": "photometer",
    "alkalinity_meq_per_l": "drop_count",
}
TRUTH_SEED = 7000
PLAN = """\
start_on = 2026-01-05
[tank]
name = "Twin"
display = "200 L"
rock = "20 kg"
sand_area = "0.3 m2"
sand_depth = "5 cm"
start = {{ kind = "{kind}", age = "{age}", nitrate = "8 mg/L NO3", phosphate = "0.08 mg/L PO4" }}
[[animals]]
id = "pair"
species = "ocellaris_clown"
count = 2
length = "6 cm"
[[animals]]
id = "snails"
species = "trochus"
count = 4
[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.3 g"
by = "hand"
times = ["18:00"]
[keeper]
presence = ["Mon-Sun 8:00-20:00"]
[[upkeep]]
task = "wc_do"
share = "10 %"
every = "14 days"
[goals]
horizon = "1 years"
"""


@cache
def twin_plan(kind: str) -> Plan:
    return plan_of(PLAN.format(kind=kind, age={"seeded": "8 weeks", "established": "12 months"}[kind]))


@cache
def life(kind: str) -> Lived:
    plan = twin_plan(kind)
    deeds: Deeds = deeds_of((), plan, catalogue(), last_day=LOGGED_DAYS - 1)
    return lived_of(deeds, catalogue(), known_days=LOGGED_DAYS, days=LOGGED_DAYS + AHEAD_DAYS)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Truth:
    """Eight tanks and what is hidden in them."""

    draws: LearnedDraws
    courses: dict[str, Array]
    """Series -> (days, tanks)."""


@cache
def truth(kind: str, block: int) -> Truth:
    draws = LearnedDraws(TRUTH_SEED + block, LANES)
    lived = life(kind)
    layout = lived.prepared.layout
    members = march_lived(lived, draws, rows_needed(layout))
    return Truth(draws=draws, courses={name: course_of(name, layout, members) for name in KITS})


def moments(rng: np.random.Generator) -> list[float]:
    """A keeper's evenings: once a week or so, now and then not, and not while away for three weeks."""
    away = rng.integers(14, LOGGED_DAYS - 28)
    days = [7 * week + int(rng.integers(1, 7)) for week in range(LOGGED_DAYS // 7)]
    kept = [day for day in days if not away <= day < away + 21 and rng.random() > 0.15]
    return [min(day, LOGGED_DAYS - 1) + 19 / 24 for day in kept]


def log_of(kind: str, block: int, lane: int) -> list[Entry]:
    """What the keeper of one of the tanks wrote down."""
    rng = np.random.default_rng(np.random.Philox(key=1000 * block + lane))
    return written(truth(kind, block).courses, lane, moments(rng), rng)


def written(
    courses: dict[str, Array],
    lane: int,
    days: Sequence[float],
    rng: np.random.Generator,
    kits: dict[str, str] = KITS,
) -> list[Entry]:
    """Readings with kits that err as kits do: a part for good, a part anew each time, rounded to a step."""
    start = datetime.combine(twin_plan("established").start_on, time(), tzinfo=UTC)
    found = []
    for series, kit in kits.items():
        trust = kit_trust(series, kit)
        assert trust is not None
        lot = rng.standard_normal() * number("kit_common_frac") ** 0.5
        values = at_moments(courses[series], np.array(days))[:, lane]
        for day, value in zip(days, values.tolist(), strict=True):
            own = rng.standard_normal() * (1 - number("kit_common_frac")) ** 0.5
            error = float(np.hypot(trust.relative_error_frac * value, trust.absolute_error)) * (lot + own)
            seen = max(0.0, round((value + error) / trust.resolution) * trust.resolution)
            what = Reading(series=series, value=seen, written=f"{seen:.4g}", kit=kit)
            at = start + timedelta(days=float(day))
            ident = f"{series}{day:.2f}"
            found.append(Entry(id=ident, tank="Twin", at=at, what=what, logged_at=at, who="k", batch="b"))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """A series eight weeks ahead, in even units; and whether the truth lies in the band."""

    series: str
    truth: float
    planned: float
    fitted: float
    last: float
    trend: float
    within: bool
    within_planned: bool
    width_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Twin:
    """What came of one twin."""

    ahead: tuple[Ahead, ...]
    within: dict[str, bool]
    """Name of a fitted number -> whether its hidden value lies in the 90 % interval."""
    told_frac: dict[str, float]
    questioned_count: int
    readings_count: int


def run_twin(kind: str, block: int, lane: int, *, members: int) -> Twin:
    """Fit one twin to its log and hold it against what is hidden."""
    lived, plan = life(kind), twin_plan(kind)
    taken, _ = taken_of(log_of(kind, block, lane), plan.start_on)
    fit = fit_log(lived, taken, members=members, seed=1)
    layout = lived.prepared.layout
    after = fit.marched
    before = planned(kind, members)
    scale: Scale = fit.scale
    rows = []
    for series in KITS:
        say = scale.even(series, course_of(series, layout, after)[-1])
        was = scale.even(series, before[series][-1])
        true = float(scale.even(series, truth(kind, block).courses[series][-1, lane]))
        low, high = np.percentile(say, [5, 95])
        low_was, high_was = np.percentile(was, [5, 95])
        mine = [
            (one.at_d, float(scale.even(series, one.value))) for one in taken if one.series.series == series
        ]
        rows.append(
            Ahead(
                series=series,
                truth=true,
                planned=float(np.median(was)),
                fitted=float(np.median(say)),
                last=mine[-1][1],
                trend=straight_line(mine, LOGGED_DAYS + AHEAD_DAYS),
                within=bool(low <= true <= high),
                within_planned=bool(low_was <= true <= high_was),
                width_ratio=float((high - low) / (high_was - low_was)),
            )
        )
    hidden, learned, prior = truth(kind, block).draws.learned, fit.after.learned, fit.before.learned
    within, told = {}, {}
    for one in all_fitted():
        if one.draw in learned and one.draw in hidden:
            low, high = np.percentile(learned[one.draw], [5, 95])
            within[one.id] = bool(low <= hidden[one.draw][lane] <= high)
            told[one.id] = float(1 - learned[one.draw].var() / prior[one.draw].var())
    return Twin(
        ahead=tuple(rows),
        within=within,
        told_frac=told,
        questioned_count=len(fit.doubts),
        readings_count=len(taken),
    )


@cache
def planned(kind: str, members: int) -> dict[str, Array]:
    """The same outlook before anything was read."""
    lived = life(kind)
    layout = lived.prepared.layout
    marched = march_lived(lived, LearnedDraws(1, members), rows_needed(layout))
    return {series: course_of(series, layout, marched) for series in KITS}


def straight_line(points: Sequence[tuple[float, float]], at_d: float) -> float:
    """A line through the readings of the last six weeks, drawn on."""
    late = [point for point in points if point[0] >= LOGGED_DAYS - TREND_DAYS]
    if len(late) < 2:
        return points[-1][1]
    when, what = np.array(late).T
    slope, level = np.polyfit(when, what, 1)
    return float(level + slope * at_d)


def rms(values: Sequence[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


# --- fits that go on ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class WentOn:
    """A series at the end of the outlook, in even units, by a fit that went on and by a fresh one."""

    truth: float
    on: float
    fresh: float
    on_within: bool
    fresh_within: bool
    width_ratio: float
    """Of the band of the one over that of the other."""


def go_on_with_twin(
    kind: str, block: int, lane: int, *, members: int, since_day: int
) -> tuple[dict[str, WentOn], str]:
    """Fit a twin's log up to a day, go on with the rest, fit the whole afresh; or why it did not go on."""
    plan = twin_plan(kind)
    entries = log_of(kind, block, lane)

    def window(until_day: int) -> Window:
        seen = [one for one in entries if days_since(one, plan.start_on) < until_day]
        return window_of(plan, catalogue(), seen, since_day=0, weeks_ahead=AHEAD_DAYS // 7)

    first, here = window(since_day), window(LOGGED_DAYS)
    fit = fit_log(first.lived, first.taken, members=members, seed=1)
    planned = march_lived(first.planned, fit.before, first.rows, morning=first.last_day)
    try:
        on = go_on(standing_of(fit, planned, first), here)[0]
    except StartsAfresh as why:
        return {}, str(why)
    fresh = fit_log(here.lived, here.taken, members=members, seed=1)
    layout, last_day = here.lived.prepared.layout, here.lived.prepared.keeper.days - 1
    found = {}
    for series in KITS:
        (low, say, high), (low_too, say_too, high_too) = (
            np.percentile(fit.scale.even(series, course_of(series, layout, one.marched)[-1]), [5, 50, 95])
            for one in (on, fresh)
        )
        real = float(fit.scale.even(series, float(truth(kind, block).courses[series][last_day, lane])))
        found[series] = WentOn(
            truth=real,
            on=float(say),
            fresh=float(say_too),
            on_within=bool(low <= real <= high),
            fresh_within=bool(low_too <= real <= high_too),
            width_ratio=float((high - low) / (high_too - low_too)),
        )
    return found, ""
