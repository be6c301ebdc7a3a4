"""A food from its label: shares as printed, what the label leaves out, and the energy that follows."""

from __future__ import annotations

import pytest

from backreef.catalogue.entries import Food, Value
from backreef.catalogue.labels import Basis, Label, food_of, silent_parts, too_much_frac, with_labels
from backreef.catalogue.load import load_catalogue

LIKE = load_catalogue().foods["pellet_small"]


def a_label(basis: Basis = "as fed", grain_mm: float | None = None, **printed: float) -> Label:
    return Label(
        id="mine",
        name="",
        like="pellet_small",
        basis=basis,
        printed_frac=printed,
        grain_mm=grain_mm,
        pack_g=None,
        packaging="",
    )


def value(food: Food, part: str) -> Value:
    found = getattr(food, part)
    assert isinstance(found, Value)
    return found


def test_what_is_printed_is_taken_with_the_range_that_a_feed_may_be_off() -> None:
    # under the 1991 regulations ash of 11 % may be 3 points less and 2 points more
    ash = value(food_of(a_label(ash=0.11), LIKE), "ash_frac")
    assert (ash.value, ash.lowest, ash.highest) == pytest.approx((0.11, 0.08, 0.13))
    assert "own_label" in ash.source


def test_what_is_silent_is_that_of_the_like_food_and_marked() -> None:
    label = a_label(protein=0.45, fat=0.10)
    food = food_of(label, LIKE)
    assert silent_parts(label) == ("fibre", "ash", "moisture", "phosphorus")
    assert value(food, "ash_frac").value == value(LIKE, "ash_frac").value
    assert value(food, "ash_frac").note == "not on the label: that of pellet_small"
    assert value(food, "protein_frac").note == ""


def test_parts_add_up_and_burn_to_its_energy() -> None:
    food = food_of(a_label(protein=0.45, fat=0.10, ash=0.11, moisture=0.08, fibre=0.02), LIKE)
    assert value(food, "nfe_frac").value == pytest.approx(0.26)
    energy = value(food, "gross_energy_kj_per_g")
    assert energy.value == pytest.approx(0.45 * 23.6 + 0.10 * 39.5 + 0.26 * 17.2)
    assert energy.lowest < energy.value < energy.highest


def test_a_label_of_dry_matter_is_turned_to_what_is_in_the_pack() -> None:
    wet = food_of(a_label("dry", protein=0.60, fat=0.10, ash=0.10, moisture=0.85), LIKE)
    assert value(wet, "protein_frac").value == pytest.approx(0.09)
    assert value(wet, "moisture_frac").value == 0.85
    assert value(wet, "nfe_frac").value == pytest.approx(0.03)


def test_parts_that_are_more_than_all_are_told() -> None:
    assert too_much_frac(a_label(protein=0.6, fat=0.3, ash=0.1), LIKE) == pytest.approx(1.075)
    assert too_much_frac(a_label(protein=0.45, fat=0.1), LIKE) is None


def test_a_label_without_parts_leaves_the_food_as_it_is_but_for_its_grain() -> None:
    food = food_of(a_label(grain_mm=1.4), LIKE)
    assert food.protein_frac == LIKE.protein_frac
    assert value(food, "particle_mm").value == 1.4


def test_taking_labels_in_twice_changes_nothing_and_none_change_nothing() -> None:
    shelves, label = load_catalogue(), a_label("dry", protein=0.5)
    once = with_labels(shelves, (label,))
    assert with_labels(once, (label,)) == once
    assert with_labels(shelves, ()) is shelves
    assert "foods/mine" in once.own
