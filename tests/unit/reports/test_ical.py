from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import cache
from itertools import pairwise
from typing import Any

import recurring_ical_events
import vobject
from icalendar import Calendar

from backreef.aquarium.plan import Plan
from backreef.reports.ical import calendar_text
from backreef.schedule.build import Schedule
from backreef.usecases.work import lay_out
from tests.unit.aquarium.plans import SHORTEST, catalogue, plan_of

WORK = """
[[animals]]
id = "pair"
species = "ocellaris_clown"
count = 2
arrives_on = 2027-03-09
gate = "nitrate < 25 mg/L NO3"

[[upkeep]]
id = "look_at_it"
task = "test_quick"
every = "week on Tuesday"
minutes = "12 min"

[[upkeep]]
id = "change_if_needed"
task = "wc_do"
share = "10 %"
every = "4 weeks on Tuesday"
minutes = "30 min"
when = "nitrate > 20 mg/L NO3 at the last test"

[[devices]]
kind = "ato"
plumbed = true

[goals]
horizon = "1.2 years"
"""
KEEPER = '[keeper]\nname = "reader"\ntime_zone = "Europe/London"\npresence = ["Mon-Sun 8:00-20:00"]\n'


@cache
def laid_out(keeper: str = KEEPER) -> tuple[Plan, Schedule]:
    plan = plan_of(SHORTEST + keeper + WORK)
    return plan, lay_out(plan, catalogue())


@cache
def written(keeper: str = KEEPER) -> str:
    return calendar_text(*laid_out(keeper), catalogue())


def read_back(text: str) -> dict[str, Any]:
    """The events as a library reads them that did not write them."""
    events = vobject.readOne(text).vevent_list
    return {str(event.uid.value): event for event in events}


def test_every_chore_of_people_is_an_event_with_its_id_and_its_minutes() -> None:
    _, schedule = laid_out()
    wanted = {
        f"{chore.id}@backreef": chore
        for chore in schedule.chores
        if not chore.look and chore.merged_into is None and chore.by == "keeper"
    }
    events = {uid: event for uid, event in read_back(written()).items() if not uid.startswith("gate.")}
    assert set(events) == set(wanted)
    for uid, event in events.items():
        chore = wanted[uid]
        assert event.dtstart.value.date() == schedule.presence.on(chore.done_day or 0)
        length = event.dtend.value - event.dtstart.value
        assert length == timedelta(minutes=max(1, round(chore.minutes + chore.setup_minutes)))


def test_chores_of_a_visit_follow_one_another_and_only_the_first_calls() -> None:
    days: dict[date, list[Any]] = {}
    for uid, event in read_back(written()).items():
        if not uid.startswith("gate."):
            days.setdefault(event.dtstart.value.date(), []).append(event)
    shared = [
        sorted(events, key=lambda each: each.dtstart.value) for events in days.values() if len(events) > 1
    ]
    assert shared
    for events in shared:
        for before, after in pairwise(events):
            assert after.dtstart.value >= before.dtend.value
            if after.dtstart.value == before.dtend.value:
                assert not hasattr(after, "valarm")
        assert hasattr(events[0], "valarm")


def test_the_clock_on_the_wall_stays_when_the_clocks_change() -> None:
    # in London they go forward on 28 March 2027 and back on 31 October 2027
    events = read_back(written())
    for day, offset in (("2027-03-23", 0), ("2027-03-30", 1), ("2027-10-26", 1), ("2027-11-02", 0)):
        start = events[f"look_at_it.test_quick.{day}@backreef"].dtstart.value
        assert (start.hour, start.utcoffset()) == (8, timedelta(hours=offset))


def test_a_gate_calls_a_week_ahead_and_says_what_must_be_true() -> None:
    gate = read_back(written())["gate.pair@backreef"]
    assert gate.dtstart.value == date(2027, 3, 9)
    assert "nitrate < 25 mg/L NO3" in gate.description.value
    assert gate.valarm.trigger.value == timedelta(days=-7)


def test_a_condition_stands_in_the_name() -> None:
    events = read_back(written())
    names = {event.summary.value for uid, event in events.items() if uid.startswith("change_if_needed.wc_do")}
    assert all(name.endswith(", if nitrate > 20 mg/L NO3 at the last test") for name in names)
    assert names


def test_another_budget_moves_events_but_leaves_their_ids() -> None:
    other = KEEPER + "minutes_per_month = 20\n"
    assert read_back(written(other)).keys() == read_back(written()).keys()


def test_what_nobody_is_there_for_is_noted_on_its_day() -> None:
    mondays = '[keeper]\npresence = ["Mon 8:00-9:00"]\n'
    plan = plan_of(SHORTEST + mondays + '[goals]\nhorizon = "0.1 years"\n')
    events = read_back(calendar_text(plan, lay_out(plan, catalogue()), catalogue()))
    undone = [event for event in events.values() if event.summary.value.startswith("Nobody is there for: ")]
    assert undone
    assert not any(isinstance(event.dtstart.value, datetime) for event in undone)


def test_without_a_time_zone_hours_are_those_of_the_wall() -> None:
    text = written('[keeper]\npresence = ["Mon-Sun 8:00-20:00"]\n')
    start = read_back(text)["look_at_it.test_quick.2027-03-30@backreef"].dtstart.value
    assert (start.tzinfo, start.hour) == (None, 8)


def test_it_keeps_the_rules_of_the_format() -> None:
    text = written()
    assert text.endswith("END:VCALENDAR\r\n")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    found = recurring_ical_events.of(Calendar.from_ical(text)).between(date(2027, 1, 4), date(2028, 6, 1))
    assert len(found) == len(read_back(text)), "nothing repeats, nothing is lost"


def test_the_same_plan_gives_the_same_file() -> None:
    assert calendar_text(*laid_out(), catalogue()) == written()
