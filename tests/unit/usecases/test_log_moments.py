from datetime import datetime, timedelta, timezone

import pytest

from backreef.usecases.log_moments import NoMoment, read_moment

ZONE = timezone(timedelta(hours=1))
NOW = datetime(2027, 3, 3, 14, 30, tzinfo=ZONE)  # a Wednesday


def localise(clock: datetime) -> datetime:
    return clock.replace(tzinfo=ZONE)


@pytest.mark.parametrize(
    ("text", "at", "whole_day"),
    [
        ("now", "2027-03-03 14:30", False),
        ("8:15", "2027-03-03 08:15", False),
        ("today 8.15", "2027-03-03 08:15", False),
        ("yesterday", "2027-03-02 12:00", True),
        ("yesterday 18:30", "2027-03-02 18:30", False),
        ("Tue", "2027-03-02 12:00", True),
        ("Wed 9:00", "2027-03-03 09:00", False),
        ("Thursday 9:00", "2027-02-25 09:00", False),
        ("2 hours ago", "2027-03-03 12:30", False),
        ("an hour ago", "2027-03-03 13:30", False),
        ("3 days ago", "2027-02-28 14:30", False),
        ("2027-03-01", "2027-03-01 12:00", True),
        ("2027-3-1 7:05", "2027-03-01 07:05", False),
        ("2027-03-01T07:05", "2027-03-01 07:05", False),
        ("2027-03-01 07:05+00:00", "2027-03-01 08:05", False),
    ],
)
def test_it_reads_a_moment(text: str, at: str, whole_day: bool) -> None:
    found = read_moment(text, NOW, localise)
    assert found.at.astimezone(ZONE).strftime("%Y-%m-%d %H:%M") == at
    assert found.whole_day == whole_day


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("16:00", "lies in the future"),
        ("Wed 23:00", "lies in the future"),
        ("2027-03-04", "lies in the future"),
        ("1969-01-01", "is before 1970"),
        ("2027-02-30", "no such day"),
        ("2027-13-01 8:00", "no such day"),
        ("25:00", "is no moment"),
        ("tomorrow", "is no moment"),
        ("some time ago", "is no moment"),
        ("99999999999 years ago", "is no moment"),
        ("2027-03-01 lunch", "is no moment"),
        ("0001-01-01", "calendars|is before 1970"),
    ],
)
def test_it_refuses_what_is_no_moment(text: str, words: str) -> None:
    with pytest.raises(NoMoment, match=words):
        read_moment(text, NOW, localise)


def test_today_is_a_day_that_has_not_ended() -> None:
    early = NOW.replace(hour=7)
    assert read_moment("today", early, localise).whole_day
