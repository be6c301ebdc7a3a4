from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from backreef.judgement.verdict import AwayStretch
from backreef.plots.absence import length_days, long_absences, usual_days
from backreef.plots.ribbon import ribbon
from tests.forecast_parts import START_ON
from tests.forecast_world import a_breaking_forecast, a_holding_forecast


def stretch(first: int, days: int) -> AwayStretch:
    on = START_ON + timedelta(days=first)
    return AwayStretch(first_on=on, last_on=on + timedelta(days=days - 1), label="closed")


WEEKENDS = tuple(stretch(6 + 7 * week, 2) for week in range(150))


def test_it_counts_both_ends_of_a_stretch() -> None:
    assert length_days(stretch(3, 5)) == 5


def test_it_keeps_every_stretch_where_they_are_few() -> None:
    forecast = a_breaking_forecast()
    assert usual_days(forecast) == 0
    assert long_absences(forecast) == forecast.away


def test_it_passes_over_the_days_that_come_round_each_week() -> None:
    summer, long_weekend = stretch(200, 14), stretch(300, 3)
    forecast = replace(a_breaking_forecast(), away=(*WEEKENDS, summer, long_weekend))
    assert usual_days(forecast) == 2
    assert long_absences(forecast) == (summer, long_weekend)


def test_its_picture_stays_small_and_says_what_it_left_out() -> None:
    plain = replace(a_holding_forecast(), away=())
    weekly = replace(plain, away=(*WEEKENDS, stretch(200, 14)))
    assert len(ribbon(weekly).wide) < len(ribbon(plain).wide) + 6000
    assert "nobody there for longer than usual" in [entry.words for entry in ribbon(weekly).key]
