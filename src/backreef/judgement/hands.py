"""The balance of Hands: minutes by member, months over the budget, and chores that fall where nobody is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.judgement.rules import rule
from backreef.judgement.spans import first_day, in_turn, share
from backreef.models.mathops import Quantity, exp, log, maximum, select
from backreef.schedule.chores import Chore
from backreef.schedule.minutes import chore_arrays, spent_minutes, trailing_sum
from backreef.schedule.people import KEEPER
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import Members
from backreef.simulation.prepared import Prepared
from backreef.units import DAYS_PER_MONTH
from backreef.working.members import Seen, middle, seen_once
from backreef.working.record import askable

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]
_FULLEST = Seen(symbol="fullest", what="minutes a month at the fullest time, in a member hit", unit="min")
_TIMES = Seen(symbol="times", what="times it is done over the plan, mean of the members")
MINUTES_END = 1.645
"""Low and high of a chore's minutes are its 5 and 95 % points: so many standard deviations off."""
LEAST_MIN = 1e-9
"""Minutes below this are nought."""
DONE = 0.5
"""A note is 1 where a conditional chore was done, else 0."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MissedChore:
    """A chore that nobody can do in time, and the members in which it was wanted."""

    chore: Chore
    wanted: BoolArray
    """(members,) all of them, or those in which its condition came true."""

    @property
    def day(self) -> int:
        """The day on which it is missed."""
        return max(0, self.chore.due_day)

    @property
    def first_day(self) -> IntArray:
        """(members,) the day on which it is missed; -1 where nobody wanted it."""
        return np.where(self.wanted, self.day, -1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Minutes of all members."""

    per_day: Array
    """(days, members) without looks."""
    looks_min: Array
    """(members,) of looks, over the horizon."""
    people_min: Array
    """(members,) of the keeper and of helpers, without looks, over the horizon."""
    by_task: dict[str, Array]
    """Task id -> minutes over the horizon, (members,); looks included."""
    times_by_task: dict[str, float]
    """Task id -> times it is done over the horizon, mean of the members."""
    missed: tuple[MissedChore, ...]
    """Chores that nobody can do in time and that some member wants, looks left out."""

    @property
    def per_week(self) -> Array:
        """(days, members) trailing seven days."""
        return trailing_sum(self.per_day.T, days=7).T


def work_of_members(prepared: Prepared, members: Members, draws: Draws) -> Work:
    """Give every member's minutes: a speed per member and task, conditional chores only where they came."""
    chores, days = prepared.keeper.chores, prepared.keeper.days
    arrays = chore_arrays(chores)
    done = done_by_member(chores, prepared.timeline.noted, members.noted, members.count)
    per_day = np.zeros((days, members.count))
    looks, people = np.zeros(members.count), np.zeros(members.count)
    helpers = {helper.name for helper in prepared.keeper.presence.helpers}
    by_people = (arrays.day >= 0) & np.array([chore.by == KEEPER or chore.by in helpers for chore in chores])
    tasks = sorted({chore.task_id for chore in chores})
    number = {task: index for index, task in enumerate(tasks)}
    of_task = np.array([number[chore.task_id] for chore in chores], dtype=np.int64)
    pace = [draws.normal(f"minutes {task}")[0] for task in tasks]
    totals = np.zeros((len(tasks), members.count))
    hands = arrays.by_keeper & (arrays.day >= 0)
    chores_done = hands & ~arrays.look
    wide, outlier = log_width(arrays.low, arrays.typ, arrays.high), rule("work_outlier")
    for member in range(members.count):
        deviate = np.array([of_members[member] for of_members in pace])[of_task]
        factor = pace_ratio(wide, np.clip(deviate, -outlier, outlier))
        spent = spent_minutes(arrays, done=done[:, member], factor=factor)
        per_day[:, member] = np.bincount(arrays.day[chores_done], weights=spent[chores_done], minlength=days)
        looks[member] = spent[hands & arrays.look].sum()
        people[member] = spent[by_people & ~arrays.look].sum()
        totals[:, member] = np.bincount(of_task[hands], weights=spent[hands], minlength=len(tasks))
    times = np.bincount(of_task[hands], weights=done.mean(axis=1)[hands], minlength=len(tasks))
    return Work(
        per_day=per_day,
        looks_min=looks,
        people_min=people,
        by_task={task: totals[index] for task, index in number.items()},
        times_by_task={task: seen_once(float(times[index]), _TIMES) for task, index in number.items()},
        missed=tuple(
            MissedChore(chore=chore, wanted=row)
            for chore, row in zip(chores, done, strict=True)
            if chore.done_day is None and not chore.look and row.any()
        ),
    )


def done_by_member(chores: tuple[Chore, ...], noted: list[str], masks: Array, members: int) -> BoolArray:
    """Give, by chore and member, whether it is wanted: where it has no condition, or the condition came true.

    `masks` has a row for each of the `noted` chores. A chore with a condition that nothing noted is not.
    """
    place = {chore_id: number for number, chore_id in enumerate(noted)}
    done = np.zeros((len(chores), members), dtype=bool)
    for row, chore in zip(done, chores, strict=True):
        if chore.condition is None:
            row[:] = True
        elif chore.id in place:
            row[:] = masks[place[chore.id]] > DONE
    return done


@askable
def pace_ratio(width: Quantity, deviate: Quantity) -> Quantity:
    """How much slower or faster than typical a member's keeper does a chore. [-]"""
    return exp(width * deviate)


@askable
def log_width(low_min: Quantity, typ_min: Quantity, high_min: Quantity) -> Quantity:
    """Standard deviation of the logarithm of a chore's minutes, from its low and high. [-]

    A keeper does the same chore many times: the mean of many is steadier than one.
    """
    ranged = select(high_min - low_min, high_min / maximum(low_min, LEAST_MIN), 1.0)
    spread = log(select(low_min, ranged, 1.0)) / (2 * MINUTES_END) * rule("steady_work_frac")
    return select(typ_min, spread, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Overrun:
    """Minutes above the budget."""

    harm: bool
    """True: over a quarter of a year; False: in a single month."""
    first_day: IntArray
    worst_min_per_month: float

    @property
    def about(self) -> str:
        """Balance and what is exceeded."""
        return "hands.minutes"

    @property
    def share(self) -> float:
        """Share of the members that run over."""
        return share(self.first_day >= 0)


def weeks_over(minutes: Sequence[float], budget_min: float) -> int:
    """Give how many weeks ask for more than a week's share of the budget."""
    return sum(week > budget_min for week in minutes)


def overruns(work: Work, minutes_per_month: float) -> list[Overrun]:
    """Give the months and the quarters that exceed the keeper's minutes."""
    found, members = [], work.per_day.shape[1]
    for harm, window in ((True, int(rule("quarter_d"))), (False, int(rule("month_d")))):
        first, most = np.zeros(members, dtype=np.int64), np.zeros(members)
        for some in in_turn(members):
            total = trailing_sum(work.per_day[:, some].T, days=window).T / window * DAYS_PER_MONTH
            total[: window - 1] = 0.0
            first[some], most[some] = first_day(total > minutes_per_month), total.max(axis=0)
        if (first >= 0).any():
            worst = middle(most[first >= 0], _FULLEST)
            found.append(Overrun(harm=harm, first_day=first, worst_min_per_month=worst))
    return found
