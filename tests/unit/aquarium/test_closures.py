from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from backreef.aquarium.closures import Span, check_calendar, read_closures
from backreef.aquarium.load import load_plan
from backreef.aquarium.phrases import Unreadable, read_presence
from backreef.aquarium.plan import ClosedRule
from backreef.errors import InputFaults
from tests.unit.aquarium.plans import SHORTEST, catalogue

OPEN = (*read_presence("Tue-Fri 9:00-19:00"), *read_presence("Sat 9:00-15:00"))
YEARS = Span(first_on=date(2027, 1, 4), last_on=date(2030, 1, 3), presence=OPEN)
LONDON = Span(first_on=YEARS.first_on, last_on=YEARS.last_on, presence=OPEN, time_zone="Europe/London")
NEW_YORK_ZONE = """\
BEGIN:VTIMEZONE
TZID:America/New_York
BEGIN:STANDARD
DTSTART:20071104T020000
RRULE:FREQ=YEARLY;BYDAY=1SU;BYMONTH=11
TZOFFSETFROM:-0400
TZOFFSETTO:-0500
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:20070311T020000
RRULE:FREQ=YEARLY;BYDAY=2SU;BYMONTH=3
TZOFFSETFROM:-0500
TZOFFSETTO:-0400
END:DAYLIGHT
END:VTIMEZONE
""".replace("\n", "\r\n")


def event(*lines: str) -> str:
    return "\r\n".join(["BEGIN:VEVENT", *lines, "END:VEVENT", ""])


def calendar(tmp_path: Path, *events: str) -> str:
    (tmp_path / "closures.ics").write_text(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//tests//EN\r\n" + "".join(events) + "END:VCALENDAR\r\n",
        encoding="utf-8",
        newline="",
    )
    return str(tmp_path / "plan.toml")


def closed(tmp_path: Path, *events: str, span: Span = YEARS) -> list[ClosedRule]:
    return list(read_closures("closures.ics", plan_file=calendar(tmp_path, *events), span=span))


def stretches(tmp_path: Path, *events: str, span: Span = YEARS) -> list[tuple[str, str]]:
    return [(str(rule.first_on), str(rule.last_on)) for rule in closed(tmp_path, *events, span=span)]


def test_it_reads_all_day_events_with_their_exclusive_end(tmp_path: Path) -> None:
    # RFC 5545, 3.6.1: DTEND of an all-day event is the day after its last
    single, summer = closed(
        tmp_path,
        event("DTSTART;VALUE=DATE:20270802", "DTEND;VALUE=DATE:20270816", "SUMMARY:Summer\\, all", "  of it"),
        event("DTSTART;VALUE=DATE:20270503", "SUMMARY:One day"),
    )
    assert (summer.first_on, summer.last_on) == (date(2027, 8, 2), date(2027, 8, 15))
    assert summer.label == "Summer, all of it"
    assert (single.first_on, single.last_on) == (date(2027, 5, 3), date(2027, 5, 3))


def test_what_comes_every_year_runs_over_new_year_and_keeps_to_the_horizon(tmp_path: Path) -> None:
    yearly = event(
        "DTSTART;VALUE=DATE:20241224", "DTEND;VALUE=DATE:20250103", "RRULE:FREQ=YEARLY", "SUMMARY:Year's end"
    )
    assert stretches(tmp_path, yearly) == [
        ("2027-12-24", "2028-01-02"),
        ("2028-12-24", "2029-01-02"),
        ("2029-12-24", "2030-01-02"),
    ]


def test_a_leap_day_closes_only_years_that_have_it(tmp_path: Path) -> None:
    # RFC 5545, 3.3.10: invalid dates are ignored
    leap = event("DTSTART;VALUE=DATE:20240229", "RRULE:FREQ=YEARLY")
    assert stretches(tmp_path, leap) == [("2028-02-29", "2028-02-29")]


def test_an_exception_and_a_moved_occurrence_are_followed(tmp_path: Path) -> None:
    weekly = event(
        "UID:inset",
        "DTSTART;VALUE=DATE:20270107",
        "RRULE:FREQ=WEEKLY;COUNT=4",
        "EXDATE;VALUE=DATE:20270114",
    )
    moved = event("UID:inset", "RECURRENCE-ID;VALUE=DATE:20270121", "DTSTART;VALUE=DATE:20270122")
    assert stretches(tmp_path, weekly, moved) == [
        ("2027-01-07", "2027-01-07"),
        ("2027-01-22", "2027-01-22"),
        ("2027-01-28", "2027-01-28"),
    ]


def test_a_monthly_rule_with_a_weekday_and_an_end(tmp_path: Path) -> None:
    monthly = event(
        "DTSTART;VALUE=DATE:20270108", "RRULE:FREQ=MONTHLY;BYDAY=2FR;UNTIL=20270401", "SUMMARY:Training"
    )
    assert stretches(tmp_path, monthly) == [
        ("2027-01-08", "2027-01-08"),
        ("2027-02-12", "2027-02-12"),
        ("2027-03-12", "2027-03-12"),
    ]


def test_it_passes_over_meetings_and_what_was_called_off(tmp_path: Path) -> None:
    assert stretches(
        tmp_path,
        event("DTSTART:20270803T090000", "DTEND:20270803T100000", "SUMMARY:Meeting"),
        event("DTSTART;VALUE=DATE:20270901", "STATUS:CANCELLED"),
        event("DTSTART;VALUE=DATE:20271001"),
    ) == [("2027-10-01", "2027-10-01")]


def test_a_journey_closes_the_days_whose_hours_it_covers(tmp_path: Path) -> None:
    # leaves on Thursday at ten, when the library is open; comes back on Saturday after it has closed
    journey = event("DTSTART:20270805T100000", "DTEND:20270807T160000")
    assert stretches(tmp_path, journey) == [("2027-08-06", "2027-08-07")]


def test_a_time_in_utc_is_turned_into_the_time_of_the_place(tmp_path: Path) -> None:
    # summer time: 8:00 to 18:00 UTC is 9:00 to 19:00 in London, all of a Friday; in winter it is an hour less
    summer = event("DTSTART:20270806T080000Z", "DTEND:20270806T180000Z")
    winter = event("DTSTART:20271105T080000Z", "DTEND:20271105T180000Z")
    assert stretches(tmp_path, summer, winter, span=LONDON) == [("2027-08-06", "2027-08-06")]


def test_a_repeated_event_keeps_its_clock_over_the_change_of_the_clocks(tmp_path: Path) -> None:
    # nine to seven in London each Friday; the clocks go forward on 28 March 2027
    weekly = event(
        "DTSTART;TZID=Europe/London:20270319T090000",
        "DTEND;TZID=Europe/London:20270319T190000",
        "RRULE:FREQ=WEEKLY;COUNT=3",
    )
    expected = [(f"2027-{day}", f"2027-{day}") for day in ("03-19", "03-26", "04-02")]
    assert stretches(tmp_path, weekly, span=LONDON) == expected


def test_a_calendar_of_another_zone_is_read_in_the_zone_of_the_tank(tmp_path: Path) -> None:
    # 4:00 to 14:00 in New York is 9:00 to 19:00 in London on most days of the year
    there = event(
        "DTSTART;TZID=America/New_York:20270806T040000", "DTEND;TZID=America/New_York:20270806T140000"
    )
    assert stretches(tmp_path, NEW_YORK_ZONE, there, span=LONDON) == [("2027-08-06", "2027-08-06")]
    assert stretches(tmp_path, NEW_YORK_ZONE, there) == [], "on its own clock it leaves the evening free"


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (("DTSTART:20270802T090000Z",), "written in UTC.*keeper.time_zone"),
        (("DTSTART;VALUE=DATE:20270231",), "DTSTART that cannot be read"),
        (("DTSTART;VALUE=DATE:20270201", "RRULE:FREQ=SOMETIMES"), "RRULE that cannot be read"),
        (("SUMMARY:Away",), "'Away' says no day"),
    ],
)
def test_it_refuses_what_it_would_only_half_understand(
    tmp_path: Path, lines: tuple[str, ...], said: str
) -> None:
    plan_file = calendar(tmp_path, event(*lines))
    with pytest.raises(Unreadable, match=said):
        check_calendar("closures.ics", plan_file=plan_file, time_zone=None)


def test_it_refuses_a_file_that_is_no_calendar_or_an_empty_one(tmp_path: Path) -> None:
    plan_file = calendar(tmp_path)
    with pytest.raises(Unreadable, match="holds no event"):
        check_calendar("closures.ics", plan_file=plan_file, time_zone=None)
    (tmp_path / "closures.ics").write_text("away: summer\n", encoding="utf-8")
    with pytest.raises(Unreadable, match="is no calendar file"):
        check_calendar("closures.ics", plan_file=plan_file, time_zone=None)


def test_it_closes_the_days_of_a_plan(tmp_path: Path) -> None:
    plan_file = calendar(tmp_path, event("DTSTART;VALUE=DATE:20270802", "DTEND;VALUE=DATE:20270816"))
    Path(plan_file).write_text(
        SHORTEST + '[keeper]\nclosed = [{ weekday = "Mon" }, { calendar = "closures.ics" }]\n',
        encoding="utf-8",
    )
    plan = load_plan(plan_file, catalogue())
    assert [rule.kind for rule in plan.keeper.closed] == ["weekday", "dates"]


def test_an_unknown_time_zone_is_a_fault_with_its_line(tmp_path: Path) -> None:
    plan_file = tmp_path / "plan.toml"
    plan_file.write_text(SHORTEST + '[keeper]\ntime_zone = "Europe/Atlantis"\n', encoding="utf-8")
    with pytest.raises(InputFaults) as refused:
        load_plan(str(plan_file), catalogue())
    (fault,) = refused.value.faults
    assert (fault.line, fault.key) == (5, "keeper.time_zone")
    assert "is no time zone" in fault.message
