"""Chores that people honestly drop after a year or two, where a plan rests on them, and those it names."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from backreef.catalogue.entries import Task
from backreef.company.findings import CheckFinding
from backreef.schedule.habits import Habit, dropped_after
from backreef.schedule.people import KEEPER
from backreef.schedule.rhythm import add_months
from backreef.simulation.prepared import Prepared

PRACTICE = "common practice, no source"


def dropped_chores(prepared: Prepared) -> Iterator[CheckFinding]:
    """Give the chores that many have dropped before the plan ends, and those that the plan says are."""
    plan, tasks = prepared.plan, prepared.catalogue.tasks
    last = {
        chore.task_id: chore.done_day
        for chore in prepared.keeper.chores
        if chore.by == KEEPER and chore.done_day is not None
    }
    for task_id, habit in dropped_after(plan).items():
        by_then = add_months(plan.start_on, habit.after_months.value)
        goes_on = task_id in last and last[task_id] >= (by_then - plan.start_on).days
        if goes_on and task_id not in plan.keeper.stops_after:
            yield _often_dropped(tasks[task_id], habit, by_then)
    left = {line.task_id for line in prepared.keeper.left_out}
    for task_id, months in plan.keeper.stops_after.items():
        if task_id in left:
            yield _said_to_be_dropped(tasks[task_id], add_months(plan.start_on, months))


def _often_dropped(task: Task, habit: Habit, by_then: date) -> CheckFinding:
    months = habit.after_months
    often = f"many have dropped it after {months.lowest:.0f} to {months.highest:.0f} months ({habit.why})"
    tried = f"{months.value:.0f}"
    said = f'keeper.stops_after = {{ {task.id} = "{tried} months" }}'
    by_itself = (f"let {task.automated_by} do it",) if task.automated_by else ()
    return CheckFinding(
        id=f"dropped.{task.id}",
        balance="hands",
        weight=habit.weight,
        who="the keeper",
        what=f"{task.name}: of the sort that people drop",
        why=f"{often}{_consequence(task)}",
        source=PRACTICE,
        status=months.status,
        from_on=by_then,
        remedies=(
            f"try what comes then: forecast with --stop {task.id}={tried}",
            f"or say so in the plan: {said}",
            *by_itself,
        ),
    )


def _said_to_be_dropped(task: Task, from_on: date) -> CheckFinding:
    return CheckFinding(
        id=f"stops.{task.id}",
        balance="hands",
        weight="note",
        who="the keeper",
        what=f"{task.name}: dropped from then on, as the plan says",
        why=f"what follows in the tank is simulated{_consequence(task)}",
        source="the plan",
        status="practice",
        from_on=from_on,
    )


def _consequence(task: Task) -> str:
    return f"; if it is left: {task.consequence}" if task.consequence else ""
