from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from backreef.aquarium.closures import read_closures
from backreef.aquarium.load import load_plan
from backreef.aquarium.phrases import Unreadable
from tests.unit.aquarium.plans import SHORTEST, catalogue


def event(*lines: str) -> str:
    return "\r\n".join(["BEGIN:VEVENT", *lines, "END:VEVENT", ""])


def calendar(tmp_path: Path, *events: str) -> str:
    (tmp_path / "closures.ics").write_text(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\n" + "".join(events) + "END:VCALENDAR\r\n",
        encoding="utf-8",
        newline="",
    )
    return str(tmp_path / "plan.toml")


def test_it_reads_all_day_events_with_their_exclusive_end(tmp_path: Path) -> None:
    # RFC 5545, 3.6.1: DTEND of an all-day event is the day after its last
    plan_file = calendar(
        tmp_path,
        event("DTSTART;VALUE=DATE:20270802", "DTEND;VALUE=DATE:20270816", "SUMMARY:Summer\\, all", "  of it"),
        event("DTSTART;VALUE=DATE:20270503", "SUMMARY:One day"),
    )
    summer, single = read_closures("closures.ics", plan_file=plan_file)
    assert (summer.first_on, summer.last_on) == (date(2027, 8, 2), date(2027, 8, 15))
    assert summer.label == "Summer, all of it"
    assert (single.first_on, single.last_on) == (date(2027, 5, 3), date(2027, 5, 3))


def test_it_reads_what_comes_every_year(tmp_path: Path) -> None:
    plan_file = calendar(
        tmp_path,
        event(
            "DTSTART;VALUE=DATE:20261224",
            "DTEND;VALUE=DATE:20270103",
            "RRULE:FREQ=YEARLY",
            "SUMMARY:Year's end",
        ),
    )
    (rule,) = read_closures("closures.ics", plan_file=plan_file)
    assert (rule.kind, rule.first_month, rule.first_day, rule.last_month, rule.last_day) == (
        "yearly",
        12,
        24,
        1,
        2,
    )


def test_it_passes_over_meetings_and_what_was_called_off(tmp_path: Path) -> None:
    plan_file = calendar(
        tmp_path,
        event("DTSTART:20270802T090000Z", "DTEND:20270802T100000Z", "SUMMARY:Meeting"),
        event("DTSTART;VALUE=DATE:20270901", "STATUS:CANCELLED"),
        event("DTSTART;VALUE=DATE:20271001"),
    )
    assert [rule.first_on for rule in read_closures("closures.ics", plan_file=plan_file)] == [
        date(2027, 10, 1)
    ]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (("DTSTART;VALUE=DATE:20270802", "RRULE:FREQ=WEEKLY;BYDAY=MO"), "repeats by FREQ=WEEKLY"),
        (("DTSTART:20270802T090000Z",), "holds no all-day event"),
        (("DTSTART;VALUE=DATE:20270231",), "holds no all-day event"),
    ],
)
def test_it_refuses_what_it_would_only_half_understand(
    tmp_path: Path, lines: tuple[str, ...], said: str
) -> None:
    plan_file = calendar(tmp_path, event(*lines))
    with pytest.raises(Unreadable, match=said):
        read_closures("closures.ics", plan_file=plan_file)


def test_it_closes_the_days_of_a_plan(tmp_path: Path) -> None:
    plan_file = calendar(tmp_path, event("DTSTART;VALUE=DATE:20270802", "DTEND;VALUE=DATE:20270816"))
    Path(plan_file).write_text(
        SHORTEST + '[keeper]\nclosed = [{ weekday = "Mon" }, { calendar = "closures.ics" }]\n',
        encoding="utf-8",
    )
    plan = load_plan(plan_file, catalogue())
    assert [rule.kind for rule in plan.keeper.closed] == ["weekday", "dates"]
