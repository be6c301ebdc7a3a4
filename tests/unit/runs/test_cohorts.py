from dataclasses import replace

import numpy as np
import pytest

from backreef.catalogue.entries import Species, Unknown
from backreef.models.matrix import packaged_matrix
from backreef.models.mouths import POOLS, SLOT_TRAITS
from backreef.simulation.bodies import body_of
from backreef.simulation.cohorts import Cohort, CohortArrays, cohort_arrays, cohorts_of, lives_on_light
from backreef.simulation.draws import Draws
from backreef.simulation.foods import food_slots
from backreef.simulation.layout import NATURE
from backreef.simulation.nature import nature_of
from backreef.simulation.tables import Range, animal_number, kind_table
from tests.unit.aquarium.plans import catalogue
from tests.unit.runs.world import MEAL, PAIR, SNAILS, a_plan

NEWCOMERS = '[[animals]]\nid = "newcomers"\nspecies = "trochus"\ncount = 3\narrives_on = 2027-01-14\n'
CORALS = '[[animals]]\nid = "leather"\nspecies = "leathers"\n'
DEMAND = 1.1
"""Oxygen demand of a mmol of body, made up."""


def cohorts(lines: str) -> dict[str, Cohort]:
    plan, matrix = a_plan(lines), packaged_matrix()
    foods = food_slots(plan, catalogue(), matrix)
    found = cohorts_of(plan, catalogue(), matrix, body_of(matrix), foods)
    assert [cohort.entry.id for cohort in found] == sorted(cohort.entry.id for cohort in found)
    return {cohort.entry.id: cohort for cohort in found}


def clown() -> Species:
    return catalogue().species["ocellaris_clown"]


def nature(species: Species) -> tuple[dict[str, Range], list[str]]:
    return nature_of(species, catalogue().guilds[species.guild], oxygen_demand_ratio=DEMAND)


def trait(arrays: CohortArrays, name: str) -> float:
    return float(arrays.traits[SLOT_TRAITS.index(name), 0])


def of_nature(arrays: CohortArrays, name: str) -> float:
    return float(arrays.nature[NATURE.index(name), 0])


def nominal(cohort: Cohort) -> CohortArrays:
    return cohort_arrays(cohort, Draws(1, 4, nominal=True))


def test_corals_are_no_cohort() -> None:
    assert set(cohorts(PAIR + CORALS)) == {"pair"}
    leather = catalogue().species["leathers"]
    assert lives_on_light(leather, catalogue().guilds[leather.guild])
    assert not lives_on_light(clown(), catalogue().guilds[clown().guild])


def test_those_already_there_are_settled_and_the_others_arrive_on_their_day() -> None:
    found = cohorts(PAIR + NEWCOMERS)
    assert (found["pair"].settled, found["pair"].arrives_day) == (True, 0)
    assert (found["newcomers"].settled, found["newcomers"].arrives_day) == (False, 10)


def test_an_animal_has_the_length_the_plan_gives_else_the_usual_one() -> None:
    given = cohorts(PAIR.replace("count = 2", 'count = 2\nlength = "4 cm"'))["pair"]
    assert given.length_cm == 4.0
    usual = clown().purchase_length_cm
    assert not isinstance(usual, Unknown)
    assert cohorts(PAIR)["pair"].length_cm == usual.value


def test_the_mass_on_arrival_follows_from_the_length() -> None:
    pair = cohorts(PAIR.replace("count = 2", 'count = 2\nlength = "4 cm"'))["pair"]
    a, b = pair.nature["weight_a"].value, pair.nature["weight_b"].value
    assert pair.arrival_mass_g == pytest.approx(a * 4.0**b)
    arrays = nominal(pair)
    carbon = pair.arrival_mass_g * pair.nature["carbon_per_g"].value
    assert arrays.structure_mmol[0] == pytest.approx(carbon)
    assert arrays.reserve_mmol[0] == pytest.approx(carbon * pair.nature["reserve_share"].value)


def test_what_nobody_knows_is_taken_from_the_kind_and_owned_up_to() -> None:
    unknown = Unknown(reason="?")
    fields = ("adult_length_cm", "metabolism_factor_ratio", "intake_max_frac_ww_per_d", "growth_kmax_per_y")
    blank = replace(clown(), **dict.fromkeys((*fields, "food_mm"), unknown))  # type: ignore[arg-type]
    found, assumed = nature(blank)
    for what in ("adult length", "oxygen uptake", "largest ration", "growth", "size of its mouth"):
        assert what in assumed
    kind = kind_table()["fish"]
    assert found["kmax_per_d"].value == pytest.approx(float(kind["kmax_per_y"]) / 365.25)
    assert found["adult_cm"].value == animal_number("adult_length_cm")
    assert "oxygen uptake" not in nature(clown())[1] or isinstance(clown().metabolism_factor_ratio, Unknown)


def test_an_animal_of_no_known_kind_is_like_the_others() -> None:
    odd, _ = nature(replace(clown(), kind="sponge"))
    assert odd["reserve_share"].value == float(kind_table()["other"]["reserve_share"])


def test_twice_the_uptake_burns_twice_as_much_with_a_narrower_band() -> None:
    value = clown().metabolism_factor_ratio
    assert not isinstance(value, Unknown)
    double = replace(value, value=2 * value.value, low=None, high=None)
    plain, doubled = nature(clown())[0], nature(replace(clown(), metabolism_factor_ratio=double))[0]
    exponent = doubled["burn_exponent"].value - plain["burn_exponent"].value
    assert exponent == pytest.approx(0.0, abs=0.2)
    burn = doubled["burn_coefficient"]
    assert burn.value > 1.5 * plain["burn_coefficient"].value
    spread = animal_number("metabolism_spread_ratio") ** animal_number("within_species_power")
    assert burn.high == pytest.approx(burn.value * spread)
    assert spread < animal_number("metabolism_spread_ratio")


def test_the_gut_of_an_adult_holds_what_it_can_eat_in_its_hours() -> None:
    found, _ = nature(clown())
    adult_g = found["weight_a"].value * found["adult_cm"].value ** found["weight_b"].value
    ration = clown().intake_max_frac_ww_per_d
    assert not isinstance(ration, Unknown)
    held = found["capacity_coefficient"].value * adult_g ** found["intake_exponent"].value
    hours = catalogue().guilds[clown().guild].gut_hours.value
    carbon = ration.value * adult_g * animal_number("food_carbon_mmol_per_g")
    assert held == pytest.approx(carbon * hours / 24.0 * animal_number("gut_room_ratio"))


def test_a_gut_is_never_too_small_to_live_on() -> None:
    pair = cohorts(PAIR + MEAL)["pair"]
    tiny = dict(pair.nature, capacity_coefficient=Range(value=1e-6, low=1e-6, high=1e-6))
    room = of_nature(nominal(replace(pair, nature=tiny)), "capacity_coefficient")
    needed = animal_number("least_ration_ratio") * pair.nature["burn_coefficient"].value
    able = needed / animal_number("kept_of_plenty_frac") * pair.gut_hours.value / 24.0
    assert room == pytest.approx(able)


def test_a_slower_gut_holds_more_of_the_same_daily_ration() -> None:
    pair = cohorts(PAIR + MEAL)["pair"]
    hours = pair.gut_hours.value
    slow = replace(pair, gut_hours=Range(value=2 * hours, low=2 * hours, high=2 * hours))
    assert trait(nominal(slow), "gut_rate") == pytest.approx(0.5 * trait(nominal(pair), "gut_rate"))
    drawn = cohort_arrays(pair, Draws(1, 64))
    rate = drawn.traits[SLOT_TRAITS.index("gut_rate")]
    room = drawn.nature[NATURE.index("capacity_coefficient")]
    assert np.corrcoef(np.log(rate), np.log(room))[0, 1] < 0


def test_who_feeds_by_day_rests_by_night() -> None:
    pair = cohorts(PAIR)["pair"]
    assert trait(nominal(replace(pair, day_share=1.0)), "night") == 0.0
    assert trait(nominal(replace(pair, day_share=0.0)), "day") == 0.0
    even = nominal(replace(pair, day_share=animal_number("daylight_h") / 24.0))
    assert trait(even, "day") == pytest.approx(trait(even, "night")) == pytest.approx(1.0)


def test_a_yearly_loss_is_the_hazard_that_leaves_the_rest_alive() -> None:
    pair = cohorts(PAIR)["pair"]
    loss = Range(value=0.2, low=0.2, high=0.2)
    hazard = trait(nominal(replace(pair, yearly_loss=loss)), "base_hazard")
    assert np.exp(-hazard * 365.25) == pytest.approx(0.8)


def test_members_differ_and_animals_of_one_species_share_their_luck() -> None:
    found = cohorts(SNAILS + NEWCOMERS)
    draws = Draws(1, 16)
    first, second = (cohort_arrays(found[name], draws) for name in ("snails", "newcomers"))
    burn = NATURE.index("burn_coefficient")
    assert len(set(first.nature[burn].tolist())) == 16
    assert np.array_equal(first.nature[burn], second.nature[burn])


def test_likings_of_grown_food_are_weighed_by_how_fast_it_is_grazed() -> None:
    snails = cohorts(SNAILS + MEAL)["snails"]
    arrays = nominal(snails)
    assert trait(arrays, "weight_Q_1") == pytest.approx(snails.likings["Q_1"])
    film, turf = trait(arrays, "weight_A_F"), trait(arrays, "weight_A_T")
    assert film / turf == pytest.approx(snails.likings["A_F"] / snails.likings["A_T"])
    assert [of_nature(arrays, f"liking_{pool}") for pool in POOLS] == [
        trait(arrays, f"weight_{pool}") for pool in POOLS
    ]
