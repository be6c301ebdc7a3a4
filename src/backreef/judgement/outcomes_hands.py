"""What a forecast shows of minutes: by task, by month, and the days on which somebody is needed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from backreef.judgement.failures import failure_lines
from backreef.judgement.hands import Work
from backreef.judgement.horizon import horizon_d, horizon_months
from backreef.judgement.verdict_hands import ChoreLine, Minutes, MonthLine
from backreef.schedule.habits import dropped_after
from backreef.schedule.people import KEEPER
from backreef.simulation.prepared import Prepared
from backreef.units import DAYS_PER_YEAR
from backreef.working.members import Seen, middle, of_each, point
from backreef.working.number import total
from backreef.working.record import told_constant
from backreef.working.steps import InItsUnit

_SPENT = Seen(symbol="spent", what="minutes of the task over the plan", unit="min")
_MONTHLY = Seen(symbol="monthly", what="the keeper's minutes in a month, without looks", unit="min")
_LOOKS = Seen(symbol="looks", what="the keeper's minutes for looks in a month", unit="min")
_ON_A_DAY = Seen(symbol="on_a_day", what="the keeper's minutes on the fullest day", unit="min")
_IN_MONTH = Seen(symbol="in_month", what="the keeper's minutes of the calendar month", unit="min")


_ALL_LOOKS = Seen(symbol="looks", what="minutes of looks and head counts over the plan", unit="min")


def _spent_on(task: str, name: str) -> Seen:
    return Seen(symbol=f"on_{task}", what=f"minutes over the plan on: {name}", unit="min")


def minutes_of(prepared: Prepared, work: Work) -> Minutes:
    """Give the ledger of minutes."""
    months = horizon_months(prepared)
    monthly = work.per_day.sum(axis=0) / months
    names = {task: prepared.catalogue.tasks[task].name for task in work.by_task}

    def of_member(member: int) -> InItsUnit:
        """Its minutes by task: chores that are looks are in these too, and are taken off."""
        spent = total(
            of_each(minutes[member], _spent_on(task, names[task]), member)
            for task, minutes in work.by_task.items()
            if minutes[member]
        )
        return (spent - of_each(work.looks_min[member], _ALL_LOOKS, member)) / months

    typical = np.median(work.per_day, axis=1)
    busiest = int(np.argmax(typical)) if typical.size and typical.max() > 0 else None
    looks = {chore.task_id for chore in prepared.keeper.chores if chore.look}
    dropped = dropped_after(prepared.plan)
    lines = [
        ChoreLine(
            task=task,
            name=prepared.catalogue.tasks[task].name,
            minutes_per_month_p05=point(spent, 5, _SPENT) / months,
            minutes_per_month_p50=middle(spent, _SPENT) / months,
            minutes_per_month_p95=point(spent, 95, _SPENT) / months,
            times_per_year=work.times_by_task[task]
            / horizon_d(prepared)
            * told_constant(DAYS_PER_YEAR, "DAYS_PER_YEAR", "backreef.units"),
            needs_presence=prepared.catalogue.tasks[task].needs_presence,
            look=task in looks,
            often_dropped_after_months=dropped[task].after_months.value if task in dropped else None,
        )
        for task, spent in work.by_task.items()
        if spent.any()
    ]
    return Minutes(
        per_month_p05=point(monthly, 5, _MONTHLY, of_member),
        per_month_p50=middle(monthly, _MONTHLY, of_member),
        per_month_p95=point(monthly, 95, _MONTHLY, of_member),
        budget_per_month=prepared.plan.keeper.minutes_per_month,
        looks_per_month_p50=middle(work.looks_min / months, _LOOKS),
        by_chore=tuple(sorted(lines, key=lambda line: -line.minutes_per_month_p50)),
        busiest_day=None if busiest is None else prepared.plan.start_on + timedelta(days=busiest),
        busiest_day_minutes=0.0 if busiest is None else middle(work.per_day[busiest], _ON_A_DAY),
        by_month=tuple(_by_month(prepared, work)),
        needs_somebody=tuple(_needs_somebody(prepared)),
        failures=tuple(failure_lines(prepared)),
    )


def _by_month(prepared: Prepared, work: Work) -> Iterator[MonthLine]:
    """The minutes of each calendar month, or of the part of it that lies in the horizon."""
    months = prepared.keeper.ledger.per_month
    first = 0
    for month in months:
        spent = work.per_day[first : first + month.days].sum(axis=0)
        low, typical, high = (point(spent, percent, _IN_MONTH) for percent in (5, 50, 95))
        yield MonthLine(
            first_on=month.first_on,
            days=month.days,
            minutes_p05=low,
            minutes_p50=typical,
            minutes_p95=high,
            budget_minutes=month.budget_minutes,
        )
        first += month.days


def _needs_somebody(prepared: Prepared) -> Iterator[date]:
    """Days on which a chore that is done whatever the tests say needs somebody who is there."""
    keeper = prepared.keeper
    people = {KEEPER, *(helper.name for helper in keeper.presence.helpers)}
    days = {
        chore.done_day
        for chore in keeper.chores
        if chore.done_day is not None
        and chore.needs_presence
        and not chore.look
        and chore.condition is None
        and chore.by in people
    }
    yield from (keeper.presence.on(day) for day in sorted(days))
