"""An absence laid over a plan: the keeper is away, and perhaps somebody looks in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from backreef.aquarium.plan import ClosedRule, Helper, Plan
from backreef.errors import Fault, InputFaults

SITTER = "sitter"
FROM, TO = "--from", "--to"


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """Days without the keeper."""

    first_on: date
    until_on: date
    """The day of return: the first on which the keeper is back."""
    sitter_weekdays: tuple[int, ...] = ()
    """On these somebody comes who can do what any sitter can; helpers of the plan come as it says."""

    @property
    def days(self) -> int:
        """How many days it lasts. [d]"""
        return (self.until_on - self.first_on).days

    @property
    def last_on(self) -> date:
        """The last day without the keeper."""
        return self.until_on - timedelta(days=1)

    def first_day(self, plan: Plan) -> int:
        """Day of the horizon on which it begins."""
        return (self.first_on - plan.start_on).days


def away_plan(plan: Plan, absence: Absence) -> Plan:
    """The plan with the keeper away for an absence.

    Raises
    ------
    InputFaults
        If the absence does not lie within the plan's horizon.
    """
    faults = tuple(_faults(plan, absence))
    if faults:
        raise InputFaults(faults)
    away = ClosedRule(kind="dates", label="away", first_on=absence.first_on, last_on=absence.last_on)
    helpers = plan.keeper.helpers
    if absence.sitter_weekdays:
        sitter = Helper(
            name=SITTER,
            tasks=(),
            weekdays=absence.sitter_weekdays,
            when_closed=True,
            minutes_per_visit=None,
            first_on=absence.first_on,
            last_on=absence.last_on,
        )
        helpers = (*helpers, sitter)
    keeper = replace(plan.keeper, closed=(*plan.keeper.closed, away), helpers=helpers)
    return replace(plan, keeper=keeper)


def _faults(plan: Plan, absence: Absence) -> list[Fault]:
    end = plan.start_on + timedelta(days=plan.horizon_days)
    found = []
    if absence.first_on < plan.start_on:
        words = f"{absence.first_on} is before the plan begins ({plan.start_on}); choose a later day"
        found.append(Fault(file=plan.file, line=None, key=FROM, message=words))
    if absence.until_on > end:
        words = (
            f"{absence.until_on} is after the plan's last day; it ends before {end}: choose an earlier day"
        )
        found.append(Fault(file=plan.file, line=None, key=TO, message=words))
    if absence.days < 1:
        words = (
            f"{absence.until_on} is not after {absence.first_on}; it is the day of return, on which somebody "
            "is back"
        )
        found.append(Fault(file=plan.file, line=None, key=TO, message=words))
    return found
