"""Closed days from a calendar file (iCalendar, RFC 5545): what repeats is laid out over the plan's days.

An event of whole days closes them. One with hours closes a day if it covers all of the keeper's hours on
that day, so that a meeting closes nothing and a journey does. Repetitions, exceptions, moved occurrences
and time zones are the calendar libraries' work; which days are closed is decided here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from backreef.aquarium.calendar_rules import check_rules, name_of
from backreef.aquarium.document import read_text
from backreef.aquarium.phrases import Unreadable
from backreef.aquarium.plan import ClosedRule, PresenceWindow
from backreef.errors import InputFaults

if TYPE_CHECKING:
    from icalendar import Calendar

LIBRARY_FAILS = (ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError)
"""What the libraries raise at calendars that they cannot take."""
ONE_DAY = timedelta(days=1)
CALLED_OFF = "CANCELLED"
EVENT = "VEVENT"


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """The days over which a calendar is laid out, both included, and what a day of the keeper is."""

    first_on: date
    last_on: date
    presence: tuple[PresenceWindow, ...] = ()
    time_zone: str | None = None
    """IANA name of the place's time zone; None: times are taken as the calendar writes them."""


def check_calendar(calendar: str, *, plan_file: str, time_zone: str | None) -> None:
    """Refuse a calendar that cannot be read whole.

    Raises
    ------
    Unreadable
        With what is wrong and what to do.
    """
    content = _read(calendar, plan_file)
    events = content.walk(EVENT)
    if not events:
        raise Unreadable(f"'{calendar}' holds no event; closed days are events of a calendar")
    for event in events:
        _check_event(event, calendar, needs_zone=time_zone is None and "X-WR-TIMEZONE" not in content)
    check_rules(events, calendar)


def read_closures(calendar: str, *, plan_file: str, span: Span) -> tuple[ClosedRule, ...]:
    """The closed days of a calendar whose path is relative to the plan file, in order.

    Raises
    ------
    Unreadable
        With what is wrong and what to do.
    """
    check_calendar(calendar, plan_file=plan_file, time_zone=span.time_zone)
    content = _read(calendar, plan_file)
    zone = None if span.time_zone is None else ZoneInfo(span.time_zone)
    closed: set[tuple[str, date]] = set()
    for event in _laid_out(content, calendar, span):
        if str(event.get("STATUS", "")).upper() == CALLED_OFF:
            continue
        label = " ".join(str(event.get("SUMMARY", "")).split()) or "closed"
        for day in _days(event, span, zone):
            if span.first_on <= day <= span.last_on:
                closed.add((label, day))
    rules = (
        rule for label, days in groupby(sorted(closed), lambda pair: pair[0]) for rule in _runs(label, days)
    )
    return tuple(sorted(rules, key=lambda rule: (rule.first_on or date.min, rule.label)))


def _laid_out(content: Calendar, calendar: str, span: Span) -> Sequence[Any]:
    """Every occurrence; a day more on both ends, because a time zone may move an event into the span."""
    import recurring_ical_events

    try:
        query = recurring_ical_events.of(content)
        found: Sequence[Any] = query.between(span.first_on - ONE_DAY, span.last_on + 2 * ONE_DAY)
    except LIBRARY_FAILS as error:
        raise Unreadable(
            f"'{calendar}' repeats events in a way that cannot be laid out{_detail(error)}; export it anew"
        ) from None
    return found


def _read(calendar: str, plan_file: str) -> Calendar:
    from icalendar import Calendar

    path = Path(plan_file).parent / calendar
    try:
        text = read_text(path)
    except InputFaults as refused:
        raise Unreadable(f"'{calendar}' {refused.faults[0].message}") from None
    try:
        return Calendar.from_ical(text)
    except LIBRARY_FAILS as error:
        raise Unreadable(
            f"'{calendar}' is no calendar file{_detail(error)}; export it anew as iCalendar"
        ) from None


def _detail(error: Exception) -> str:
    """What a library says of a calendar, in brackets; nothing where it failed over its own parts."""
    words = " ".join(str(error).split())[:160]
    return f" ({words})" if isinstance(error, ValueError) and words else ""


def _check_event(event: Any, calendar: str, *, needs_zone: bool) -> None:  # noqa: ANN401  the library's type
    name = name_of(event)
    for key, message in event.errors:
        raise Unreadable(f"'{calendar}': '{name}' has a {key} that cannot be read ({message}); mend it there")
    if "DTSTART" not in event:
        raise Unreadable(f"'{calendar}': '{name}' says no day (no DTSTART); mend it there")
    start = getattr(event["DTSTART"], "dt", None)
    in_utc = isinstance(start, datetime) and start.utcoffset() == timedelta(0) and str(start.tzinfo) == "UTC"
    if in_utc and needs_zone:
        raise Unreadable(
            f"'{calendar}': '{name}' is written in UTC, so its day here is unknown; say where here is, as "
            'keeper.time_zone = "Europe/London"'
        )


def _days(event: Any, span: Span, zone: tzinfo | None) -> Iterator[date]:  # noqa: ANN401  the library's type
    """The days that one occurrence closes."""
    start, end = event.start, event.end
    before, after = span.first_on - ONE_DAY, span.last_on + ONE_DAY
    if not isinstance(start, datetime):
        last = max(start, end - ONE_DAY)
        yield from _each(max(start, before), min(last, after))
        return
    since, until = _here(start, zone), _here(end, zone)
    for day in _each(max(since.date(), before), min(until.date(), after)):
        hours = _hours(day, span.presence)
        if hours is not None and since <= hours[0] and until >= hours[1]:
            yield day


def _here(at: datetime, zone: tzinfo | None) -> datetime:
    """The clock on the wall of the place at that moment."""
    moved = at if zone is None or at.tzinfo is None else at.astimezone(zone)
    return moved.replace(tzinfo=None)


def _hours(day: date, presence: Sequence[PresenceWindow]) -> tuple[datetime, datetime] | None:
    """From when to when the keeper would be there; None on a weekday without them."""
    windows = [window for window in presence if window.weekday == day.weekday()]
    if not windows:
        return None
    midnight = datetime.combine(day, time())
    first, last = min(each.from_hour for each in windows), max(each.to_hour for each in windows)
    return midnight + timedelta(hours=first), midnight + timedelta(hours=last)


def _each(first: date, last: date) -> Iterator[date]:
    for step in range((last - first).days + 1):
        yield first + timedelta(days=step)


def _runs(label: str, days: Iterator[tuple[str, date]]) -> Iterator[ClosedRule]:
    """Days that follow each other as one rule."""
    first = last = None
    for _, day in days:
        if first is not None and last is not None and day - last > ONE_DAY:
            yield ClosedRule(kind="dates", label=label, first_on=first, last_on=last)
            first = None
        first, last = first or day, day
    if first is not None and last is not None:
        yield ClosedRule(kind="dates", label=label, first_on=first, last_on=last)
