"""Where a chore may go: its visit where there is nothing to choose, else the window of its days."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from backreef.schedule.people import KEEPER, Doers
from backreef.schedule.work import Due, Line


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """When a chore is done and by whom."""

    day: int | None
    """None: nobody is there within what it can slip."""
    by: str = ""
    merged_into: int | None = None
    """Index of the later chore of the same line that does this one's work on the same day."""
    past_end: bool = False
    """It can still be done after the horizon, or the keeper has dropped the task by then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Where a chore may go: from `first` to `last` on the keeper's days, or settled with a person."""

    first: int
    last: int
    by: str = KEEPER


NOBODY_THERE = Visit(day=None)
PAST_END = Visit(day=None, past_end=True)


def settle(
    due: Due, *, doers: Doers, days: int, helper_minutes: Mapping[tuple[str, int], float] | None = None
) -> Visit | Window:
    """The window in which a chore may be done, or its visit where there is nothing to choose."""
    line = due.line
    if line.device is not None:
        return Visit(day=due.day, by=line.device)
    if due.missed:
        return NOBODY_THERE
    if due.done_on is not None:
        return Visit(day=due.done_on, by=doers.who(due.done_on) or KEEPER)
    if not line.needs_presence:
        return Visit(day=due.day, by=KEEPER)
    used = helper_minutes or {}
    return (
        _near(due, doers=doers, days=days, used=used)
        or _later(due, doers=doers, days=days, used=used)
        or _earlier(due, doers=doers, days=days)
        or NOBODY_THERE
    )


def settle_alone(due: Due, *, doers: Doers, days: int) -> Due:
    """The chore with its day settled by itself, on the day nearest to the due day that its window has.

    For work on which other things depend before all chores are placed, as refills of a feeder.
    """
    found = settle(due, doers=doers, days=days)
    if isinstance(found, Visit):
        done_on, missed = found.day, found.day is None and not found.past_end
    else:
        able = [day for day in range(found.first, found.last + 1) if found.by != KEEPER or doers.keeper[day]]
        done_on, missed = min(able, key=lambda day: (abs(day - due.day), day)), False
    return replace(due, done_on=done_on, missed=missed)


def _near(due: Due, *, doers: Doers, days: int, used: Mapping[tuple[str, int], float]) -> Window | None:
    """The due day where the plan names it, else the days about it."""
    line = due.line
    if line.pinned and doers.keeper[due.day]:
        return Window(first=due.day, last=due.day)
    late = line.flex_days if line.tolerated_days is None else min(line.flex_days, int(line.tolerated_days))
    earliest = max(0, due.day - line.flex_days if due.earliest is None else due.earliest)
    latest = min(days - 1, due.day + late if due.latest is None else due.latest)
    first, last = doers.after[earliest], doers.before[latest]
    if first <= last:
        return (
            _nearest(due.day, first=first, last=last, doers=doers)
            if line.pinned
            else Window(first=first, last=last)
        )
    for day in sorted(range(earliest, latest + 1), key=lambda each: (abs(each - due.day), each)):
        helper = _helper_on(day, line=line, doers=doers, used=used)
        if helper:
            return Window(first=day, last=day, by=helper)
    return None


def _nearest(day: int, *, first: int, last: int, doers: Doers) -> Window:
    """The keeper's day closest to a named day, the later of two."""
    able = [each for each in range(first, last + 1) if doers.keeper[each]]
    best = min(able, key=lambda each: (abs(each - day), -each))
    return Window(first=best, last=best)


def _later(
    due: Due, *, doers: Doers, days: int, used: Mapping[tuple[str, int], float]
) -> Window | Visit | None:
    """The first day on which anybody can, within what the chore tolerates."""
    tolerated = due.line.tolerated_days if due.line.tolerated_days is not None else due.line.flex_days
    latest = due.day + int(tolerated) if due.latest is None else due.latest
    for day in range(due.day, min(latest, days - 1) + 1):
        if doers.keeper[day]:
            return Window(first=day, last=day)
        helper = _helper_on(day, line=due.line, doers=doers, used=used)
        if helper:
            return Window(first=day, last=day, by=helper)
    ends = days if doers.helpers else min(days, doers.stop_day)
    return PAST_END if latest >= ends else None


def _earlier(due: Due, *, doers: Doers, days: int) -> Window | None:
    """The keeper's last day before, if the gap until the next chance is one that the task bears."""
    line = due.line
    if not line.repeats or line.tolerated_days is None or due.latest is not None:
        return None
    before, following = doers.before[due.day], doers.after[due.day]
    borne = before >= 0 and due.day - before < line.interval_d
    if borne and following < days and following - before <= line.interval_d + line.tolerated_days:
        return Window(first=before, last=before)
    return None


def _helper_on(day: int, *, line: Line, doers: Doers, used: Mapping[tuple[str, int], float]) -> str:
    """Name of a helper who is there, can do it and has the minutes; empty for none."""
    for helper, able in doers.helpers:
        if not able[day]:
            continue
        limit = helper.visit_minutes
        if (
            limit is None
            or used.get((helper.name, day), 0.0) + line.load_minutes + line.setup_minutes <= limit
        ):
            return helper.name
    return ""
