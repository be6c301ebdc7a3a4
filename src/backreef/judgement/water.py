"""The balance of Water: which quantity leaves its bounds, in which members, from which day, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import BandGoal, Plan
from backreef.aquarium.series import all_series
from backreef.judgement.doors import shown_as
from backreef.judgement.rules import rows_of, rule, source_words
from backreef.judgement.spans import earliest, first_day, first_run_end, share
from backreef.judgement.verdict import WaterBand
from backreef.simulation.tables import InItsUnit
from backreef.working.members import Seen, middle
from backreef.working.number import as_number
from backreef.working.record import told_number
from backreef.working.steps import About

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
_DAYS = Seen(symbol="days_outside", what="days outside the bound, in a member hit", unit="d")
KEPT_OF_CORALS = {"none": "none", "soft": "soft", "lps": "stony", "sps": "stony", "mixed": "stony"}
BOUNDS = ("act_low", "act_high", "harm_low", "harm_high")
THE_PLAN = "the plan itself"
"""On whose word bounds stand that the plan sets."""
PH, HIGHEST_PH = "ph_total", "ph_highest_total"
WITHOUT_A_BAND = ("ammonia_total_mg_n_per_l",)
"""Series of the forecast that have bounds only where a plan sets them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterTrouble:
    """One bound of one quantity that members leave."""

    band: WaterBand
    low_side: bool
    harm: bool
    """True: the harm bound for its days; False: the act bound."""
    first_day: npt.NDArray[np.int64]
    """(members,) first day on which it counts; -1 where it never does."""
    days: float
    """Days outside, median of the members that leave it."""
    worst: InItsUnit
    """Furthest value, median of the members that leave it."""
    bound: InItsUnit

    @property
    def about(self) -> str:
        """Balance, quantity and side."""
        return f"water.{self.band.series}.{'low' if self.low_side else 'high'}"

    @property
    def share(self) -> float:
        """Share of the members that leave the bound."""
        return share(self.first_day >= 0)


def water_bands(plan: Plan) -> tuple[WaterBand, ...]:
    """Give the bands that hold for a plan: by the corals kept, with the plan's own bounds in front."""
    own = own_bounds(plan)
    bands = [_band(row, own.get(row["series"], {})) for row in rows_for(plan)]
    bands += [_own_band(name, own[name]) for name in WITHOUT_A_BAND if own.get(name)]
    return tuple(bands)


def rows_for(plan: Plan) -> list[dict[str, str]]:
    """Give the rows of the table of bands that hold where such corals are kept."""
    kept = KEPT_OF_CORALS[plan.tank.corals]
    return [row for row in rows_of("water_bands.csv") if row["kept"] in (kept, "any")]


def own_bounds(plan: Plan) -> dict[str, dict[str, InItsUnit]]:
    """Give the plan's own bounds by the series that a forecast shows, in its unit.

    A plan counts nutrients by element and alkalinity in milliequivalents; a forecast shows them as at the
    doors. The pH is shown twice, lowest and highest of the day: each takes its own side.
    """
    found: dict[str, dict[str, InItsUnit]] = {}
    for series, goal in plan.goals.bands.items():
        shown, factor = shown_as(series)
        found[shown] = {name: value * factor for name, value in _given(goal)}
    if PH in found:
        both = found.pop(PH)
        found[PH] = {name: value for name, value in both.items() if name.endswith("low")}
        found[HIGHEST_PH] = {name: value for name, value in both.items() if name.endswith("high")}
    return found


def _given(goal: BandGoal) -> Iterator[tuple[str, InItsUnit]]:
    for name in BOUNDS:
        value = getattr(goal, name)
        if value is not None:
            yield name, as_number(value)


def _band(row: Mapping[str, str], own: Mapping[str, InItsUnit]) -> WaterBand:

    def bound(name: str) -> InItsUnit | None:
        return own.get(name, told_number(float(row[name]), _about_bound(row, name)) if row[name] else None)

    said = source_words(row["source"], row["note"])
    return WaterBand(
        series=row["series"],
        label=row["label"],
        unit=row["unit"],
        act_low=bound("act_low"),
        act_high=bound("act_high"),
        harm_low=bound("harm_low"),
        harm_high=bound("harm_high"),
        harm_days=told_number(float(row["harm_days"]), _about_bound(row, "harm_days")),
        kills=row["kills"] == "yes",
        source=f"{THE_PLAN}; otherwise {said}" if own else said,
        note_low="" if own else row["note_low"],
        note_high="" if own else row["note_high"],
        status="practice" if own else row["status"],
    )


def _about_bound(row: Mapping[str, str], name: str) -> About:
    return About(
        symbol=name,
        key=f"judgement.water_bands.{row['series']}.{name}",
        kind="constant",
        what=f"{row['label']}: bound of {name.replace('_', ' ')}",
        unit="d" if name == "harm_days" else row["unit"],
        source=row["source"],
        place="judgement/data/water_bands.csv",
        status=row["status"],
    )


def _own_band(shown: str, own: Mapping[str, InItsUnit]) -> WaterBand:
    """A band that only the plan knows."""
    series = next(one for one in all_series() if one.door_series == shown)
    return WaterBand(
        series=shown,
        label=series.label,
        unit=series.door_unit,
        act_low=own.get("act_low"),
        act_high=own.get("act_high"),
        harm_low=own.get("harm_low"),
        harm_high=own.get("harm_high"),
        harm_days=rule("own_band_harm_d"),
        source=THE_PLAN,
        status="practice",
    )


def water_troubles(
    bands: tuple[WaterBand, ...], series: Mapping[str, Array], inhabited: BoolArray, died: BoolArray
) -> list[WaterTrouble]:
    """Give every bound that any member leaves while animals are there.

    `inhabited` and `died` are (days, members): days on which animals live, and on which any of them die.
    Where water that kills is outside a harm bound on a day on which animals die, the harm is done, however
    few its days.
    """
    found = [
        _trouble(
            band,
            series[band.series],
            inhabited,
            died if harm and band.kills else np.zeros_like(died),
            low_side=low_side,
            harm=harm,
        )
        for band in bands
        for low_side in (True, False)
        for harm in (True, False)
    ]
    return [trouble for trouble in found if trouble is not None]


def days_outside(line: Array, low: InItsUnit | None, high: InItsUnit | None) -> int:
    """Give the days on which a line lies below one bound or above another, as far as there are any."""
    below = line < low if low is not None else np.zeros(len(line), dtype=np.bool_)
    above = line > high if high is not None else np.zeros(len(line), dtype=np.bool_)
    return int(np.count_nonzero(below | above))


def _bound_of(band: WaterBand, *, low_side: bool, harm: bool) -> InItsUnit | None:
    if harm:
        return band.harm_low if low_side else band.harm_high
    return band.act_low if low_side else band.act_high


def _trouble(
    band: WaterBand,
    values: Array,
    inhabited: BoolArray,
    done: BoolArray,
    *,
    low_side: bool,
    harm: bool,
) -> WaterTrouble | None:
    """The trouble of one bound; on days that are `done` a single day outside counts."""
    bound = _bound_of(band, low_side=low_side, harm=harm)
    if bound is None:
        return None
    outside = (values < bound if low_side else values > bound) & inhabited
    days = int(band.harm_days) if harm else int(rule("water_act_d"))
    first = earliest([first_run_end(outside, max(1, days)), first_day(outside & done)], outside.shape[1])
    hit = first >= 0
    if not hit.any():
        return None
    worst = (
        values.min(axis=0, where=outside, initial=np.inf)
        if low_side
        else values.max(axis=0, where=outside, initial=-np.inf)
    )
    return WaterTrouble(
        band=band,
        low_side=low_side,
        harm=harm,
        first_day=first,
        days=middle(outside.sum(axis=0)[hit], _DAYS),
        worst=middle(
            worst[hit], Seen(symbol=f"furthest_{band.series}", what=f"furthest {band.label}", unit=band.unit)
        ),
        bound=bound,
    )
