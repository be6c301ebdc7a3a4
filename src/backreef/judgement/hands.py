"""The balance of Hands: minutes by member, months over the budget, and chores that fall where nobody is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.judgement.spans import first_day, share
from backreef.schedule.chores import Chore
from backreef.schedule.minutes import chore_arrays, spent_minutes, trailing_sum
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import Members
from backreef.simulation.prepared import Prepared

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
DAYS_PER_MONTH = 365.25 / 12
QUARTER_DAYS = 91
"""Three months: the stretch over which the budget must hold; a single month may run over. Source: practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Minutes of all members."""

    per_day: Array
    """(days, members) without looks."""
    looks_per_day: Array
    per_week: Array
    """(days, members) trailing seven days."""
    by_task: dict[str, Array]
    """Task id -> minutes over the horizon, (members,); looks included."""
    times_by_task: dict[str, float]
    missed: tuple[Chore, ...]
    """Chores that nobody can do in time, looks left out."""


def work_of_members(prepared: Prepared, members: Members, draws: Draws) -> Work:
    """Give every member's minutes: one speed per member and one spread per task, conditional chores where they came."""
    chores = prepared.keeper.chores
    days = prepared.keeper.days
    arrays = chore_arrays(chores)
    place = {chore_id: number for number, chore_id in enumerate(prepared.timeline.noted)}
    noted = members.noted
    per_day = np.zeros((days, members.count))
    looks = np.zeros((days, members.count))
    tasks = sorted({chore.task_id for chore in chores})
    spread = {task: draws.normal(f"minutes {task}")[0] for task in tasks}
    number = {task: index for index, task in enumerate(tasks)}
    of_task = np.array([number[chore.task_id] for chore in chores], dtype=np.int64)
    totals = np.zeros((len(tasks), members.count))
    hands = arrays.by_keeper & (arrays.day >= 0)
    wide = _log_width(arrays.low, arrays.typ, arrays.high)
    for member in range(members.count):
        done = np.array(
            [
                chore.condition is None or noted[place[chore.id], member] > 0.5
                if chore.id in place
                else chore.condition is None
                for chore in chores
            ]
        )
        deviate = np.array([spread[task][member] for task in tasks])[of_task]
        factor = np.exp(wide * np.clip(deviate, -2.0, 2.0))
        spent = spent_minutes(arrays, done=done, factor=factor)
        for target, chosen in ((per_day, hands & ~arrays.look), (looks, hands & arrays.look)):
            target[:, member] = np.bincount(arrays.day[chosen], weights=spent[chosen], minlength=days)
        totals[:, member] = np.bincount(of_task[hands], weights=spent[hands], minlength=len(tasks))
    times = np.bincount(of_task[hands], minlength=len(tasks))
    return Work(
        per_day=per_day,
        looks_per_day=looks,
        per_week=trailing_sum(per_day.T, days=7).T,
        by_task={task: totals[index] for task, index in number.items()},
        times_by_task={task: float(times[index]) for task, index in number.items()},
        missed=tuple(chore for chore in chores if chore.done_day is None and not chore.look),
    )


def _log_width(low: Array, typ: Array, high: Array) -> Array:
    """Standard deviation of the logarithm of a chore's minutes, from its low and high as 5 and 95 % points."""
    ratio = np.where((low > 0) & (high > low), high / np.maximum(low, 1e-9), 1.0)
    # a keeper does the same chore many times: the mean of many is steadier than one
    return np.log(ratio) / (2 * 1.645) * 0.5 * (typ > 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Overrun:
    """Minutes above the budget."""

    harm: bool
    """True: over a quarter of a year; False: in a single month."""
    first_day: IntArray
    worst_per_month: float

    @property
    def share(self) -> float:
        """Share of the members that run over."""
        return share(self.first_day >= 0)


def overruns(work: Work, minutes_per_month: float) -> list[Overrun]:
    """Give the months and the quarters that exceed the keeper's minutes."""
    found = []
    for harm, window in ((True, QUARTER_DAYS), (False, 30)):
        total = trailing_sum(work.per_day.T, days=window).T / window * DAYS_PER_MONTH
        total[: window - 1] = 0.0
        over = total > minutes_per_month
        first = first_day(over)
        if (first >= 0).any():
            worst = float(np.median(total.max(axis=0)[first >= 0]))
            found.append(Overrun(harm=harm, first_day=first, worst_per_month=worst))
    return found
