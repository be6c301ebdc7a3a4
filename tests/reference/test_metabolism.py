import math
from typing import Any

import pytest

from backreef.models import metabolism
from backreef.models.body_values import body_numbers
from backreef.models.mathops import Quantity
from backreef.models.ration import clownfish_energy, scaled_need
from backreef.models.retention import ENERGY_J_PER_G_C, resting_energy_j_per_d
from tests.reference.cases import Case, Functions, cases, read

NUMBERS = body_numbers()
OXYCALORIFIC = NUMBERS["day.oxycalorific_kj_per_g_o2"]


def family_carbon_g_c_per_d(family: str, mass_g: float, temperature_c: float) -> Quantity:
    return metabolism.rate_of_line(
        mass_g, temperature_c, metabolism.family_carbon_line(NUMBERS, family=family)
    )


def family_oxygen_mg_o2_per_d(family: str, mass_g: float, temperature_c: float) -> Quantity:
    return metabolism.rate_of_line(
        mass_g, temperature_c, metabolism.family_oxygen_line(NUMBERS, family=family)
    )


def family_energy_by_oxygen_j_per_d(**fish: Quantity) -> Quantity:
    return metabolism.resting_energy_j_per_d(
        family_oxygen_mg_o2_per_d(**fish), oxycalorific_kj_per_g_o2=OXYCALORIFIC
    )


def family_energy_by_carbon_j_per_d(**fish: Quantity) -> Quantity:
    return 1000.0 * NUMBERS["day.energy_kj_per_g_c"] * family_carbon_g_c_per_d(**fish)


def small_fish_oxygen_mg_o2_per_d(mass_g: float, temperature_c: float, family: str = "unlisted") -> Quantity:
    line = metabolism.oxygen_line(NUMBERS, family=family)
    return metabolism.oxygen_uptake_mg_o2_per_d(mass_g, temperature_c, line)


def damsel_feed_energy_j_per_d(mass_g: float, temperature_c: float) -> Quantity:
    oxygen = small_fish_oxygen_mg_o2_per_d(mass_g, temperature_c, "Pomacentridae")
    return metabolism.feed_energy_need_j_per_d(
        metabolism.resting_energy_j_per_d(oxygen, oxycalorific_kj_per_g_o2=OXYCALORIFIC),
        activity_ratio=NUMBERS["day.activity_ratio"],
        feeding_heat_ratio=NUMBERS["day.feeding_heat_ratio"],
        digestible_energy_frac=NUMBERS["day.digestible_energy_frac"],
    )


def requirement_j_per_d(mass_g: float) -> Quantity:
    return scaled_need(mass_g, clownfish_energy(NUMBERS))


def requirement_over_standard(mass_g: float) -> Quantity:
    warmth = NUMBERS["clownfish.measured_at_c"]
    standard = family_energy_by_carbon_j_per_d(family="Pomacentridae", mass_g=mass_g, temperature_c=warmth)
    return requirement_j_per_d(mass_g) / standard


def rest_and_growth_of_model_j_per_d(growth: dict[str, float], **fish: float) -> Quantity:
    return resting_energy_j_per_d(**fish) + growth_energy_j_per_d(**growth)


def total_energy_of_model_j_per_d(activity_ratio: float, **fish: Quantity) -> Quantity:
    return activity_ratio * rest_and_growth_of_model_j_per_d(**fish)


def growth_energy_j_per_d(growth_g_per_d: float, **fish: float) -> Quantity:
    return growth_g_per_d * metabolism.growth_cost_j_per_g_barneche2018(**fish)


def barneche_factor_against_25_c(temperature_c: float) -> Quantity:
    return metabolism.temperature_factor_barneche2018(
        temperature_c
    ) / metabolism.temperature_factor_barneche2018(25.0)


FUNCTIONS: Functions = {
    "resting_oxygen_mmol_per_h_clarke1999": metabolism.resting_oxygen_mmol_per_h_clarke1999,
    "resting_oxygen_of_50_g_mmol_per_h_clarke1999": metabolism.resting_oxygen_of_50_g_mmol_per_h_clarke1999,
    "family_carbon_g_c_per_d": family_carbon_g_c_per_d,
    "family_oxygen_mg_o2_per_d": family_oxygen_mg_o2_per_d,
    "family_energy_by_oxygen_j_per_d": family_energy_by_oxygen_j_per_d,
    "family_energy_by_carbon_j_per_d": family_energy_by_carbon_j_per_d,
    "day_activity_ratio": metabolism.day_activity_ratio,
    "growth_cost_j_per_g_barneche2018": metabolism.growth_cost_j_per_g_barneche2018,
    "rest_and_growth_of_model_j_per_d": rest_and_growth_of_model_j_per_d,
    "total_energy_of_model_j_per_d": total_energy_of_model_j_per_d,
    "total_carbon_of_model_g_c_per_d": lambda **fish: (
        total_energy_of_model_j_per_d(**fish) / ENERGY_J_PER_G_C
    ),
    "growth_energy_j_per_d": growth_energy_j_per_d,
    "resting_coefficient_barneche2018": metabolism.resting_coefficient_barneche2018,
    "barneche_factor_against_25_c": barneche_factor_against_25_c,
    "damsel_feed_energy_j_per_d": damsel_feed_energy_j_per_d,
    "damsel_feed_energy_over_requirement": lambda mass_g: (
        damsel_feed_energy_j_per_d(mass_g, NUMBERS["clownfish.measured_at_c"]) / requirement_j_per_d(mass_g)
    ),
    "requirement_over_standard": requirement_over_standard,
    "small_fish_oxygen_mg_o2_per_d": small_fish_oxygen_mg_o2_per_d,
}


@pytest.mark.parametrize("case", cases("metabolism.toml"))
def test_it_gives_the_published_value(case: Case) -> None:
    case.check(FUNCTIONS)


def test_it_reads_the_family_table_as_carbon_and_not_as_oxygen() -> None:
    as_oxygen_mg = 1000.0 * family_carbon_g_c_per_d("Pomacentridae", 5.0, 26.0)
    found = family_oxygen_mg_o2_per_d("Pomacentridae", 5.0, 26.0)
    assert as_oxygen_mg == pytest.approx(9.0, abs=0.1)
    assert found > 2.0 * as_oxygen_mg


@pytest.mark.parametrize("mass_g", [0.2, 0.5, 1.0, 2.0, 5.0])
def test_it_keeps_the_requirement_between_1_2_and_2_times_standard_metabolism(mass_g: float) -> None:
    assert 1.2 < requirement_over_standard(mass_g) < 2.0


RECORDS = read("oxygen_records.toml")


def predicted_over_measured(record: dict[str, Any]) -> float:
    predicted = small_fish_oxygen_mg_o2_per_d(record["mass_g"], record["temperature_c"])
    measured = record["mg_o2_per_kg_per_h"] * record["mass_g"] / 1000.0 * 24.0
    return float(predicted / measured)


@pytest.mark.parametrize("record", RECORDS["record"], ids=lambda record: record["species"])
def test_it_comes_near_each_measured_fish(record: dict[str, Any]) -> None:
    assert 1.0 / RECORDS["each_factor"] < predicted_over_measured(record) < RECORDS["each_factor"]


def test_it_is_right_on_average_over_the_measured_fish() -> None:
    logs = [math.log(predicted_over_measured(record)) for record in RECORDS["record"]]
    assert RECORDS["mean_low"] < math.exp(sum(logs) / len(logs)) < RECORDS["mean_high"]
