"""Who can do a task on which day: the keeper first, helpers where the keeper is not there or will not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.presence import BoolArray, HelperPresence, Presence
from backreef.schedule.rhythm import add_months
from backreef.schedule.tables import workload

KEEPER = "keeper"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Doers:
    """The days on which each person could do one task."""

    keeper: BoolArray
    helpers: tuple[tuple[HelperPresence, BoolArray], ...]
    anybody: BoolArray
    before: tuple[int, ...]
    """For each day the last day up to it with the keeper able; -1 for none."""
    after: tuple[int, ...]
    """For each day the first day from it on with the keeper able; the number of days for none."""
    stop_day: int
    """First day on which the keeper has dropped the task; the number of days where that never comes."""

    def who(self, day: int) -> str:
        """Name of the person who does it on that day: 'keeper', a helper, or empty for nobody."""
        if self.keeper[day]:
            return KEEPER
        helper = self.helper(day)
        return "" if helper is None else helper.name

    def helper(self, day: int) -> HelperPresence | None:
        """The first helper who could do it on that day."""
        return next((helper for helper, able in self.helpers if able[day]), None)


def doers(plan: Plan, catalogue: Catalogue, *, presence: Presence, task_id: str) -> Doers:
    """Who can do the task on each day of the horizon."""
    stop = stop_day(plan, task_id)
    able = presence.present & (np.arange(presence.days) < stop)
    if task_id in plan.keeper.refuses:
        able = np.zeros(presence.days, dtype=np.bool_)
    helpers = tuple(
        (helper, helper.present) for helper in presence.helpers if _can(helper, task_id, catalogue=catalogue)
    )
    anybody = able.copy()
    for _, days in helpers:
        anybody |= days
    indices = np.arange(presence.days)
    before = np.maximum.accumulate(np.where(able, indices, -1))
    after = np.minimum.accumulate(np.where(able, indices, presence.days)[::-1])[::-1]
    return Doers(
        keeper=able,
        helpers=helpers,
        anybody=anybody,
        before=tuple(before.tolist()),
        after=tuple(after.tolist()),
        stop_day=stop,
    )


def stop_day(plan: Plan, task_id: str) -> int:
    """First day on which the keeper no longer does the task; the number of days where that never comes."""
    months = plan.keeper.stops_after.get(task_id)
    if months is None:
        return plan.horizon_days
    begun_on = plan.start_on - timedelta(days=plan.begun_d)
    return min(plan.horizon_days, max(0, (add_months(begun_on, months) - plan.start_on).days))


def hour_of(presence: Presence, day: int, *, at_hour: float | None = None, by: str = "") -> float:
    """Hour at which a chore is done: the one asked for if the keeper is there then, else their first.

    A helper does it when they come, if the plan says when, or as near to the hour as their stay allows.
    """
    hours = presence.hours(day)
    come = [
        hour
        for helper in presence.helpers
        if helper.present[day] and by in (helper.name, "")
        for hour in [helper.hour_near(at_hour)]
        if hour is not None
    ]
    if come and (by not in ("", KEEPER) or not hours):
        return min(come)
    if not hours:
        return workload().numbers["helper_at"].value if at_hour is None else at_hour
    if at_hour is not None and any(start <= at_hour <= end for start, end in hours):
        return at_hour
    return hours[0][0]


def _can(helper: HelperPresence, task_id: str, *, catalogue: Catalogue) -> bool:
    """Whether a helper does the task: it is on their list or, without one, any sitter can do it."""
    if helper.tasks:
        return task_id in helper.tasks
    task = catalogue.tasks.get(task_id)
    return task is not None and task.sitter_can_do == "yes"
