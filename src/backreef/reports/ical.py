"""The work of a plan as a calendar file (RFC 5545): each chore, each gate, and what nobody is there to do.

Ids stay the same while the plan's entries and their due days do, so that a calendar that is imported again
moves its events and does not double them. Nothing here reads the clock: the stamp is the plan's first day.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from backreef import __version__
from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.build import Schedule
from backreef.schedule.chores import Chore
from backreef.schedule.people import KEEPER

if TYPE_CHECKING:
    from icalendar import Calendar, Event

DOMAIN = "backreef"
GATE_AHEAD = timedelta(days=7)
"""A gate is looked at a week before, while there is time to call the arrival off."""
LEAST_MINUTES = 1.0
Person = tuple[int, str]
"""A day and who comes."""


def calendar_text(plan: Plan, schedule: Schedule, catalogue: Catalogue) -> str:
    """The calendar of everything that people do, in order of days."""
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", f"-//backreef//{__version__}//EN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", plan.name)
    for event in _events(plan, schedule, catalogue):
        event.add("dtstamp", datetime.combine(plan.start_on, time(), tzinfo=UTC))
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    _add_zones(calendar, plan)
    return str(calendar.to_ical(), "utf-8")


def _add_zones(calendar: Calendar, plan: Plan) -> None:
    """The rules of the time zone that the events are written in, over the plan's days."""
    if plan.keeper.time_zone is not None:
        last_on = plan.start_on + timedelta(days=plan.horizon_days + 1)
        calendar.add_missing_timezones(plan.start_on - timedelta(days=1), last_on)


def _events(plan: Plan, schedule: Schedule, catalogue: Catalogue) -> Iterator[Event]:
    visits: dict[Person, list[Chore]] = defaultdict(list)
    for chore in schedule.chores:
        if chore.look or chore.merged_into is not None:
            continue
        if chore.done_day is None:
            yield _undone(chore, schedule)
        elif chore.by == KEEPER or any(chore.by == each.name for each in schedule.presence.helpers):
            visits[chore.done_day, chore.by].append(chore)
    for (day, by), chores in sorted(visits.items()):
        yield from _visit(chores, on=schedule.presence.on(day), by=by, plan=plan)
    for entry in plan.animals:
        if entry.arrives_on is not None:
            yield _gate(entry, entry.arrives_on, catalogue)


def _visit(chores: Sequence[Chore], *, on: date, by: str, plan: Plan) -> Iterator[Event]:
    """The chores of one person's day, one after the other; each beginning calls once."""
    zone = None if plan.keeper.time_zone is None else ZoneInfo(plan.keeper.time_zone)
    until: datetime | None = None
    for chore in sorted(chores, key=lambda each: (each.hour, each.id)):
        wanted = _later(datetime.combine(on, time(), tzinfo=zone) + timedelta(hours=chore.hour), timedelta())
        begins = until is None or _moment(wanted) >= _moment(until)
        start = wanted if until is None or begins else until
        until = _later(
            start, timedelta(minutes=max(LEAST_MINUTES, round(chore.minutes + chore.setup_minutes)))
        )
        event = _event(chore.id, _summary(chore))
        event.add("dtstart", _written(start))
        event.add("dtend", _written(until))
        event.add("description", _chore_words(chore, by))
        event.add("categories", [plan.keeper.name if by == KEEPER else by])
        if begins:
            _call(event, timedelta(), chore.name)
        yield event


def _moment(at: datetime) -> datetime:
    """To compare by: an hour of the wall may come twice or not at all when the clocks change."""
    return at if at.tzinfo is None else at.astimezone(UTC)


def _written(at: datetime) -> datetime:
    """As a calendar can say it: an hour that comes twice means the first, so the second is told in UTC."""
    return at if at.fold == 0 else at.astimezone(UTC)


def _later(at: datetime, by: timedelta) -> datetime:
    """So much later by a stop watch; an hour that the clocks leave out is the one after it."""
    return at + by if at.tzinfo is None else (at.astimezone(UTC) + by).astimezone(at.tzinfo)


def _summary(chore: Chore) -> str:
    return chore.name if chore.condition is None else f"{chore.name}, if {chore.condition.text}"


def _chore_words(chore: Chore, by: str) -> str:
    low, high = (round(each + chore.setup_minutes) for each in (chore.minutes_low, chore.minutes_high))
    length = f"{low} to {high}" if low < high else f"{high}"
    who = "the keeper" if by == KEEPER else f"the {by}"
    return f"About {length} minutes, by {who}. From '{chore.entry_id}' of the plan."


def _undone(chore: Chore, schedule: Schedule) -> Event:
    """A chore that falls where nobody is, as a note of the whole day."""
    event = _event(chore.id, f"Nobody is there for: {_summary(chore)}")
    _whole_day(event, schedule.presence.on(max(0, chore.due_day)))
    event.add("description", f"It cannot wait until somebody comes. From '{chore.entry_id}' of the plan.")
    return event


def _gate(entry: AnimalEntry, on: date, catalogue: Catalogue) -> Event:
    name = catalogue.species[entry.species].common_name
    event = _event(f"gate.{entry.id}", f"{entry.count} x {name} may come")
    _whole_day(event, on)
    conditions = f"Only if: {entry.gate}." if entry.gate else "The plan sets no condition."
    event.add("description", f"{conditions} Otherwise let them wait.")
    _call(event, -GATE_AHEAD, f"Look and test before {name} come")
    return event


def _whole_day(event: Event, on: date) -> None:
    event.add("dtstart", on)
    event.add("dtend", on + timedelta(days=1))


def _event(name: str, summary: str) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", f"{name}@{DOMAIN}")
    event.add("summary", summary)
    return event


def _call(event: Event, ahead: timedelta, words: str) -> None:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", ahead)
    alarm.add("description", words)
    event.add_component(alarm)
