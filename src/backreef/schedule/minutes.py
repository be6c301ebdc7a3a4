"""The ledger of minutes: what the chores take, per day, week, month and task, and how that fits the budget.

Only the keeper's own minutes count; helpers' stand apart, and so do looks. A simulation passes `done` (which
conditional chores came true in a member) and `factor` (how fast its keeper works).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from backreef.schedule.chores import DAYS_PER_WEEK, Chore
from backreef.schedule.people import KEEPER
from backreef.schedule.presence import BoolArray, FloatArray
from backreef.units import DAYS_PER_MONTH

IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChoreArrays:
    """The chores' minutes as arrays of the shape (chores,), in the order of the chores given."""

    day: IntArray
    """Day on which it is done; -1 where nobody does it."""
    low: FloatArray
    typ: FloatArray
    high: FloatArray
    """Minutes without set-up."""
    setup: FloatArray
    """Part of the set-up, when all chores of the visit are done."""
    look: BoolArray
    by_keeper: BoolArray
    conditional: BoolArray
    """Done only if its condition was true at the last test."""
    visit: IntArray
    """Number of the (day, person, group) that shares one set-up; -1 where there is none."""
    setup_own: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthMinutes:
    """The minutes of one calendar month, or of the part of it that lies in the horizon."""

    first_on: date
    days: int
    minutes: float
    budget_minutes: float
    """The keeper's minutes a month, for the days that count."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ledger:
    """Minutes of the keeper over the horizon."""

    per_day: FloatArray
    """(days,) without looks."""
    looks_per_day: FloatArray
    helpers_per_day: FloatArray
    per_week: FloatArray
    """(days,) sum of the day and the six before it."""
    per_month: tuple[MonthMinutes, ...]
    by_task: dict[str, float]
    """Task id -> minutes over the horizon, looks included, most first."""
    mean_per_month: float
    """Minutes in a month of average length, without looks."""
    looks_mean_per_month: float
    busiest_day: int | None
    busiest_day_minutes: float


def chore_arrays(chores: Sequence[Chore], *, keep_working: bool = False) -> ChoreArrays:
    """The chores' minutes as arrays, for a simulation that draws its own spread.

    `keep_working` gives arrays of objects, in which numbers keep how they were worked out.
    """
    visits: dict[tuple[int, str, str], int] = {}
    visit = [
        -1
        if chore.done_day is None or chore.setup_own_minutes <= 0
        else visits.setdefault((chore.done_day, chore.by, chore.setup_group), len(visits))
        for chore in chores
    ]
    number = object if keep_working else np.float64
    return ChoreArrays(
        day=np.array([-1 if chore.done_day is None else chore.done_day for chore in chores], dtype=np.int64),
        low=np.array([chore.minutes_low for chore in chores], dtype=number),
        typ=np.array([chore.minutes for chore in chores], dtype=number),
        high=np.array([chore.minutes_high for chore in chores], dtype=number),
        setup=np.array([chore.setup_minutes for chore in chores], dtype=number),
        look=np.array([chore.look for chore in chores], dtype=np.bool_),
        by_keeper=np.array([chore.by == KEEPER for chore in chores], dtype=np.bool_),
        conditional=np.array([chore.condition is not None for chore in chores], dtype=np.bool_),
        visit=np.array(visit, dtype=np.int64),
        setup_own=np.array([chore.setup_own_minutes for chore in chores], dtype=number),
    )


def spent_minutes(
    arrays: ChoreArrays, *, done: BoolArray | None = None, factor: FloatArray | float = 1.0
) -> FloatArray:
    """Minutes of each chore with its part of the set-up, (chores,); 0 for what is not done.

    With `done` the set-up of each visit is shared anew among the chores that are done: each carries what it
    adds to the longest before it.
    """
    happens = arrays.day >= 0
    if done is None:
        return np.where(happens, (arrays.typ + arrays.setup) * factor, 0.0)
    happens = happens & done
    setup = np.where(happens, arrays.setup, 0.0)
    changed = np.flatnonzero((arrays.day >= 0) & ~done & (arrays.visit >= 0))
    if len(changed):
        touched = np.flatnonzero(np.isin(arrays.visit, arrays.visit[changed]) & happens)
        setup[touched] = 0.0
        spent: dict[int, float] = defaultdict(float)
        for index in touched.tolist():
            visit, own = int(arrays.visit[index]), arrays.setup_own[index]
            setup[index] = max(0.0, own - spent[visit])
            spent[visit] = max(spent[visit], own)
    return np.where(happens, (arrays.typ + setup) * factor, 0.0)


def ledger(
    chores: Sequence[Chore],
    *,
    start_on: date,
    days: int,
    minutes_per_month: float,
    done: BoolArray | None = None,
    factor: FloatArray | float = 1.0,
) -> Ledger:
    """What the chores take, per day, week, month and task."""
    arrays = chore_arrays(chores)
    spent = spent_minutes(arrays, done=done, factor=factor)
    hands, looks = arrays.by_keeper & ~arrays.look, arrays.by_keeper & arrays.look
    devices = spent == 0.0
    per_day = _per_day(arrays, spent, chosen=hands, days=days)
    looks_per_day = _per_day(arrays, spent, chosen=looks, days=days)
    busiest = int(np.argmax(per_day)) if days and per_day.max() > 0 else None
    months = days / DAYS_PER_MONTH
    return Ledger(
        per_day=per_day,
        looks_per_day=looks_per_day,
        helpers_per_day=_per_day(arrays, spent, chosen=~arrays.by_keeper & ~devices, days=days),
        per_week=trailing_sum(per_day, days=DAYS_PER_WEEK),
        per_month=tuple(_months(per_day, start_on=start_on, minutes_per_month=minutes_per_month)),
        by_task=_by_task(chores, spent, chosen=arrays.by_keeper),
        mean_per_month=float(per_day.sum()) / months if months else 0.0,
        looks_mean_per_month=float(looks_per_day.sum()) / months if months else 0.0,
        busiest_day=busiest,
        busiest_day_minutes=0.0 if busiest is None else float(per_day[busiest]),
    )


def trailing_sum(per_day: FloatArray, *, days: int) -> FloatArray:
    """For each day the sum over it and the days before it, `days` in all, along the last axis."""
    total = np.cumsum(per_day, axis=-1)
    result = total.copy()
    result[..., days:] -= total[..., :-days]
    return result


def _per_day(arrays: ChoreArrays, spent: FloatArray, *, chosen: BoolArray, days: int) -> FloatArray:
    counted = chosen & (arrays.day >= 0)
    return np.bincount(arrays.day[counted], weights=spent[counted], minlength=days).astype(np.float64)


def _months(per_day: FloatArray, *, start_on: date, minutes_per_month: float) -> Iterable[MonthMinutes]:
    first = 0
    while first < len(per_day):
        on = start_on + timedelta(days=first)
        following = date(on.year + on.month // 12, on.month % 12 + 1, 1)
        last = min(len(per_day), (following - start_on).days)
        length = (following - on.replace(day=1)).days
        yield MonthMinutes(
            first_on=on,
            days=last - first,
            minutes=float(per_day[first:last].sum()),
            budget_minutes=minutes_per_month * (last - first) / length,
        )
        first = last


def _by_task(chores: Sequence[Chore], spent: FloatArray, *, chosen: BoolArray) -> dict[str, float]:
    total: dict[str, float] = defaultdict(float)
    for chore, minutes, counted in zip(chores, spent.tolist(), chosen.tolist(), strict=True):
        if counted:
            total[chore.task_id] += minutes
    return dict(sorted(total.items(), key=lambda pair: (-pair[1], pair[0])))
