from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
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


NIGHTS = """\
start_on = {start_on}
[tank]
display = "300 L"
[keeper]
time_zone = "Europe/London"
presence = ["Mon-Sun {hours}"]
[[upkeep]]
id = "long"
task = "wc_do"
every = "day"
share = "5 %"
minutes = "90 min"
[goals]
horizon = "{horizon}"
"""


def nights(start_on: str, hours: str, horizon: str) -> dict[str, Any]:
    plan = plan_of(NIGHTS.format(start_on=start_on, hours=hours, horizon=horizon))
    return read_back(calendar_text(plan, lay_out(plan, catalogue()), catalogue()))


def test_work_over_new_year_and_on_the_leap_day_is_there() -> None:
    events = nights("2027-12-20", "23:00-23:59", "0.25 years")
    silvester = events["long.wc_do.2027-12-31@backreef"]
    assert silvester.dtstart.value.date() == date(2027, 12, 31)
    assert silvester.dtend.value.date() == date(2028, 1, 1)
    leap = events["long.wc_do.2028-02-29@backreef"]
    assert leap.dtstart.value.date() == date(2028, 2, 29)
    assert leap.dtend.value.date() == date(2028, 3, 1)
    assert "long.wc_do.2028-02-30@backreef" not in events


@pytest.mark.parametrize(
    ("on", "start", "end"),
    [
        # 28 March 2027: at 1:00 the clocks go to 2:00, so 1:00 is 2:00; 31 October: at 2:00 they go to 1:00
        ("2027-03-27", "2027-03-27T01:00:00+00:00", "2027-03-27T02:30:00+00:00"),
        ("2027-03-28", "2027-03-28T01:00:00+00:00", "2027-03-28T02:30:00+00:00"),
        ("2027-03-29", "2027-03-29T00:00:00+00:00", "2027-03-29T01:30:00+00:00"),
        ("2027-10-31", "2027-10-31T00:00:00+00:00", "2027-10-31T01:30:00+00:00"),
        ("2027-11-01", "2027-11-01T01:00:00+00:00", "2027-11-01T02:30:00+00:00"),
    ],
)
def test_work_in_the_night_of_the_clocks_takes_as_long_as_on_any_other(on: str, start: str, end: str) -> None:
    (begun,) = nights_of_the_clocks().walk("VEVENT", lambda each: each["UID"] == f"long.wc_do.{on}@backreef")
    assert begun.start.astimezone(UTC).isoformat() == start
    assert begun.end.astimezone(UTC).isoformat() == end


@cache
def nights_of_the_clocks() -> Any:
    plan = plan_of(NIGHTS.format(start_on="2027-03-01", hours="1:00-3:00", horizon="0.8 years"))
    return Calendar.from_ical(calendar_text(plan, lay_out(plan, catalogue()), catalogue()))


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
