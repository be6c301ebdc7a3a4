from datetime import date

import numpy as np
import pytest

from backreef.aquarium.plan import ClosedRule, PresenceWindow
from backreef.schedule.calendars import UnknownCalendar
from backreef.schedule.presence import NOBODY
from tests.unit.schedule.world import (
    MONDAY,
    WORKDAYS,
    a_helper,
    away_yearly,
    closed_on,
    presence_of,
    windows,
)


def holidays_in(country: str, region: str | None = None, label: str = "public holiday") -> ClosedRule:
    return ClosedRule(kind="public_holidays", label=label, country=country, region=region)


def test_it_follows_the_weekdays() -> None:
    there = presence_of(presence=windows(1, 3, start=9.0, end=17.0), days=14)
    assert np.flatnonzero(there.present).tolist() == [1, 3, 8, 10]
    assert there.from_hour[1] == 9.0
    assert there.to_hour[3] == 17.0
    assert there.from_hour[0] == NOBODY
    assert there.reason[0] == "not there on Mondays"
    assert there.reason[1] == ""


def test_it_keeps_windows_of_one_day_apart_and_joins_those_that_touch() -> None:
    morning, noon, evening = ((7.0, 8.0), (8.0, 9.0), (17.0, 22.0))
    both = tuple(
        PresenceWindow(weekday=0, from_hour=start, to_hour=end) for start, end in (evening, morning, noon)
    )
    there = presence_of(presence=both, days=7)
    assert there.hours(0) == ((7.0, 9.0), (17.0, 22.0))
    assert (there.from_hour[0], there.to_hour[0]) == (7.0, 22.0)
    assert there.hours(1) == ()


def test_it_leaves_out_closed_dates_and_names_the_stretch() -> None:
    there = presence_of(closed=(closed_on(date(2027, 2, 1), date(2027, 2, 14), "two weeks off"),))
    assert there.present.sum() == 365 - 14
    assert [(stretch.first_on, stretch.last_on, stretch.days, stretch.label) for stretch in there.away] == [
        (date(2027, 2, 1), date(2027, 2, 14), 14, "two weeks off")
    ]


def test_it_joins_a_closure_with_the_weekend_about_it() -> None:
    there = presence_of(
        presence=windows(*WORKDAYS),
        closed=(closed_on(date(2027, 2, 1), date(2027, 2, 5), "half term"),),
        days=60,
    )
    longest = max(there.away, key=lambda stretch: stretch.days)
    assert (longest.first_on, longest.last_on, longest.label) == (
        date(2027, 1, 30),
        date(2027, 2, 7),
        "half term",
    )
    assert there.ordinary_gap_days == 2


def test_it_lists_single_days_among_absences_but_not_as_away() -> None:
    there = presence_of(presence=windows(0, 1, 2, 3, 4, 5), days=14)
    assert [stretch.days for stretch in there.absences] == [1, 1]
    assert there.away == ()
    assert there.absences[0].label == "not there on Sundays"


def test_it_closes_a_weekday_by_rule() -> None:
    rule = ClosedRule(kind="weekday", label="", weekday=6)
    there = presence_of(closed=(rule,), days=14)
    assert np.flatnonzero(~there.present).tolist() == [6, 13]
    assert there.reason[6] == "closed on Sundays"


@pytest.mark.parametrize(
    ("first", "last", "year", "absent"),
    [
        ((12, 23), (1, 2), 2027, 11),
        ((2, 20), (2, 29), 2027, 9),
        ((2, 20), (2, 29), 2028, 10),
        ((2, 29), (2, 29), 2027, 0),
        ((2, 29), (2, 29), 2028, 1),
        ((2, 29), (3, 2), 2027, 2),
        ((2, 29), (3, 2), 2028, 3),
    ],
)
def test_it_repeats_each_year_over_new_year_and_leap_days(
    first: tuple[int, int], last: tuple[int, int], year: int, absent: int
) -> None:
    there = presence_of(closed=(away_yearly(first, last),), start_on=date(year, 2, 1), days=365)
    assert int((~there.present).sum()) == absent


def test_it_knows_the_holidays_of_a_part_of_a_country() -> None:
    # Scotland keeps 2 January and Saint Andrew's Day, England keeps Easter Monday (gov.uk, bank holidays).
    england, scotland = (
        presence_of(closed=(holidays_in("GB", region),), start_on=date(2027, 1, 1))
        for region in ("ENG", "SCT")
    )
    easter_monday = (date(2027, 3, 29) - date(2027, 1, 1)).days
    andrew = (date(2027, 11, 30) - date(2027, 1, 1)).days
    assert not england.present[easter_monday]
    assert scotland.present[easter_monday]
    assert england.present[andrew]
    assert not scotland.present[andrew]
    assert england.reason[easter_monday] == "public holiday: Easter Monday"


def test_it_names_several_holidays_of_one_stretch_once() -> None:
    there = presence_of(presence=windows(*WORKDAYS), closed=(holidays_in("DE", "NW"),))
    easter = next(stretch for stretch in there.away if stretch.first_on == date(2027, 3, 26))
    assert (easter.days, easter.label) == (4, "public holiday: Good Friday, Easter Monday")


@pytest.mark.parametrize(("country", "region"), [("XX", None), ("DE", "QQ"), (None, None)])
def test_it_says_which_calendar_is_unknown(country: str | None, region: str | None) -> None:
    rule = ClosedRule(kind="public_holidays", label="", country=country, region=region)
    with pytest.raises(UnknownCalendar, match=country or "no country"):
        presence_of(closed=(rule,))


def test_it_prefers_the_keepers_own_word_for_a_day() -> None:
    own = closed_on(date(2027, 12, 25), date(2027, 12, 25), "at the lake")
    there = presence_of(presence=windows(*WORKDAYS), closed=(holidays_in("DE"), own))
    assert there.reason[(date(2027, 12, 25) - MONDAY).days] == "at the lake"


def test_it_keeps_helpers_apart() -> None:
    closed = (closed_on(date(2027, 1, 11), date(2027, 1, 17)),)
    fridays = a_helper("one", weekdays=(4,), when_closed=False)
    always = a_helper("two", weekdays=(4,), when_closed=True)
    there = presence_of(closed=closed, helpers=(fridays, always), days=21)
    assert np.flatnonzero(there.helpers[0].present).tolist() == [4, 18]
    assert np.flatnonzero(there.helpers[1].present).tolist() == [4, 11, 18]
    assert not there.present[11]


def test_it_is_never_there_without_a_day_of_presence() -> None:
    there = presence_of(presence=(), days=30)
    assert not there.present.any()
    assert [stretch.days for stretch in there.away] == [30]
    assert there.ordinary_gap_days == 7


@pytest.mark.parametrize(
    ("at_hour", "until_hour", "asked", "given"),
    [
        (None, None, 9.0, None),
        (16.0, None, 9.0, 16.0),
        (16.0, None, None, 16.0),
        (16.0, 18.0, None, 16.0),
        (16.0, 18.0, 9.0, 16.0),
        (16.0, 18.0, 17.5, 17.5),
        (16.0, 18.0, 21.0, 18.0),
    ],
)
def test_a_helper_does_a_thing_as_near_to_its_hour_as_their_stay_allows(
    at_hour: float | None, until_hour: float | None, asked: float | None, given: float | None
) -> None:
    there = presence_of(helpers=(a_helper(at_hour=at_hour, until_hour=until_hour),), days=7)
    assert there.helpers[0].hour_near(asked) == given
