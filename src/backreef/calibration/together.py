"""Puts a plan and its log together: fit, outlooks as planned and as fitted, what moved, what is in doubt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from itertools import combinations
from typing import Literal

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import BY_HAND, Plan
from backreef.aquarium.series import Series, all_series, door_factor
from backreef.calibration.deeds import Deeds
from backreef.calibration.doubt import likely_slip
from backreef.calibration.evidence import Taken, Unused, course_of, taken_of
from backreef.calibration.fit import HAND, Fit, fit_log, march_lived
from backreef.calibration.lives import Window, nothing_to_fit, window_of
from backreef.calibration.outcome import (
    Alarm,
    LeftOut,
    Moved,
    Origin,
    Outlook,
    Questioned,
    Reconciled,
    Seen,
    Spread,
    Tangled,
    WaterAhead,
)
from backreef.calibration.standing import Standing, StartsAfresh, go_on, standing_of
from backreef.calibration.tables import Fitted, all_fitted, number, numbers, slips_of
from backreef.calibration.watch import alarms_of
from backreef.calibration.week import Known, gates_of, this_week
from backreef.calibration.window import first_day_of_fit
from backreef.calibration.worth import next_readings
from backreef.catalogue.entries import Catalogue
from backreef.errors import InputFaults
from backreef.judgement.course import lived_and_died, turf_cover_frac
from backreef.judgement.findings import allowed_frac
from backreef.judgement.verdict import Band
from backreef.judgement.water import WaterTrouble, water_bands, water_troubles
from backreef.logbook.entries import Entry
from backreef.logbook.words import what_words
from backreef.models.matrix import packaged_matrix
from backreef.simulation.draws import Z_95, spread
from backreef.simulation.ensemble import Members
from backreef.simulation.lived import Lived
from backreef.simulation.system import devices_of, system_ranges
from backreef.simulation.tables import Range, system_table
from backreef.simulation.trajectories import cohort_courses, water_series
from backreef.simulation.worked_out import WorkedOut

Array = npt.NDArray[np.float64]
Progress = Callable[[str, int, int], None]
FILM = "A_F"
FEWEST_READINGS = 1
FEW_TO_MISS = 3
"""So many readings on one side of all members are more than luck."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a log is to be fitted and how far to look ahead."""

    members: int
    seed: int
    weeks_ahead: int


@dataclass(slots=True, kw_only=True, eq=False)
class Run:
    """The marches behind a reconciliation."""

    fit: Fit
    deeds: Deeds
    planned: Members
    planned_life: Lived
    alarms: tuple[Alarm, ...]
    entries: Sequence[Entry]
    cut_off: bool
    """The log is longer than what was fitted."""
    origin: Origin

    @property
    def fitted(self) -> Members:
        """What the fitted ensemble did and will do."""
        return self.fit.marched

    @property
    def life(self) -> Lived:
        """What was lived and is planned."""
        return self.fit.lived


def reconcile_log(
    plan: Plan,
    catalogue: Catalogue,
    entries: Sequence[Entry],
    asked: Asked,
    *,
    progress: Progress | None = None,
) -> Reconciled:
    """Fit a plan's tank to its log and look ahead.

    Raises
    ------
    InputFaults
        If no reading of the log can be used; it says why for each kind.
    """
    return reconcile_on(plan, catalogue, entries, asked, progress=progress)[0]


def reconcile_on(
    plan: Plan,
    catalogue: Catalogue,
    entries: Sequence[Entry],
    asked: Asked,
    *,
    progress: Progress | None = None,
    standing: Standing | None = None,
) -> tuple[Reconciled, Standing]:
    """The same, gone on from a fit that stands where that can be; and the fit that stands then.

    Raises
    ------
    InputFaults
        If no reading of the log can be used; it says why for each kind.
    """

    def tell(phrase: str) -> Callable[[int, int], None]:
        return lambda done, total: progress(phrase, done, total) if progress else None

    why_fresh = ""
    whole, unused = taken_of(entries, plan.start_on)
    if len(whole) < FEWEST_READINGS:
        raise InputFaults([nothing_to_fit(plan, unused)])
    if standing is not None:
        window = window_of(
            plan, catalogue, entries, since_day=standing.since_day, weeks_ahead=asked.weeks_ahead
        )
        try:
            fit, planned = go_on(standing, window, tell("going on from the last fit"))
        except StartsAfresh as why:
            standing, why_fresh = None, str(why)
    if standing is None:
        since_day = first_day_of_fit(int(whole[-1].at_d))
        window = window_of(plan, catalogue, entries, since_day=since_day, weeks_ahead=asked.weeks_ahead)
        fit, planned = _fitted_afresh(window, asked, tell)
        standing = standing_of(fit, planned, window)
        how: Literal["fresh", "went on"] = "fresh"
    else:
        how = "went on"
    run = Run(
        fit=fit,
        deeds=window.deeds,
        planned_life=window.planned,
        planned=planned,
        alarms=alarms_of(fit, window.deeds, catalogue, tell("looking for causes")),
        entries=window.entries,
        cut_off=window.since_day > 0,
        origin=Origin(
            how=how,
            fitted_on=standing.last_on,
            since_count=len(fit.taken) - len(standing.readings),
            why_fresh=why_fresh,
            kept=False,
        ),
    )
    return _reconciled(run, window.plan, asked, catalogue, window.unused), standing


def _fitted_afresh(
    window: Window, asked: Asked, tell: Callable[[str], Callable[[int, int], None]]
) -> tuple[Fit, Members]:
    told = tell("fitting the tank to its log")
    fit = fit_log(window.lived, window.taken, members=asked.members, seed=asked.seed, told=told)
    planned = march_lived(
        window.planned, fit.before, window.rows, tell("as planned"), morning=window.last_day
    )
    return fit, planned


def _reconciled(
    run: Run, plan: Plan, asked: Asked, catalogue: Catalogue, unused: Sequence[Unused]
) -> Reconciled:
    fit, days = run.fit, run.life.prepared.keeper.days
    taken = fit.taken
    water = _water_ahead(run)
    questions = _questioned(fit, catalogue)
    readings = next_readings(
        run.life.prepared.layout,
        run.fitted,
        taken=taken,
        read=followed(fit),
        last_day=run.life.known_days - 1,
    )
    known = Known(
        plan=run.deeds.plan,
        catalogue=catalogue,
        schedule=run.life.prepared.keeper,
        entries=run.entries,
        taken=[one for one, kept in zip(taken, fit.kept, strict=True) if kept],
        first_day=run.life.known_days,
    )
    return Reconciled(
        plan_name=plan.name,
        plan_file=plan.file,
        start_on=plan.start_on,
        days=days,
        first_reading_on=taken[0].on,
        last_on=taken[-1].on,
        until_on=plan.start_on + timedelta(days=days - 1),
        members=asked.members,
        seed=asked.seed,
        origin=run.origin,
        holds=not any(one.harm and one.share_fitted > allowed_frac() for one in water),
        readings=tuple(_seen(one, used=bool(fit.kept[place])) for place, one in enumerate(taken)),
        questioned=questions,
        entered=tuple(
            f"{deed.entry.at.date()}: {deed.words}" for deed in run.deeds.told if not deed.left_out
        ),
        left_out=_left_out(run, unused, catalogue),
        outlooks=_outlooks(run),
        moved=_moved(run),
        tangled=_tangled(run),
        water=water,
        alarms=run.alarms,
        next_readings=readings,
        week_from=known.first_on,
        this_week=this_week(known, alarms=run.alarms, questioned=questions, readings=readings),
        gates=gates_of(known),
        bands=water_bands(plan),
        dates=tuple(plan.start_on + timedelta(days=number) for number in range(days)),
        notices=_notices(run),
    )


# --- readings -----------------------------------------------------------------------------------------------


def _seen(one: Taken, *, used: bool) -> Seen:
    factor = door_factor(one.series)
    return Seen(
        entry_id=one.entry.id,
        on=one.on,
        at_d=one.at_d,
        series=one.series.door_series,
        value=one.value * factor,
        sign=one.reading.sign,
        error=one.trust.error_at(one.value) * factor,
        used=used,
    )


def _questioned(fit: Fit, catalogue: Catalogue) -> tuple[Questioned, ...]:
    found = []
    for doubt in fit.doubts:
        one = fit.taken[doubt.place]
        name, factor = one.series.series, door_factor(one.series)
        slips = slips_of(one.series.word)
        slipped = [float(fit.scale.even(name, one.value * slip.factor)) for slip in slips]
        likely = likely_slip(doubt, slipped=slipped, limit_sd=number("question_sd"))
        points = [doubt.others_say + sign * Z_95 * doubt.others_sd for sign in (-1.0, 0.0, 1.0)]
        low, middle, high = (float(fit.scale.back(name, point)) * factor for point in points)
        found.append(
            Questioned(
                entry_id=one.entry.id,
                on=one.on,
                words=what_words(one.entry.what, catalogue),
                written=one.reading.written,
                series=one.series.door_series,
                value=one.value * factor,
                unit=one.series.door_unit,
                others_say=Spread(p05=low, p50=middle, p95=high),
                would_be=None if likely is None else one.value * factor * slips[likely].factor,
                slip="" if likely is None else slips[likely].what,
            )
        )
    return tuple(found)


def _left_out(run: Run, unused: Sequence[Unused], catalogue: Catalogue) -> tuple[LeftOut, ...]:
    of_readings = [(one.entry, one.why) for one in unused]
    of_deeds = [(deed.entry, deed.left_out) for deed in run.deeds.told if deed.left_out]
    return tuple(
        LeftOut(entry_id=entry.id, on=entry.at.date(), words=what_words(entry.what, catalogue), why=why)
        for entry, why in (*of_readings, *of_deeds)
    )


# --- outlooks -----------------------------------------------------------------------------------------------


def _band(values: Array) -> Band:
    low, middle, high = np.percentile(values, [5, 50, 95], axis=1)
    return Band(p05=low, p50=middle, p95=high)


def spread_of(values: Array) -> Spread:
    """The 5, 50 and 95 % points of a number over the members."""
    low, middle, high = (float(point) for point in np.percentile(values, [5, 50, 95]))
    return Spread(p05=low, p50=middle, p95=high)


def followed(fit: Fit) -> list[Series]:
    """The series that were read, in the order of their table."""
    read = {one.series.series for one in fit.taken}
    return [series for series in all_series() if series.series in read]


def _outlooks(run: Run) -> tuple[Outlook, ...]:
    layout = run.life.prepared.layout
    found = []
    for series in followed(run.fit):
        factor = door_factor(series)
        planned, fitted = (
            course_of(series.series, layout, members) * factor for members in (run.planned, run.fitted)
        )
        found.append(
            Outlook(
                series=series.door_series,
                label=series.label,
                unit=series.door_unit,
                planned=_band(planned),
                fitted=_band(fitted),
                ahead_planned=spread_of(planned[-1]),
                ahead_fitted=spread_of(fitted[-1]),
            )
        )
    return tuple(found)


def _water_ahead(run: Run) -> tuple[WaterAhead, ...]:
    """Bounds left in the weeks ahead, harm first; both tanks are asked from the last reading on."""
    plan = run.life.prepared.plan
    fitted = {(one.about, one.harm): one for one in _troubles(run, fitted=True)}
    planned = {(one.about, one.harm): one for one in _troubles(run, fitted=False)}
    found = []
    for key in sorted({*fitted, *planned}):
        one = fitted.get(key) or planned[key]
        hit = fitted[key].first_day if key in fitted else np.zeros(0)
        when = np.sort(hit[hit >= 0]) if key in fitted else np.zeros(0)
        found.append(
            WaterAhead(
                series=one.band.series,
                label=one.band.label,
                low_side=one.low_side,
                harm=one.harm,
                bound=one.bound,
                unit=one.band.unit,
                share_planned=planned[key].share if key in planned else 0.0,
                share_fitted=fitted[key].share if key in fitted else 0.0,
                first_on=plan.start_on + timedelta(days=run.life.known_days + int(when[len(when) // 2]))
                if len(when)
                else None,
            )
        )
    return tuple(sorted(found, key=lambda one: (not one.harm, -one.share_fitted, one.series)))


def _troubles(run: Run, *, fitted: bool) -> list[WaterTrouble]:
    life, members = (run.life, run.fitted) if fitted else (run.planned_life, run.planned)
    worked_out = WorkedOut(members)
    turf = {"turf_cover_frac": partial(turf_cover_frac, life.prepared)}
    series = water_series(life.prepared, worked_out, turf)
    inhabited, died = lived_and_died(series, cohort_courses(life.prepared, worked_out))
    since = run.life.known_days
    ahead = {name: values[since:] for name, values in series.items()}
    return water_troubles(water_bands(life.prepared.plan), ahead, inhabited[since:], died[since:])


# --- numbers that differ between tanks ----------------------------------------------------------------------


def fitted_here(run: Run) -> list[Fitted]:
    """What is looked for in this tank's log."""
    prepared, plan = run.life.prepared, run.life.prepared.plan
    has = {
        "any": True,
        "sand": plan.tank.sand_area_m2 > 0,
        "grazers": any(cohort.likings.get(FILM, 0.0) > 0 for cohort in prepared.cohorts),
        "refugium": bool(devices_of(plan, "refugium", "scrubber")),
        "skimmer": bool(devices_of(plan, "skimmer_sump", "skimmer_hang")),
        "corals": _has_corals(run),
        "hand": any(meal.by == BY_HAND for meal in plan.meals),
    }
    return [one for one in all_fitted() if has[one.where] and one.draw in run.fit.after.learned]


def _has_corals(run: Run) -> bool:
    layout = run.life.prepared.layout
    return bool(run.fitted.row(layout.address("C_T"))[-1].max() > 0)


def range_of(one: Fitted, plan: Plan) -> Range:
    """The range of a number before anything was read."""
    if one.draw == HAND:
        return numbers()["hand_ration_ratio"]
    parameter = packaged_matrix().tables.parameters.get(one.draw)
    if parameter is not None:
        return Range(value=parameter.value, low=parameter.low, high=parameter.high)
    system = system_ranges(plan)
    return system[one.draw] if one.draw in system else system_table()[one.draw].span


def _moved(run: Run) -> tuple[Moved, ...]:
    before, after = run.fit.before.learned, run.fit.after.learned
    found = []
    for one in fitted_here(run):
        span = range_of(one, run.life.prepared.plan)
        old, new = before[one.draw], after[one.draw]
        moved_sd = float((new.mean() - old.mean()) / old.std())
        told = max(0.0, 1.0 - float(new.var() / old.var()))
        values = [spread(span.value, span.low, span.high, z) for z in (old, new)]
        tells = abs(moved_sd) >= number("moved_sd")
        found.append(
            Moved(
                id=one.id,
                what=one.what,
                unit=one.unit,
                before=spread_of(values[0]),
                after=spread_of(values[1]),
                told_frac=told,
                moved_sd=moved_sd,
                meaning="" if not tells else one.more if moved_sd > 0 else one.less,
            )
        )
    return tuple(sorted(found, key=lambda one: -one.told_frac))


def _tangled(run: Run) -> tuple[Tangled, ...]:
    after = run.fit.after.learned
    found = []
    for one, other in combinations(fitted_here(run), 2):
        link = float(np.corrcoef(after[one.draw], after[other.draw])[0, 1])
        if abs(link) >= number("tangled_correlation"):
            found.append(Tangled(one=one.what, other=other.what, correlation=link))
    return tuple(sorted(found, key=lambda pair: -abs(pair.correlation)))


def _not_followed(run: Run) -> list[str]:
    """Series that the fitted members miss by more than kits do, all to one side."""
    fit = run.fit
    found = []
    errors = np.sqrt(np.diag(fit.evidence.errors))
    missed = (fit.evidence.seen - np.median(fit.foretold_after, axis=1)) / errors
    for series in followed(fit):
        mine = np.array([one.series.series == series.series for one in fit.taken]) & fit.kept
        if mine.sum() >= FEW_TO_MISS and abs(missed[mine].mean()) > number("not_followed_sd"):
            way = "more" if missed[mine].mean() > 0 else "less"
            found.append(
                f"Even fitted, the tank of the model does not follow {series.label}: {way} was read than any "
                "member gives. Something is otherwise that is not among the fitted numbers; the outlook of "
                f"{series.label} is not to be relied on."
            )
    return found


def _notices(run: Run) -> tuple[str, ...]:
    found = _not_followed(run)
    if run.cut_off:
        start = run.life.prepared.plan.start_on.isoformat()
        found.append(
            f"The log is long: what is older than {start} was left out of the fit, and the plan begins there "
            "with the animals and the readings of that time."
        )
    if run.deeds.chores:
        found.append(
            "Work of a kind that the log names counts as logged, from its first to its last entry; "
            "other work counts as planned."
        )
    plan, on = run.deeds.plan, run.fit.taken[-1].on
    silent = [
        one.id
        for one in plan.animals
        if one.arrives_on is not None
        and one.arrives_on <= on
        and not any(
            getattr(deed.entry.what, "animal", None) == one.id and deed.entry.what.kind == "addition"
            for deed in run.deeds.told
        )
        and not one.id.endswith("log")
    ]
    if silent:
        found.append(
            f"The log does not say that these came; they count as come as planned: {', '.join(silent)}."
        )
    return tuple(found)
