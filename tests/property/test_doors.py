"""Whatever comes in through any door is taken, or refused in words: no failure, no hang."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given

from tests.doors import Door, TooLong, ask, doors, in_time, trouble_with
from tests.searching import bounded, tries
from tests.thrown import ODD, spoiled

DOORS = doors()
SEARCH = tries(12, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
"""An eighth of what other searches try, for there are many doors."""


@pytest.mark.parametrize("name", [name for name in DOORS if name != "kept answer"])  # its seed is a stump
def test_it_takes_what_people_send(name: str, tmp_path: Path) -> None:
    door = DOORS[name]
    assert [said for seed in door.seeds[:1] for said in ask(door, seed, tmp_path)] == []


@pytest.mark.parametrize("door", DOORS.values(), ids=DOORS.keys())
def test_it_survives_odd_pieces(door: Door, tmp_path: Path) -> None:
    middle = len(door.seeds[0]) // 2
    for odd in ODD:
        ask(door, door.seeds[0][:middle] + odd + door.seeds[0][middle:], tmp_path)


@pytest.mark.parametrize("door", DOORS.values(), ids=DOORS.keys())
def test_it_survives_spoiled_files(door: Door, tmp_path: Path) -> None:
    @given(sent=spoiled(door))
    @SEARCH
    def survives(sent: bytes) -> None:
        ask(door, sent, tmp_path)

    with bounded(survives):
        survives()


@pytest.mark.parametrize(
    "message",
    [
        "",
        "no",
        "Traceback (most recent call last)",
        "it fails with KeyError",
        "the parser found <class 'dict'> in it",
        "letters without end: " + "ab " * 1000,
    ],
)
def test_a_message_that_nobody_should_be_told_is_noticed(message: str) -> None:
    assert trouble_with(message)


def test_an_endless_loop_is_noticed() -> None:
    def endless() -> None:
        while True:
            pass

    with pytest.raises(TooLong), in_time(0.05):
        endless()


CALENDAR_RULES = {
    "every second": "RRULE:FREQ=SECONDLY",
    "never": "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
    "backwards": "RRULE:FREQ=DAILY;INTERVAL=-1",
    "for centuries": "DTEND;VALUE=DATE:99991231",
    "years every day": "RRULE:FREQ=DAILY\nDURATION:P9999D",
    "without a measure": "RRULE:COUNT=5",
    "begins twice": "DTSTART;VALUE=DATE:20270401",
    "ends twice": "DTEND;VALUE=DATE:20270401\nDTEND;VALUE=DATE:20270402",
    "counts down": "RRULE:FREQ=DAILY;COUNT=-5",
    "odd places": "RRULE:FREQ=YEARLY;BYDAY=MO;BYSETPOS=400",
    "a kind in two parts": "DTSTAMP;VALUE=D,TE:20270301",
    "each minute of a day": "RRULE:FREQ=DAILY;BYHOUR=1,2,3;BYMINUTE=1,2,3",
}


@pytest.mark.parametrize("rule", CALENDAR_RULES.values(), ids=CALENDAR_RULES.keys())
def test_a_calendar_that_repeats_without_end_is_refused_at_once(rule: str, tmp_path: Path) -> None:
    event = f"BEGIN:VEVENT\nUID:1\nDTSTART;VALUE=DATE:20270301\nSUMMARY:x\n{rule}\nEND:VEVENT"
    sent = f"BEGIN:VCALENDAR\nVERSION:2.0\n{event}\nEND:VCALENDAR\n".encode()
    (said,) = ask(DOORS["calendar"], sent, tmp_path)
    assert "export" in said or "mend it there" in said


def test_a_calendar_of_very_many_repetitions_is_refused(tmp_path: Path) -> None:
    daily = "BEGIN:VEVENT\nUID:{}\nDTSTART;VALUE=DATE:20270301\nRRULE:FREQ=DAILY\nSUMMARY:x\nEND:VEVENT\n"
    events = "".join(daily.format(number) for number in range(40))
    sent = f"BEGIN:VCALENDAR\nVERSION:2.0\n{events}END:VCALENDAR\n".encode()
    (said,) = ask(DOORS["calendar"], sent, tmp_path)
    assert "10,000 events a year" in said
