from datetime import date, timedelta

import pytest

from backreef.aquarium.plan import Rhythm
from backreef.schedule.rhythm import add_months, due_days, interval_days, mean_interval_d
from tests.unit.schedule.world import MONDAY, every, monthly, weekly


def dates(rhythm: Rhythm, *, start_on: date = MONDAY, days: int = 365) -> list[date]:
    return [start_on + timedelta(days=day) for day in due_days(rhythm, start_on=start_on, days=days)]


def test_an_interval_falls_due_each_time_it_has_run_out() -> None:
    assert due_days(every(14), start_on=MONDAY, days=57) == [14, 28, 42, 56]


def test_a_fractional_interval_keeps_its_mean() -> None:
    assert due_days(every(2.5), start_on=MONDAY, days=11) == [3, 5, 8, 10]
    # 36 mean months are 1095.75 days: the last one falls on the day after three years.
    assert len(due_days(every(30.4375), start_on=MONDAY, days=1096)) == 35
    assert len(due_days(every(30.4375), start_on=MONDAY, days=1097)) == 36


def test_an_interval_shorter_than_a_day_is_daily() -> None:
    assert interval_days(0.25, days=4) == [1, 2, 3]


def test_a_week_counts_from_the_one_that_holds_the_first_day() -> None:
    thursday = date(2027, 1, 7)
    assert due_days(weekly(0, 4, weeks=2), start_on=thursday, days=21) == [1, 11, 15]


@pytest.mark.parametrize(
    "rhythm", [every(14), every(2.5), every(0.5), weekly(0, 4, weeks=3), monthly(1, months=2)]
)
@pytest.mark.parametrize("begun_d", [1, 182, 401])
def test_a_rhythm_goes_on_where_a_plan_is_taken_up_later(rhythm: Rhythm, begun_d: int) -> None:
    whole = due_days(rhythm, start_on=MONDAY, days=600)
    later = due_days(rhythm, start_on=MONDAY + timedelta(days=begun_d), days=600 - begun_d, begun_d=begun_d)
    assert [day + begun_d for day in later] == [day for day in whole if day >= begun_d]


def test_a_month_has_its_first_and_last_weekdays() -> None:
    assert dates(monthly(1), days=90) == [date(2027, 1, 5), date(2027, 2, 2), date(2027, 3, 2)]
    assert dates(monthly(4, nth=-1), days=90) == [date(2027, 1, 29), date(2027, 2, 26), date(2027, 3, 26)]


def test_a_fifth_weekday_is_left_out_where_the_month_has_none() -> None:
    fifth = dates(monthly(5, nth=5))
    assert [on.month for on in fifth] == [1, 5, 7, 10]
    assert all(on.weekday() == 5 and on.day > 28 for on in fifth)


def test_months_are_stepped_over_the_year_end() -> None:
    found = dates(monthly(0, months=5), start_on=date(2027, 11, 1), days=400)
    assert [(on.year, on.month) for on in found] == [(2027, 11), (2028, 4), (2028, 9)]


def test_a_month_without_weekdays_means_its_days() -> None:
    assert [on.day for on in dates(monthly(nth=31), start_on=date(2028, 1, 1), days=91)] == [31, 29, 31]
    assert [on.day for on in dates(monthly(nth=-1), start_on=date(2027, 1, 1), days=60)] == [31, 28]


@pytest.mark.parametrize(
    ("rhythm", "interval_d"),
    [(every(14), 14), (every(0.5), 1), (weekly(1, 4), 3.5), (weekly(3, weeks=6), 42), (monthly(1), 30.4375)],
)
def test_the_mean_interval_is_that_of_the_rhythm(rhythm: Rhythm, interval_d: float) -> None:
    assert mean_interval_d(rhythm) == pytest.approx(interval_d)


@pytest.mark.parametrize(
    ("on", "months", "then"),
    [
        (date(2027, 1, 31), 1, date(2027, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2027, 11, 15), 14, date(2029, 1, 15)),
        (date(2027, 1, 1), 1.5, date(2027, 2, 16)),
        (date(2027, 1, 1), 0, date(2027, 1, 1)),
    ],
)
def test_months_later_is_the_same_day_of_the_month_where_there_is_one(
    on: date, months: float, then: date
) -> None:
    assert add_months(on, months) == then
