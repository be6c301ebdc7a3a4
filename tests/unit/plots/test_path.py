import re
from datetime import date

import numpy as np

from backreef.plots.path import band_path, line_path, polyline, runs, stroke_path, thinned
from backreef.plots.scale import TimeScale


def test_it_finds_the_stretches_of_what_is_known() -> None:
    assert runs(np.array([True, True, False, True])) == [(0, 2), (3, 4)]
    assert runs(np.array([False, False])) == []


def test_it_keeps_a_thinned_line_within_its_tolerance() -> None:
    x = np.arange(1000.0)
    y = 20 * np.sin(x / 60) + np.random.default_rng(3).normal(0, 0.05, 1000)
    kept = thinned(x, y, tolerance=0.3)
    assert len(kept) < 400
    assert np.abs(np.interp(x, x[kept], y[kept]) - y).max() <= 0.3 + 1e-9


def test_it_keeps_both_ends_and_a_single_peak() -> None:
    y = np.zeros(50)
    y[17] = 9.0
    kept = thinned(np.arange(50.0), y)
    assert {0, 17, 49} <= set(kept)


def test_it_breaks_a_line_where_nothing_is_known() -> None:
    y = np.array([1.0, 1.0, np.nan, 2.0, 2.0])
    assert line_path(np.arange(5.0), y) == "M0 1l1 0M3 2l1 0"
    assert line_path(np.arange(5.0), np.full(5, np.nan)) == ""


def test_it_closes_a_band_around_its_two_lines() -> None:
    x = np.arange(3.0)
    assert band_path(x, np.zeros(3), np.ones(3)) == "M0 1l2 0 0-1-2 0Z"


def test_it_leaves_a_gap_for_a_day_without_a_meal() -> None:
    time = TimeScale(first_on=date(2027, 1, 4), days=5, left=0, right=5)
    strokes = stroke_path(time, np.array([4.0, 4.0, 10.0, 4.0, 4.0]), 10.0)
    assert strokes == "M0 10V4H2V10ZM3 10V4H5V10Z"


def test_it_draws_each_day_by_itself_where_days_are_wide() -> None:
    time = TimeScale(first_on=date(2027, 1, 4), days=2, left=0, right=20)
    assert stroke_path(time, np.array([4.0, 4.0]), 10.0).count("Z") == 2


def test_its_steps_never_drift_from_the_line() -> None:
    x = np.arange(0.0, 400.0, 0.37)
    y = 50 + 40 * np.sin(x / 9)
    start, steps = polyline(x, y)[1:].split("l")
    numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", steps)]
    first_x, first_y = map(float, start.split())
    assert len(numbers) == 2 * (len(x) - 1)
    assert np.abs(first_x + np.cumsum(numbers[::2]) - x[1:]).max() < 0.051
    assert np.abs(first_y + np.cumsum(numbers[1::2]) - y[1:]).max() < 0.051


def test_it_draws_a_single_point_as_one() -> None:
    assert polyline(np.array([3.0]), np.array([4.5])) == "M3 4.5"
