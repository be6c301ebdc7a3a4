"""Mixed pellets in one hopper: turn by turn against the closed form, and what a plan's meals make of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from backreef.catalogue.entries import Unknown
from backreef.schedule.meals import MealBook, meal_book
from backreef.schedule.presence import presence
from backreef.schedule.segregation import (
    came_over_planned,
    delivered_shares,
    eagerness_to_leave,
    mixed_foods,
    out_until_off_frac,
)
from backreef.schedule.tables import segregation_exponent
from tests.unit.aquarium.plans import catalogue, plan_of

Array = npt.NDArray[np.float64]
TURNS = 400
HALVES = (0.5, 0.5)


def emptied(mix: tuple[float, ...], eagerness: tuple[float, ...]) -> Array:
    """Share of each food in every turn of a hopper that is let out in equal portions."""
    foods = [f"food{place}" for place in range(len(mix))]
    turns = [
        (food, share / TURNS, 1.0 - turn / TURNS)
        for turn in range(TURNS)
        for food, share in zip(foods, mix, strict=True)
    ]
    ratios = np.array(came_over_planned(turns, foods, mix, eagerness)).reshape(TURNS, len(mix))
    return np.asarray(ratios * np.array(mix))


@pytest.mark.parametrize(
    ("mix", "eagerness"), [(HALVES, (2.0, 1.0)), ((0.2, 0.8), (1.3, 1.0)), ((0.3, 0.3, 0.4), (3.0, 1.5, 1.0))]
)
def test_turn_by_turn_agrees_with_the_closed_form(
    mix: tuple[float, ...], eagerness: tuple[float, ...]
) -> None:
    shares = emptied(mix, eagerness)
    closed = [delivered_shares(1.0 - turn / TURNS, mix, eagerness) for turn in range(TURNS)]
    np.testing.assert_allclose(shares[: TURNS - 4], closed[: TURNS - 4], atol=0.01)


def test_all_that_was_filled_in_comes_out() -> None:
    shares = emptied((0.3, 0.3, 0.4), (3.0, 1.5, 1.0))
    np.testing.assert_allclose(shares.mean(axis=0), (0.3, 0.3, 0.4), atol=0.005)
    np.testing.assert_allclose(shares.sum(axis=1), 1.0, atol=0.02)


def test_the_finer_food_leads_where_it_is_half_the_size() -> None:
    # phenomenon 31: at least 0.6 in the first quarter, at most 0.4 in the last (common practice, no source)
    fine = emptied(HALVES, (2.0 ** segregation_exponent().value, 1.0))[:, 0]
    assert fine[: TURNS // 4].mean() >= 0.6
    assert fine[-TURNS // 4 :].mean() <= 0.4


def test_grains_of_nearly_one_size_stay_mixed() -> None:
    # phenomenon 31: size ratio 1.0 to 1.1, 0.45 to 0.55 in both (common practice, no source)
    fine = emptied(HALVES, (1.1 ** segregation_exponent().value, 1.0))[:, 0]
    for part in (fine[: TURNS // 4], fine[-TURNS // 4 :]):
        assert 0.45 <= part.mean() <= 0.55


def test_from_a_size_ratio_of_1_3_the_smaller_clearly_leaves_first() -> None:
    # common practice, no source: its share falls steadily, by more than a tenth from first to last quarter
    fine = emptied(HALVES, (1.3 ** segregation_exponent().value, 1.0))[:, 0]
    quarters = [float(part.mean()) for part in np.split(fine, 4)]
    assert quarters == sorted(quarters, reverse=True)
    assert quarters[0] - quarters[-1] > 0.1


def test_a_diet_is_off_sooner_the_more_the_sizes_differ() -> None:
    def off(eagerness: float) -> float | None:
        return out_until_off_frac((1, 0), HALVES, (eagerness, 1.0), tolerated_frac=0.1)

    assert off(1.0) is None
    assert off(3.0) == 0.0
    slight, clear = off(1.1), off(1.15)
    assert slight is not None
    assert clear is not None
    assert 0.0 < clear < slight < 1.0
    assert out_until_off_frac((1, 1), HALVES, (3.0, 1.0), tolerated_frac=0.1) is None


def test_a_refill_brings_the_plans_mix_again() -> None:
    turns = [("fine", 0.25, 1.0), ("coarse", 0.25, 1.0), ("fine", 0.25, 0.5), ("fine", 0.25, 1.0)]
    first, _, late, refilled = came_over_planned(turns, ("fine", "coarse"), HALVES, (3.0, 1.0))
    assert late < refilled < first


def test_nobody_knows_how_foods_of_unknown_size_part() -> None:
    foods = ("pellet_micro", "pellet_small")
    eagerness = eagerness_to_leave(foods, catalogue())
    assert eagerness is not None
    assert eagerness[0] > eagerness[1] == 1.0
    blank = replace(catalogue().foods["flake"], particle_mm=Unknown(reason="?"))
    odd = replace(catalogue(), foods={**catalogue().foods, "flake": blank})
    assert eagerness_to_leave(("flake", "pellet_small"), odd) is None


MEALS = """\
start_on = 2027-01-04
[tank]
display = "200 L"
[[devices]]
id = "drum"
kind = "{kind}"
hopper = "8 g"
[[meals]]
id = "fine"
food = "pellet_micro"
amount = "0.2 g"
by = "drum"
times = ["12:00"]
[[meals]]
id = "coarse"
food = "pellet_medium"
amount = "0.2 g"
by = "drum"
times = ["12:00"]
[goals]
horizon = "0.15 years"
"""


def book(kind: str) -> MealBook:
    plan = plan_of(MEALS.format(kind=kind))
    return meal_book(plan, catalogue(), presence=presence(plan))


def test_meals_from_one_hopper_part_and_those_from_cells_do_not() -> None:
    assert mixed_foods(plan_of(MEALS.format(kind="feeder_drum_mains")).meals) == (
        "pellet_micro",
        "pellet_medium",
    )
    drum = [meal.mix_ratio for meal in book("feeder_drum_mains").occasions if meal.food_id == "pellet_micro"]
    assert drum[0] > 1.5
    assert min(drum) < 0.6
    assert {meal.mix_ratio for meal in book("feeder_disc").occasions} == {1.0}
