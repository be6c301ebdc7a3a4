from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from backreef.judgement.verdict import Band, WaterBand
from backreef.plots.bounds import bound_marks, over_edge
from backreef.plots.scale import TimeScale, ValueScale
from backreef.plots.value_range import ease_above, ease_below, starts_at_zero, value_range
from tests.forecast_parts import START_ON

NITRATE = WaterBand(
    series="nitrate_mg_no3_per_l",
    label="nitrate",
    unit="mg/L NO3",
    act_low=0.2,
    act_high=25.0,
    harm_low=None,
    harm_high=75.0,
    harm_days=14.0,
    source="made up",
    status="practice",
)
PH_HIGHEST = replace(NITRATE, series="ph_highest_total", act_low=None, act_high=8.45, harm_high=8.7)
TEMPERATURE = replace(
    NITRATE, series="temperature_c", act_low=22.5, act_high=28.0, harm_low=20.0, harm_high=30.5
)


def flat(value: float) -> Band:
    line = np.full(9, value)
    return Band(p05=line, p50=line, p95=line)


def test_it_starts_amounts_at_zero_and_others_where_they_live() -> None:
    assert starts_at_zero("nitrate_mg_no3_per_l", NITRATE)
    assert starts_at_zero("film_algae_g_dry", None)
    assert not starts_at_zero("ph_highest_total", PH_HIGHEST)
    assert not starts_at_zero("temperature_c", TEMPERATURE)


def test_it_leaves_a_far_harm_bound_out_until_the_values_come_near() -> None:
    assert value_range(flat(5.0), NITRATE, zero=True)[1] == pytest.approx(30.0)
    assert value_range(flat(50.0), NITRATE, zero=True)[1] > 75.0


def test_it_always_shows_the_act_bounds_and_the_values() -> None:
    low, high = value_range(flat(25.0), TEMPERATURE, zero=False)
    assert low < 22.5
    assert high > 28.0
    low, high = value_range(flat(8.05), PH_HIGHEST, zero=False)
    assert 7.9 < low < 8.05
    assert high > 8.45


def test_it_survives_a_band_of_which_nothing_is_known() -> None:
    low, high = value_range(flat(float("nan")), None, zero=True)
    assert low < high


def test_it_says_with_an_arrow_where_a_harm_bound_lies_outside() -> None:
    time = TimeScale(first_on=START_ON, days=9, left=0, right=90)
    scale = ValueScale(low=0, high=30, bottom=100, top=0)
    assert any("harm 75 ↑" in mark for mark in bound_marks(time, scale, NITRATE))
    tall = ValueScale(low=0, high=80, bottom=100, top=0)
    assert not any("↑" in mark for mark in bound_marks(time, tall, NITRATE))
    cold = ValueScale(low=21, high=29, bottom=100, top=0)
    assert any("harm 20 ↓" in mark for mark in bound_marks(time, cold, TEMPERATURE))
    assert not any("<text" in mark for mark in bound_marks(time, cold, TEMPERATURE, words=False))


def test_it_finds_where_a_bound_is_no_matter_at_all() -> None:
    assert ease_above(8.45, 8.7) == pytest.approx(7.95)
    assert ease_above(25.0, 75.0) == 0.0
    assert ease_above(25.0, None) == 0.0
    assert ease_below(5.0, 4.0) == 7.0
    assert ease_below(None, 4.0) == 4.0


def test_it_does_not_crush_the_bounds_under_values_far_over_them() -> None:
    assert value_range(flat(900.0), NITRATE, zero=True)[1] <= 200.0


def test_it_says_how_high_a_line_goes_that_leaves_its_lane() -> None:
    time = TimeScale(first_on=START_ON, days=3, left=0, right=90)
    scale = ValueScale(low=0, high=30, bottom=100, top=0)
    assert "to 710 ↑" in over_edge(time, scale, np.array([1.0, 709.0, np.nan]))
    assert over_edge(time, scale, np.array([1.0, 30.0, np.nan])) == ""
    assert over_edge(time, scale, np.array([np.nan])) == ""
