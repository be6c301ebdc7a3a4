from __future__ import annotations

import numpy as np
import pytest

from backreef.calibration.doubt import leave_one_out, questioned
from backreef.calibration.smoother import Evidence, transform_of

MEMBERS = 4000
SEEN = np.array([1.0, -0.5, 2.0])
ERRORS = np.array([[0.5, 0.2, 0.0], [0.2, 0.4, 0.0], [0.0, 0.0, 1.0]])
MODEL = np.array([[1.0, 0.5], [0.0, 1.0], [0.7, -0.3]])


def evidence() -> Evidence:
    return Evidence(seen=SEEN, errors=ERRORS)


def exact() -> tuple[np.ndarray, np.ndarray]:
    """Mean and covariance of two deviates given what was seen, where the model is straight."""
    inverse = np.linalg.inv(ERRORS)
    covariance = np.linalg.inv(np.eye(2) + MODEL.T @ inverse @ MODEL)
    return covariance @ MODEL.T @ inverse @ SEEN, covariance


@pytest.mark.parametrize("steps", [(1.0,), (4.0, 4.0, 4.0, 4.0), (8.0, 4.0, 1.6)])
def test_it_finds_the_exact_answer_of_a_straight_model(steps: tuple[float, ...]) -> None:
    rng = np.random.default_rng(3)
    deviates = rng.standard_normal((2, MEMBERS))
    for inflation in steps:
        step = transform_of(MODEL @ deviates, evidence(), inflation=inflation, rng=rng)
        deviates = step.of(deviates)
    middle, covariance = exact()
    assert deviates.mean(axis=1) == pytest.approx(middle, abs=0.06)
    assert np.cov(deviates) == pytest.approx(covariance, abs=0.05)


def test_numbers_without_a_link_keep_their_spread_in_a_small_ensemble() -> None:
    spreads = []
    for seed in range(20):
        rng = np.random.default_rng(seed)
        linked, idle = rng.standard_normal((2, 64)), rng.standard_normal((40, 64))
        deviates = np.vstack([linked, idle])
        for _ in range(4):
            deviates = transform_of(MODEL @ deviates[:2], evidence(), inflation=4.0, rng=rng).of(deviates)
        spreads.append(deviates[2:].std(axis=1).mean() / idle.std(axis=1).mean())
    assert np.mean(spreads) == pytest.approx(1.0, abs=0.02)


def test_what_the_others_say_is_what_a_fit_without_the_reading_says() -> None:
    rng = np.random.default_rng(4)
    foretold = MODEL @ rng.standard_normal((2, 200))
    say, spread = leave_one_out(foretold, evidence())
    middle = foretold.mean(axis=1)
    whole = np.cov(foretold) + ERRORS
    for place in range(3):
        rest = [other for other in range(3) if other != place]
        gain = whole[place, rest] @ np.linalg.inv(whole[np.ix_(rest, rest)])
        assert say[place] == pytest.approx(middle[place] + gain @ (SEEN - middle)[rest])
        assert spread[place] ** 2 == pytest.approx(whole[place, place] - gain @ whole[rest, place])


def steady(values: list[float]) -> tuple[np.ndarray, Evidence]:
    """A tank that stays as it is, whatever that is, and what a kit with an error of 0.1 says of it."""
    rng = np.random.default_rng(1)
    foretold = np.repeat(rng.standard_normal((1, 300)), len(values), axis=0)
    return foretold, Evidence(seen=np.array(values), errors=0.01 * np.eye(len(values)))


def doubted(values: list[float], *, bounded: int | None = None) -> set[int]:
    foretold, seen = steady(values)
    bounds = np.arange(len(values)) == (-1 if bounded is None else bounded)
    foretold[bounds] = seen.seen[bounds][:, None]  # every member keeps the bound
    found = questioned(foretold, seen, bounded=bounds, limit_sd=4.5, most_frac=0.34)
    return {doubt.place for doubt in found}


def test_a_reading_that_is_far_from_all_others_is_questioned() -> None:
    assert doubted([0.1, 0.0, 2.3, 0.05, -0.1, 0.1]) == {2}


def test_two_readings_that_are_off_do_not_hide_each_other() -> None:
    assert doubted([0.1, 0.0, 2.3, 0.05, -0.1, 2.4, 0.02, -0.05]) == {2, 5}


def test_good_readings_and_bounds_are_believed() -> None:
    assert doubted([0.1, 0.0, 0.3, 0.05, -0.1, 0.1]) == set()
    assert doubted([0.1, 0.0, 2.3, 0.05, -0.1, 0.1], bounded=2) == set()
