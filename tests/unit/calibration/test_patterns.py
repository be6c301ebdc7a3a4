from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.stats import multivariate_normal

from backreef.calibration.alarms import Field, greatest_change, is_alarm
from backreef.calibration.patterns import (
    best_pattern,
    by_luck,
    days_to_try,
    patterns_of,
    patterns_of_units,
    ratios,
)
from backreef.calibration.tables import Cause, all_causes
from tests.unit.calibration.test_alarms import COUNT, NITRATE, PHOSPHATE, field, from_week, noise

WEEK, SMALL = 5, 0.25
"""A change that is smaller than the errors of the kits, in both series."""


def signature(found: Field, cause_id: str = "double_food"):  # type: ignore[no-untyped-def]  # noqa: ANN201
    """One cause lifts both series from its day on, a little otherwise in each of four runs."""
    when = np.array([one.at_d for one in found.taken])

    def shape(cause: Cause, since_day: int) -> np.ndarray | None:
        if cause.id != cause_id:
            return None
        return np.asarray((when > since_day)[:, None] * SMALL * np.array([0.9, 1.0, 1.0, 1.1]))

    return shape


def both(seed: int, size: float) -> Field:
    return field(noise(seed) + from_week(WEEK, size), noise(500 + seed) + from_week(WEEK, size))


def told(found: Field) -> bool:
    patterns = patterns_of(found, all_causes(), signature(found))
    return best_pattern(found, patterns, seed=1) is not None


def test_days_to_try_reach_back_from_the_last_reading() -> None:
    assert days_to_try(84) == [42, 56, 70]
    assert days_to_try(10) == []


def test_a_pattern_shows_in_all_readings_what_no_series_shows_alone() -> None:
    fields = [both(seed, SMALL) for seed in range(20)]
    alone = sum(is_alarm(one, greatest_change(one), seed=1) for one in fields)
    together = sum(told(one) for one in fields)
    assert together > alone
    assert together >= 10


def test_noise_seldom_looks_like_a_pattern() -> None:
    assert sum(told(both(seed, 0.0)) for seed in range(60)) <= 4


def test_a_pattern_says_since_when_and_which_way() -> None:
    found = both(1, 5 * SMALL)
    change = best_pattern(found, patterns_of(found, all_causes(), signature(found)), seed=1)
    assert change is not None
    assert change.series in (NITRATE, PHOSPHATE)
    assert change.amplitude > 0
    assert change.kind == "drift"
    assert change.since_d in days_to_try(int(found.taken[-1].at_d))


def test_what_luck_gives_is_less_than_what_the_cause_gives() -> None:
    found = both(2, 5 * SMALL)
    patterns = patterns_of(found, all_causes(), signature(found))
    came = ratios(found.covariance, found.missed[:, None], patterns)
    assert came.shape == (len(patterns), 1)
    assert by_luck(found, patterns, seed=1) < came.max()
    assert len(found.taken) == 2 * COUNT


def test_ratios_are_those_of_the_whole_covariances() -> None:
    found = both(3, SMALL)
    patterns = (*patterns_of(found, all_causes(), signature(found)), *patterns_of_units(found, all_causes()))
    draws = found.missed[:, None] + noise(9)[:1] * np.arange(3.0)
    nothing = np.zeros(len(found.taken))
    plain = multivariate_normal(nothing, found.covariance).logpdf(draws.T)
    for one, said in zip(patterns, ratios(found.covariance, draws, patterns), strict=True):
        whole = multivariate_normal(one.added, found.covariance + one.apart @ one.apart.T).logpdf(draws.T)
        np.testing.assert_allclose(said, 2.0 * (whole - plain), rtol=1e-9, atol=1e-9)


def test_without_causes_there_is_no_pattern() -> None:
    found = both(3, 1.0)
    assert patterns_of(found, all_causes(), lambda *_: None) == ()
    assert best_pattern(found, (), seed=1) is None


def test_a_unit_mistaken_is_a_pattern_of_one_series_as_far_off_as_each_value_says() -> None:
    found = both(3, 0.0)
    slipped = [one for one in patterns_of_units(found, all_causes()) if one.added.any()]
    assert {one.cause.id for one in slipped} == {"other_unit"}
    for one in slipped:
        of = {each.series.word for each, added in zip(found.taken, one.added, strict=True) if added}
        assert len(of) == 1
    wrong = max(slipped, key=lambda one: abs(one.added).sum())
    came = replace(found, missed=found.missed + wrong.added)
    change = best_pattern(came, patterns_of_units(came, all_causes()), seed=1)
    assert change is not None
    assert change.kind == "step"


def test_units_seldom_look_mistaken_by_noise() -> None:
    fields = [both(seed, 0.0) for seed in range(40)]
    told_of = [best_pattern(one, patterns_of_units(one, all_causes()), seed=1) for one in fields]
    assert sum(one is not None for one in told_of) <= 3
