"""On which days, and from when to when, somebody is at the tank.

Hours are decimal hours of local time, so a change of the clocks moves nothing here. The keeper's days and
those of helpers are kept apart, because a helper may do only what they can.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from itertools import groupby

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import ClosedRule, Helper, Plan, PresenceWindow
from backreef.schedule.calendars import public_holidays

BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float64]
Hours = tuple[float, float]

NOBODY = -1.0
"""Stands in `from_hour` and `to_hour` on a day without the keeper."""
SHORTEST_AWAY_DAYS = 2
WEEKDAY_NAMES = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")
_RANK = {"dates": 0, "yearly": 1, "public_holidays": 2, "weekday": 3}
_NOT_THERE = 4
_HOLIDAY = "public holiday"
_OBSERVED = " (observed)"


@dataclass(frozen=True, slots=True, kw_only=True)
class AwayStretch:
    """Consecutive days without the keeper; both ends are such days."""

    first_day: int
    """Counted from the plan's first day, which is 0."""
    last_day: int
    first_on: date
    last_on: date
    label: str

    @property
    def days(self) -> int:
        """How many days it lasts. [d]"""
        return self.last_day - self.first_day + 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HelperPresence:
    """The days on which a helper comes."""

    name: str
    tasks: tuple[str, ...]
    """Task ids; empty means whatever a sitter can do by the catalogue."""
    visit_minutes: float | None
    at_hour: float | None
    """Hour at which they come; None where the plan does not say."""
    present: BoolArray
    until_hour: float | None = None
    """Hour until which they stay; None: no later than they come."""

    def hour_near(self, asked_h: float | None) -> float | None:
        """The hour within their stay that is nearest to one asked for; None where the plan says no hour."""
        if self.at_hour is None or asked_h is None:
            return self.at_hour
        return min(max(asked_h, self.at_hour), self.until_hour or self.at_hour)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Presence:
    """Who is there on each day of the horizon. Arrays have the shape (days,)."""

    start_on: date
    days: int
    present: BoolArray
    """Whether the keeper is there."""
    from_hour: FloatArray
    """Hour at which the keeper comes; `NOBODY` (-1) on a day without them."""
    to_hour: FloatArray
    """Hour at which the keeper leaves; `NOBODY` (-1) on a day without them."""
    hours_by_weekday: tuple[tuple[Hours, ...], ...]
    """For Monday to Sunday the windows of presence, in order."""
    reason: tuple[str, ...]
    """Why the keeper is not there; empty on days of presence."""
    absences: tuple[AwayStretch, ...]
    """Every stretch without the keeper, single days included."""
    ordinary_gap_days: int
    """Longest stretch that the weekdays alone bring; an absence beyond it is out of the ordinary."""
    helpers: tuple[HelperPresence, ...]

    @property
    def away(self) -> tuple[AwayStretch, ...]:
        """Stretches of two days and more without the keeper."""
        return tuple(stretch for stretch in self.absences if stretch.days >= SHORTEST_AWAY_DAYS)

    def weekday(self, day: int) -> int:
        """0 for Monday to 6 for Sunday."""
        return (self.start_on.weekday() + day) % 7

    def on(self, day: int) -> date:
        """The date of a day of the horizon."""
        return self.start_on + timedelta(days=day)

    def hours(self, day: int) -> tuple[Hours, ...]:
        """Windows in which the keeper is there on that day; none when absent."""
        return self.hours_by_weekday[self.weekday(day)] if self.present[day] else ()

    def minutes_there(self, day: int) -> float:
        """For how long the keeper is there on that day. [min]"""
        return 60.0 * sum(until - since for since, until in self.hours(day))


def presence(plan: Plan) -> Presence:
    """Who is there when, over the whole horizon of the plan; plans with the same keeper share it."""
    keeper = plan.keeper
    return _presence(keeper.presence, keeper.closed, keeper.helpers, plan.start_on, plan.horizon_days)


@lru_cache(maxsize=32)
def _presence(
    hours: tuple[PresenceWindow, ...],
    closures: tuple[ClosedRule, ...],
    helpers: tuple[Helper, ...],
    start_on: date,
    days: int,
) -> Presence:
    windows = _hours_by_weekday(hours)
    first_weekday = start_on.weekday()
    weekdays = (np.arange(days) + first_weekday) % 7
    best: list[tuple[int, str]] = [
        (len(_RANK) + 1, "") if windows[weekday] else (_NOT_THERE, f"not there on {WEEKDAY_NAMES[weekday]}")
        for weekday in weekdays
    ]
    closed = np.zeros(days, dtype=np.bool_)
    for rule in closures:
        for day, label in _closed_days(rule, start_on=start_on, days=days):
            closed[day] = True
            best[day] = min(best[day], (_RANK[rule.kind], label), key=lambda pair: pair[0])
    there = np.array([bool(hours) for hours in windows])[weekdays] & ~closed
    opens = np.array([hours[0][0] if hours else NOBODY for hours in windows])[weekdays]
    closes = np.array([hours[-1][1] if hours else NOBODY for hours in windows])[weekdays]
    return Presence(
        start_on=start_on,
        days=days,
        present=there,
        from_hour=np.where(there, opens, NOBODY),
        to_hour=np.where(there, closes, NOBODY),
        hours_by_weekday=windows,
        reason=tuple(label for _, label in best),
        absences=tuple(_stretches(there, best=best, start_on=start_on)),
        ordinary_gap_days=_ordinary_gap_days([bool(hours) for hours in windows]),
        helpers=tuple(
            _helper(helper, weekdays=weekdays, closed=closed, start_on=start_on) for helper in helpers
        ),
    )


def _hours_by_weekday(hours: tuple[PresenceWindow, ...]) -> tuple[tuple[Hours, ...], ...]:
    """The windows of each weekday, joined where they touch or overlap."""
    result: list[tuple[Hours, ...]] = []
    for weekday in range(7):
        joined: list[Hours] = []
        for start, end in sorted((w.from_hour, w.to_hour) for w in hours if w.weekday == weekday):
            if joined and start <= joined[-1][1]:
                joined[-1] = (joined[-1][0], max(joined[-1][1], end))
            else:
                joined.append((start, end))
        result.append(tuple(joined))
    return tuple(result)


def _ordinary_gap_days(there: list[bool]) -> int:
    """Longest run of weekdays without the keeper, over the turn of the week; 0 if there daily, 7 if never."""
    runs = [len(list(run)) for is_there, run in groupby(there + there) if not is_there]
    return min(max(runs, default=0), len(there))


def _helper(
    helper: Helper, *, weekdays: npt.NDArray[np.int64], closed: BoolArray, start_on: date
) -> HelperPresence:
    comes = np.isin(weekdays, helper.weekdays)
    if helper.first_on is not None:
        comes[: max(0, (helper.first_on - start_on).days)] = False
    if helper.last_on is not None:
        comes[max(0, (helper.last_on - start_on).days + 1) :] = False
    return HelperPresence(
        name=helper.name,
        tasks=helper.tasks,
        visit_minutes=helper.minutes_per_visit,
        at_hour=helper.at_hour,
        until_hour=helper.until_hour,
        present=comes if helper.when_closed else comes & ~closed,
    )


# --- closed days --------------------------------------------------------------------------------------------


def _closed_days(rule: ClosedRule, *, start_on: date, days: int) -> Iterator[tuple[int, str]]:
    """The days of the horizon that a rule closes, each with its label."""
    if rule.kind == "public_holidays":
        yield from _holidays_of(rule, start_on=start_on, days=days)
    elif rule.kind == "weekday":
        weekday = rule.weekday if rule.weekday is not None else 0
        label = rule.label or f"closed on {WEEKDAY_NAMES[weekday]}"
        first = (weekday - start_on.weekday()) % 7
        yield from ((day, label) for day in range(first, days, 7))
    elif rule.kind == "yearly":
        yield from ((day, rule.label or "closed every year") for day in _yearly_days(rule, start_on, days))
    else:
        first_on = rule.first_on or rule.last_on or start_on
        last_on = rule.last_on or first_on
        first = max(0, (first_on - start_on).days)
        last = min(days - 1, (last_on - start_on).days)
        yield from ((day, rule.label or "away") for day in range(first, last + 1))


def _yearly_days(rule: ClosedRule, start_on: date, days: int) -> Iterator[int]:
    """Days between two dates of each year, over New Year where the second comes first in the calendar.

    29 February as an end means the last day of February, or the first of March, where the year has none.
    """
    first = (rule.first_month or 1, rule.first_day or 1)
    last = (rule.last_month or first[0], rule.last_day or first[1])
    for day in range(days):
        on = start_on + timedelta(days=day)
        month_day = (on.month, on.day)
        inside = first <= month_day <= last if first <= last else month_day >= first or month_day <= last
        if inside:
            yield day


def _holidays_of(rule: ClosedRule, *, start_on: date, days: int) -> Iterator[tuple[int, str]]:
    last_on = start_on + timedelta(days=days - 1)
    label = rule.label or _HOLIDAY
    for on, name in public_holidays(rule.country, rule.region, start_on.year, last_on.year):
        if start_on <= on <= last_on:
            yield (on - start_on).days, f"{label}: {name}"


# --- stretches ----------------------------------------------------------------------------------------------


def _stretches(there: BoolArray, *, best: list[tuple[int, str]], start_on: date) -> Iterator[AwayStretch]:
    padded = np.concatenate(([True], there, [True])).astype(np.int8)
    change = np.diff(padded)
    firsts, ends = np.flatnonzero(change == -1), np.flatnonzero(change == 1)
    for first, end in zip(firsts.tolist(), ends.tolist(), strict=True):
        yield AwayStretch(
            first_day=first,
            last_day=end - 1,
            first_on=start_on + timedelta(days=first),
            last_on=start_on + timedelta(days=end - 1),
            label=_label(best[first:end]),
        )


def _label(reasons: list[tuple[int, str]]) -> str:
    """What a stretch is called: by the closures in it, and only without any by its weekdays."""
    ordinary = _RANK["weekday"]
    named = [label.removesuffix(_OBSERVED) for rank, label in reasons if rank < ordinary]
    labels = dict.fromkeys(named or [label for _, label in reasons])
    shown: list[str] = []
    heads: set[str] = set()
    for label in labels:
        head, colon, name = label.partition(": ")
        shown.append(name if colon and head in heads else label)
        heads.add(head)
    return ", ".join(shown)
