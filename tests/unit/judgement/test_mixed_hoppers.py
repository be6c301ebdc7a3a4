"""A hopper with two sizes of pellets in a forecast: who is told what, and what really comes out."""

from __future__ import annotations

import numpy as np
import pytest

from backreef.judgement.course import Course
from backreef.judgement.mixed_hoppers import mixed_hoppers, quarter_share
from tests.unit.judgement.courses import PAIR, course

MIXED = """\
[[devices]]
id = "drum"
kind = "feeder_drum_mains"
hopper = "2 g"
[[meals]]
id = "fine"
food = "pellet_small"
amount = "0.02 g"
by = "drum"
times = ["12:00", "16:00"]
[[meals]]
id = "coarse"
food = "pellet_medium"
amount = "0.02 g"
by = "drum"
times = ["12:00", "16:00"]
"""


def mixed() -> Course:
    return course(PAIR + MIXED)


def test_the_diet_of_those_who_take_one_size_is_off_from_a_day_that_is_named() -> None:
    (found,) = mixed_hoppers(mixed().prepared)
    assert (found.id, found.balance, found.weight) == ("mixed.drum", "mouths", "caution")
    assert "in the first quarter" in found.why
    assert "off by a tenth from day 1 after a filling" in found.why


def test_one_size_or_two_feeders_part_nothing() -> None:
    assert list(mixed_hoppers(course(PAIR + MIXED.replace("pellet_medium", "pellet_small")).prepared)) == []
    second = MIXED[: MIXED.index("[[meals]]")].replace('"drum"', '"other"')
    two = second + MIXED.replace(
        'food = "pellet_medium"\namount = "0.02 g"\nby = "drum"',
        'food = "pellet_medium"\namount = "0.02 g"\nby = "other"',
    )
    assert list(mixed_hoppers(course(PAIR + two).prepared)) == []


def test_its_quarters_add_up_to_the_mix() -> None:
    mix, eagerness = np.array([0.4, 0.6]), np.array([2.0, 1.0])
    shares = [quarter_share(quarter, 0, mix, eagerness) for quarter in range(4)]
    assert shares == sorted(shares, reverse=True)
    assert np.mean(shares) == pytest.approx(0.4, abs=0.01)


def test_the_forecast_feeds_what_comes_out() -> None:
    fine = [meal for meal in mixed().prepared.keeper.meals.occasions if meal.meal_id == "fine"]
    assert fine[0].mix_ratio > 1.2
    assert min(meal.mix_ratio for meal in fine) < 0.8
