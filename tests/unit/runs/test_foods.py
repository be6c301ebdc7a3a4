from dataclasses import replace

import pytest

from backreef.catalogue.entries import Quantity, Unknown, Value, known
from backreef.models.matrix import MACRONUTRIENTS, packaged_matrix
from backreef.simulation.foods import (
    FoodSlot,
    FoodUnknown,
    TooManyFoods,
    food_slots,
    refused_of_stale_frac,
)
from backreef.simulation.tables import animal_number, system_number
from tests.unit.aquarium.plans import catalogue
from tests.unit.runs.world import a_plan


def slots(*ids: str) -> tuple[FoodSlot, ...]:
    lines = "".join(f'[[meals]]\nfood = "{name}"\namount = "0.2 g"\ntimes = ["18:00"]\n' for name in ids)
    return food_slots(a_plan(lines), catalogue(), packaged_matrix())


def test_foods_come_in_the_order_of_their_first_meal_and_once() -> None:
    found = slots("fz_mysid", "pellet_small", "fz_mysid")
    assert [slot.food.id for slot in found] == ["fz_mysid", "pellet_small"]


def test_a_food_consists_of_its_label() -> None:
    """Carbon by the three pools of its label, which the shares must give back."""
    (pellet,) = slots("pellet_small")
    contents = packaged_matrix().tables.macronutrients
    labels = {name: known(getattr(pellet.food, name)) for name in ("protein_frac", "fat_frac", "nfe_frac")}
    for macronutrient, label in zip(MACRONUTRIENTS, labels.values(), strict=True):
        assert label is not None
        carbon = label.value * contents[macronutrient]["carbon_mmol_per_g"]
        assert pellet.shares[macronutrient] == pytest.approx(carbon / pellet.carbon_mmol_per_g)
    assert sum(pellet.shares[name] for name in MACRONUTRIENTS) == pytest.approx(1.0)


def test_its_nitrogen_is_that_of_its_protein() -> None:
    (pellet,) = slots("pellet_small")
    ratio = packaged_matrix().tables.macronutrients["protein"]["nitrogen_per_carbon"]
    assert pellet.composition[0] == 1.0
    assert pellet.composition[1] == pytest.approx(pellet.shares["protein"] * ratio)
    assert pellet.composition[2] == pellet.shares["phosphorus"]


def changed(**fields: Quantity) -> FoodSlot:
    """Small pellets with another label."""
    known_foods = catalogue().foods
    pellet = replace(known_foods["pellet_small"], **fields)  # type: ignore[arg-type]
    made_up = replace(catalogue(), foods={**known_foods, "pellet_small": pellet})
    plan = a_plan('[[meals]]\nfood = "pellet_small"\namount = "0.2 g"\ntimes = ["18:00"]\n')
    (slot,) = food_slots(plan, made_up, packaged_matrix())
    return slot


def a_value(number: float) -> Value:
    return Value(value=number, low=None, high=None, unit="", source="practice", status="practice")


def test_phosphorus_is_never_less_than_that_of_the_protein() -> None:
    poor = changed(phosphorus_frac=a_value(0.0))
    per_carbon = packaged_matrix().tables.macronutrients["protein"]["phosphorus_per_carbon"]
    in_protein = per_carbon * poor.shares["protein"]
    assert poor.shares["phosphorus"] == pytest.approx(animal_number("least_phosphorus_ratio") * in_protein)
    unlabelled = changed(phosphorus_frac=Unknown(reason="?"))
    assert unlabelled.shares["phosphorus"] == pytest.approx(animal_number("food_phosphorus_ratio"))


def test_a_sheet_stays_on_its_clip_and_a_heavy_piece_drops() -> None:
    (sheet,) = slots("nori")
    assert sheet.settle_ratio == animal_number("held_settle_ratio")
    ratios = [changed(sink_cm_per_s=a_value(speed)).settle_ratio for speed in (0.01, 0.5, 2.0, 50.0)]
    assert ratios == sorted(ratios)
    assert ratios[2] == 1.0
    assert ratios[3] == (animal_number("fastest_cm_per_s") / 2.0) ** 0.5
    assert changed(sink_cm_per_s=Unknown(reason="?")).settle_ratio == 1.0


def test_water_in_food_is_no_food() -> None:
    dry, frozen = slots("pellet_small", "fz_mysid")
    assert dry.dry_frac > frozen.dry_frac > 0.0
    assert dry.carbon_mmol_per_g > frozen.carbon_mmol_per_g


def test_it_refuses_more_foods_than_it_can_keep_apart() -> None:
    many = [food.id for food in catalogue().foods.values() if _composed(food.id)][:7]
    with pytest.raises(TooManyFoods, match="7 kinds of food"):
        slots(*many)


def _composed(name: str) -> bool:
    food = catalogue().foods[name]
    return all(known(getattr(food, part)) for part in ("protein_frac", "fat_frac", "nfe_frac"))


def test_it_refuses_a_food_that_nobody_knows() -> None:
    with pytest.raises(FoodUnknown, match="pellet_small"):
        changed(protein_frac=Unknown(reason="?"))


def ringed(food: str, devices: str) -> float:
    meal = f'[[meals]]\nfood = "{food}"\namount = "0.2 g"\ntimes = ["18:00"]\n'
    (slot,) = food_slots(a_plan(devices + meal), catalogue(), packaged_matrix())
    return slot.settle_ratio


@pytest.mark.parametrize(
    ("food", "held"), [("flake", True), ("pellet_floating", True), ("pellet_small", False), ("nori", False)]
)
def test_a_feeding_ring_holds_what_floats_and_nothing_else(food: str, held: bool) -> None:
    ring = '[[devices]]\nid = "ring"\nkind = "feeding_ring"\n'
    ratio = animal_number("ring_holds_ratio") if held else 1.0
    assert ringed(food, ring) == pytest.approx(ratio * ringed(food, ""))


def test_the_older_a_stale_food_the_more_of_it_is_left() -> None:
    assert refused_of_stale_frac(0.0) == 0.0
    assert refused_of_stale_frac(1.0) == pytest.approx(system_number("stale_refused_frac"))
    assert refused_of_stale_frac(1.0) < refused_of_stale_frac(3.0) < 1.0
