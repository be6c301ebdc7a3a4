"""Animals that come: whether their gates are open, and when the filter has grown to what they bring."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import AnimalEntry, Condition
from backreef.judgement.doors import shown_as
from backreef.judgement.rules import rule
from backreef.judgement.verdict import Addition
from backreef.simulation.prepared import Prepared
from backreef.working.members import Seen, point, share_of

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
_FILTER = Seen(symbol="filter_days", what="days until ammonia is where it settles", unit="d")
_MOST = Seen(symbol="most_ammonia", what="most total ammonia meanwhile", unit="mg/L N")
_OPEN = Seen(symbol="gate_open", what="in which the gate is open on that day")
LEAST_WATCH_D = 14
"""In fewer days nobody can tell where ammonia settles."""
LAST_DAYS = 7
AMMONIA = "ammonia_total_mg_n_per_l"


@dataclass(frozen=True, slots=True, kw_only=True)
class FilterGrowth:
    """How long ammonia was above where it settles, after an arrival."""

    days: tuple[float, float, float]
    """The 5, 50 and 95 % points of the members."""
    most_mg_n_per_l_p95: float


def filter_growth(ammonia_mg_n_per_l: Array, day: int, *, next_day: int | None) -> FilterGrowth | None:
    """Give the days until ammonia is where it settles after an arrival; None where too few days are left.

    `ammonia_mg_n_per_l` is the total, (days, members); the watch ends with the next arrival.

    Validity
    --------
    Ammonia that no test of a keeper shows counts as none. A load that goes on growing, as its animals do,
    moves the level at which it settles.

    Source
    ------
    Own rule: `filter_window_d`, `filter_grown_ratio`, `filter_unseen_mg_n_per_l`.
    """
    last = min(len(ammonia_mg_n_per_l), day + int(rule("filter_window_d")))
    last = last if next_day is None else min(last, next_day)
    if day < 0 or last - day < LEAST_WATCH_D:
        return None
    watched = ammonia_mg_n_per_l[day:last]
    settled = np.median(watched[-LAST_DAYS:], axis=0)
    bound = np.maximum(rule("filter_grown_ratio") * settled, rule("filter_unseen_mg_n_per_l"))
    above = watched > bound
    days = np.where(above.any(axis=0), len(watched) - above[::-1].argmax(axis=0), 0)
    low, middle, high = (point(days, percent, _FILTER) for percent in (5, 50, 95))
    most = point(watched.max(axis=0), 95, _MOST)
    return FilterGrowth(days=(low, middle, high), most_mg_n_per_l_p95=most)


def _next(prepared: Prepared, day: int) -> int | None:
    """The first later day on which animals come."""
    plan = prepared.plan
    days = [(one.arrives_on - plan.start_on).days for one in plan.animals if one.arrives_on is not None]
    return min((each for each in days if each > day), default=None)


def _open(condition: Condition, day: int, series: Mapping[str, Array]) -> BoolArray | None:
    """Members in which a condition is true on a day; None where the forecast does not show its series."""
    name, factor = shown_as(condition.series)
    if name not in series:
        return None
    values, bound = series[name][day], condition.value * factor
    return np.asarray(values > bound if condition.comparison.startswith(">") else values < bound)


def _open_share(entry: AnimalEntry, day: int, series: Mapping[str, Array]) -> float | None:
    """Share of the members in which a gate is open on a day.

    Where a part of it is to be looked at, or is not shown, it is known only that all members find it shut.
    """
    tests = [_open(condition, day, series) for condition in entry.gate_conditions]
    sure = [test for test in tests if test is not None]
    if not sure:
        return None
    found = np.all(sure, axis=0)
    whole = len(sure) == len(tests) and not entry.gate_sightings
    return share_of(found, _OPEN) if whole or not found.any() else None


def additions(prepared: Prepared, series: Mapping[str, Array]) -> tuple[Addition, ...]:
    """Give the animals that come, each with its gate and the share of members in which it is open."""
    found = []
    for entry in prepared.plan.animals:
        if entry.arrives_on is None:
            continue
        day = (entry.arrives_on - prepared.plan.start_on).days - 1
        share = _open_share(entry, day, series) if 0 <= day < prepared.keeper.days else None
        ammonia, next_day = series.get(AMMONIA), _next(prepared, day + 1)
        grown = None if ammonia is None else filter_growth(ammonia, day + 1, next_day=next_day)
        found.append(
            Addition(
                on=entry.arrives_on,
                animal_id=entry.id,
                common_name=prepared.catalogue.species[entry.species].common_name,
                count=entry.count,
                gate=entry.gate or "",
                gate_open_share=share,
                filter_days_p05=grown.days[0] if grown else None,
                filter_days_p50=grown.days[1] if grown else None,
                filter_days_p95=grown.days[2] if grown else None,
                ammonia_most_mg_n_per_l_p95=grown.most_mg_n_per_l_p95 if grown else None,
            )
        )
    return tuple(sorted(found, key=lambda addition: (addition.on, addition.animal_id)))
