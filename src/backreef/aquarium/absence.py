"""The longest run of days without anybody, from the plan alone: weekdays, closed weekdays and closed dates.

Public holidays are left to the schedule, which knows calendars; so this is a lower bound.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from typing import NamedTuple

from backreef.aquarium.plan import ClosedRule, Helper, Plan, PresenceWindow


class Absence(NamedTuple):
    """A run of days without anybody, both ends included."""

    days: int
    first_on: date | None


def longest_absence(plan: Plan) -> Absence:
    """The first of the longest runs of days without the keeper and without a helper."""
    who = plan.keeper
    return _longest((who.presence, who.closed, who.helpers), plan.start_on, plan.horizon_days)


_People = tuple[tuple[PresenceWindow, ...], tuple[ClosedRule, ...], tuple[Helper, ...]]


@lru_cache(maxsize=16)
def _longest(people: _People, start_on: date, days: int) -> Absence:
    longest, run = Absence(0, None), Absence(0, None)
    for step in range(days):
        on = start_on + timedelta(days=step)
        run = Absence(0, None) if _somebody(people, on) else Absence(run.days + 1, run.first_on or on)
        longest = max(longest, run, key=lambda each: each.days)
    return longest


def _somebody(people: _People, on: date) -> bool:
    presence, rules, helpers = people
    closed = any(_closes(rule, on) for rule in rules)
    if not closed and any(window.weekday == on.weekday() for window in presence):
        return True
    return any(on.weekday() in helper.weekdays and (helper.when_closed or not closed) for helper in helpers)


def _closes(rule: ClosedRule, on: date) -> bool:
    if rule.kind == "weekday":
        return on.weekday() == rule.weekday
    if rule.first_on is not None and rule.last_on is not None:
        return rule.first_on <= on <= rule.last_on
    if rule.kind != "yearly":
        return False
    first, last = (rule.first_month or 1, rule.first_day or 1), (rule.last_month or 1, rule.last_day or 1)
    today = (on.month, on.day)
    return first <= today <= last if first <= last else today >= first or today <= last
