"""The days on which a rhythm falls due, and how long its interval is."""

from __future__ import annotations

import calendar
from datetime import date, timedelta

from backreef.aquarium.plan import Rhythm
from backreef.units import DAYS_PER_MONTH

_DAYS_PER_WEEK = 7


def due_days(rhythm: Rhythm, *, start_on: date, days: int, begun_d: int = 0) -> list[int]:
    """Days of the horizon (0 is `start_on`) on which the rhythm falls due, in order and each once.

    An interval falls due for the first time when it has run out once; a week or month counts from the one
    that holds the first day. A fifth weekday that a month does not have is left out, as calendars do. Where
    the plan had run for so many days before, it is counted from then.
    """
    if rhythm.kind == "interval":
        return interval_days(rhythm.every_days or 1.0, days=days, from_day=-begun_d)
    since, upto = start_on - timedelta(days=begun_d), begun_d + days
    kind = _weekly if rhythm.kind == "weekly" else _monthly
    return [day - begun_d for day in kind(rhythm, start_on=since, days=upto) if day >= begun_d]


def interval_days(every_days: float, *, days: int, from_day: int = 0) -> list[int]:
    """Multiples of an interval after `from_day`, to the nearest day; shorter than a day counts as daily."""
    every = max(1.0, every_days)
    count = int((days - from_day) / every) + 1
    due = (from_day + int(step * every + 0.5) for step in range(1, count + 1))
    return [day for day in due if 0 <= day < days]


def mean_interval_d(rhythm: Rhythm) -> float:
    """Days between two occurrences on average. [d]"""
    per_period = max(1, len(rhythm.weekdays))
    if rhythm.kind == "interval":
        return max(1.0, rhythm.every_days or 1.0)
    if rhythm.kind == "weekly":
        return _DAYS_PER_WEEK * rhythm.every_weeks / per_period
    return DAYS_PER_MONTH * rhythm.every_months / per_period


def add_months(on: date, months: float) -> date:
    """The date that many months later; the last day of the month where the day does not exist there."""
    whole = int(months)
    year, month = divmod(on.year * 12 + on.month - 1 + whole, 12)
    last = calendar.monthrange(year, month + 1)[1]
    moved = date(year, month + 1, min(on.day, last))
    return moved + timedelta(days=round((months - whole) * DAYS_PER_MONTH))


def _weekly(rhythm: Rhythm, *, start_on: date, days: int) -> list[int]:
    monday = -start_on.weekday()
    weeks = range(0, days // _DAYS_PER_WEEK + 2, max(1, rhythm.every_weeks))
    due = (
        monday + _DAYS_PER_WEEK * week + weekday for week in weeks for weekday in sorted(set(rhythm.weekdays))
    )
    return [day for day in due if 0 <= day < days]


def _monthly(rhythm: Rhythm, *, start_on: date, days: int) -> list[int]:
    last_on = start_on + timedelta(days=days - 1)
    first, last = (on.year * 12 + on.month - 1 for on in (start_on, last_on))
    due: set[int] = set()
    for index in range(first, last + 1, max(1, rhythm.every_months)):
        year, month = divmod(index, 12)
        due.update((on - start_on).days for on in _days_of_month(rhythm, year, month + 1))
    return sorted(day for day in due if 0 <= day < days)


def _days_of_month(rhythm: Rhythm, year: int, month: int) -> list[date]:
    """The dates of one month; without weekdays, `nth` is the day of the month."""
    length = calendar.monthrange(year, month)[1]
    nth = rhythm.nth if rhythm.nth is not None else 1
    if not rhythm.weekdays:
        return [date(year, month, length if nth < 0 else min(nth, length))]
    found: list[date] = []
    for weekday in rhythm.weekdays:
        first = 1 + (weekday - date(year, month, 1).weekday()) % _DAYS_PER_WEEK
        same = range(first, length + 1, _DAYS_PER_WEEK)
        at = nth - 1 if nth > 0 else nth + len(same)
        if 0 <= at < len(same):
            found.append(date(year, month, same[at]))
    return found
