"""Figures of the keeper's work: minutes of a task, each time and in a month."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import partial

import numpy as np

from backreef.judgement.hands import done_by_member, log_width, pace_ratio
from backreef.judgement.horizon import horizon_months
from backreef.judgement.rules import rule
from backreef.schedule.chores import Chore
from backreef.schedule.minutes import chore_arrays, spent_minutes
from backreef.schedule.people import KEEPER
from backreef.usecases.asked import Asking, Figure, Found, middle_of, shown
from backreef.working.number import Worked, total
from backreef.working.record import leaf, recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of


def task_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of each task of the plan."""
    seen: set[str] = set()
    for chore in asking.laid_out.keeper.chores:
        if chore.task_id not in seen and isinstance(chore.minutes, Worked):
            seen.add(chore.task_id)
            yield Figure(
                name=f"{chore.task_id}.minutes_each_time",
                title=f"typical minutes of once '{chore.name}', without its set-up",
                daily=False,
                forecast=False,
                find=partial(_each_time, chore),
            )
            yield Figure(
                name=f"{chore.task_id}.minutes_per_month",
                title=f"the keeper's minutes of '{chore.name}' in a month, the median of the members",
                daily=False,
                forecast=True,
                find=partial(_per_month, chore.task_id),
                beside=partial(_beside, chore.task_id),
            )


def _beside(task: str, asking: Asking, _at: str) -> tuple[str, ...]:
    """The edges of its band."""
    edges = tuple(f"{task}.minutes_per_month_{edge}" for edge in ("p05", "p95"))
    return tuple(one.name for one in asking.told_numbers if one.name in edges)


def _each_time(chore: Chore, asking: Asking, _on: date | None) -> Found:
    tree = tree_of(chore.minutes, About(symbol="minutes", key=f"tasks.{chore.task_id}", kind="law"))
    on = asking.on(chore.due_day if chore.done_day is None else chore.done_day)
    return Found(tree=tree, shown=shown(chore.minutes, "min"), on=on)


def _per_month(task: str, asking: Asking, _on: date | None) -> Found:
    course = asking.course
    values = course.work.by_task[task]
    about = About(symbol="minutes_per_month", key=f"minutes.{task}", kind="law", unit="min")
    with recording():
        minutes = middle_of(
            values, partial(_of_member, task, asking), replace(about, symbol="minutes_of_horizon")
        )
        value = minutes / horizon_months(course.prepared)
    by_member = values / horizon_months(course.prepared)
    return Found(tree=tree_of(value, about), shown=shown(value, "min"), by_member=tuple(by_member.tolist()))


def _of_member(task: str, asking: Asking, member: int) -> InItsUnit:
    """The minutes of a task over the horizon in one member: each chore with its set-up, at its pace."""
    course, chores = asking.course, asking.laid_out.keeper.chores
    noted = course.prepared.timeline.noted
    done = done_by_member(chores, noted, course.members.noted, course.members.count)[:, member]
    arrays = chore_arrays(chores, keep_working=True)
    spent = spent_minutes(arrays, done=done)
    deviate = _deviate(task, asking, member)
    paces: dict[tuple[float, float, float], InItsUnit] = {}
    by_pace: dict[tuple[float, float, float], list[InItsUnit]] = {}
    for chore, minutes in zip(chores, spent.tolist(), strict=True):
        if chore.task_id != task or chore.by != KEEPER or chore.done_day is None:
            continue
        key = (float(chore.minutes_low), float(chore.minutes), float(chore.minutes_high))
        if key not in paces:
            width = log_width(chore.minutes_low, chore.minutes, chore.minutes_high)
            paces[key] = pace_ratio(width, deviate) if isinstance(width, Worked) else 1.0
        by_pace.setdefault(key, []).append(minutes)
    return total(total(minutes) * paces[key] for key, minutes in by_pace.items())


def _deviate(task: str, asking: Asking, member: int) -> Worked:
    outlier = rule("work_outlier")
    drawn = float(np.clip(asking.course.draws.normal(f"minutes {task}")[0][member], -outlier, outlier))
    about = About(
        symbol="deviate",
        key=f"draws.minutes {task}.member {member + 1}",
        kind="drawn",
        what=f"standard deviations by which the keeper of member {member + 1} is slower than typical",
        low=-1.645,
        high=1.645,
        source="drawn by seed, name and member (ADR 0008)",
        place=f"seed {asking.seed}",
        status="drawn",
        members=asking.course.members.count,
    )
    return leaf(drawn, about)
