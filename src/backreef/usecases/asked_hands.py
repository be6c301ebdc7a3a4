"""Figures of the keeper's work: minutes of a task, each time and in a month."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

from backreef.schedule.chores import Chore
from backreef.usecases.asked import Asking, Figure, Found, shown
from backreef.working.number import Worked
from backreef.working.steps import About
from backreef.working.tree import tree_of


def task_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of each task of the plan without a forecast."""
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


def _each_time(chore: Chore, asking: Asking, _on: date | None) -> Found:
    tree = tree_of(chore.minutes, About(symbol="minutes", key=f"tasks.{chore.task_id}", kind="law"))
    on = asking.on(chore.due_day if chore.done_day is None else chore.done_day)
    return Found(tree=tree, shown=shown(chore.minutes, "min"), on=on)
