from datetime import date

import numpy as np
import pytest

from backreef.plots.scale import TimeScale, ValueScale, month_starts, nice_ceiling, nice_ticks

YEAR = TimeScale(first_on=date(2027, 1, 4), days=365, left=10.0, right=375.0)


def test_it_places_days_one_after_the_other() -> None:
    assert YEAR.x(date(2027, 1, 4)) == 10.0
    assert YEAR.x(date(2027, 1, 5)) == pytest.approx(11.0)
    assert YEAR.last_on == date(2028, 1, 3)
    assert YEAR.middles()[0] == pytest.approx(10.5)


def test_it_holds_days_outside_at_the_edge() -> None:
    assert YEAR.x(date(2020, 1, 1)) == 10.0
    assert YEAR.x(date(2040, 1, 1)) == 375.0
    assert not YEAR.has(date(2028, 1, 4))
    assert not YEAR.has(None)
    assert YEAR.has(date(2028, 1, 3))


def test_it_places_values_upwards_and_keeps_unknown_ones_unknown() -> None:
    scale = ValueScale(low=0, high=10, bottom=100, top=0)
    assert scale.y(0) == 100
    assert scale.y(5) == 50
    assert scale.y(99) == 0
    assert np.isnan(scale.ys(np.array([np.nan]))[0])
    assert not scale.has(None)


def test_it_survives_a_range_without_extent() -> None:
    assert np.isfinite(ValueScale(low=3, high=3, bottom=100, top=0).y(3))


def test_it_finds_the_months_that_begin_within() -> None:
    assert month_starts(date(2027, 11, 15), date(2028, 2, 1)) == [
        date(2027, 12, 1),
        date(2028, 1, 1),
        date(2028, 2, 1),
    ]
    assert month_starts(date(2027, 1, 4), date(2027, 1, 31)) == []


@pytest.mark.parametrize(
    ("value", "ceiling"), [(0.9, 1.0), (1.0, 1.0), (57.0, 60.0), (61.0, 80.0), (0.031, 0.04), (0.0, 1.0)]
)
def test_it_rounds_up_to_a_value_that_reads_well(value: float, ceiling: float) -> None:
    assert nice_ceiling(value) == pytest.approx(ceiling)


def test_it_gives_some_answer_for_what_is_not_a_number() -> None:
    assert nice_ceiling(float("nan")) == 1.0
    assert nice_ticks(2.0, 2.0) == [2.0]


def test_it_ticks_at_round_values_inside() -> None:
    assert nice_ticks(0, 100) == [0, 25, 50, 75, 100]
    assert all(7.5 <= t <= 8.6 for t in nice_ticks(7.5, 8.6))
