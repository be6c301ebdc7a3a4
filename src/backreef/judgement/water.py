"""The balance of Water: which quantity leaves its bounds, in which members, from which day, and why."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import BandGoal, Plan
from backreef.judgement.spans import first_run_end, share
from backreef.judgement.verdict import WaterBand

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
ACT_DAYS = 7
"""An act bound left for a week is a finding; less is a blip. Source: practice."""
STONY = frozenset({"sps", "mixed", "lps"})
KEPT_OF_CORALS = {"none": "none", "soft": "soft", "lps": "stony", "sps": "stony", "mixed": "stony"}


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
    worst: float
    """Furthest value, median of the members that leave it."""
    bound: float

    @property
    def share(self) -> float:
        """Share of the members that leave the bound."""
        return share(self.first_day >= 0)


@cache
def _table() -> tuple[dict[str, str], ...]:
    with (files("backreef.judgement") / "data" / "water_bands.csv").open(encoding="utf-8") as file:
        return tuple(csv.DictReader(file))


def water_bands(plan: Plan) -> tuple[WaterBand, ...]:
    """Give the bands that hold for a plan: by the corals kept, with the plan's own goals in front."""
    kept = KEPT_OF_CORALS[plan.tank.corals]
    rows = [row for row in _table() if row["kept"] in (kept, "any")]
    return tuple(_band(row, _goal(plan, row["series"])) for row in rows)


def _goal(plan: Plan, series: str) -> BandGoal | None:
    """The plan's own bounds, which may be stated by element."""
    return plan.goals.bands.get(series)


def _band(row: Mapping[str, str], goal: BandGoal | None) -> WaterBand:
    def bound(name: str) -> float | None:
        own = None if goal is None else getattr(goal, name)
        if own is not None:
            return float(own)
        return float(row[name]) if row[name] else None

    return WaterBand(
        series=row["series"],
        label=row["label"],
        unit=row["unit"],
        act_low=bound("act_low"),
        act_high=bound("act_high"),
        harm_low=bound("harm_low"),
        harm_high=bound("harm_high"),
        harm_days=float(row["harm_days"]),
        source=row["source"],
        status="keeper" if goal else row["status"],
    )


def water_troubles(
    bands: tuple[WaterBand, ...], series: Mapping[str, Array], inhabited: BoolArray
) -> list[WaterTrouble]:
    """Give every bound that any member leaves while animals are there. `inhabited` is (days, members)."""
    troubles = []
    for band in bands:
        values = series[band.series]
        for low_side in (True, False):
            for harm in (True, False):
                bound = _bound_of(band, low_side=low_side, harm=harm)
                if bound is None:
                    continue
                outside = (values < bound if low_side else values > bound) & inhabited
                days = int(band.harm_days) if harm else ACT_DAYS
                trouble = _trouble(
                    band, values, outside, bound, low_side=low_side, harm=harm, days=max(1, days)
                )
                if trouble is not None:
                    troubles.append(trouble)
    return troubles


def _bound_of(band: WaterBand, *, low_side: bool, harm: bool) -> float | None:
    if harm:
        return band.harm_low if low_side else band.harm_high
    return band.act_low if low_side else band.act_high


def _trouble(
    band: WaterBand,
    values: Array,
    outside: BoolArray,
    bound: float,
    *,
    low_side: bool,
    harm: bool,
    days: int,
) -> WaterTrouble | None:
    first = first_run_end(outside, days)
    hit = first >= 0
    if not hit.any():
        return None
    extreme = np.where(outside, values, np.inf if low_side else -np.inf)
    worst = extreme.min(axis=0) if low_side else extreme.max(axis=0)
    return WaterTrouble(
        band=band,
        low_side=low_side,
        harm=harm,
        first_day=first,
        days=float(np.median(outside.sum(axis=0)[hit])),
        worst=float(np.median(worst[hit])),
        bound=bound,
    )
