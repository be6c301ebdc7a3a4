"""What holds for every mouth: books that close for each animal, no more eaten than offered, no order."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import backreef
from backreef.catalogue.entries import Value
from backreef.models.mathops import Quantity
from backreef.models.matrix import packaged_matrix
from backreef.models.mouths import MEAL_SUMS, POOLS, SLOT_TRAITS, Feast, feast, pool_reaches
from backreef.schedule.meals import meal_book
from backreef.schedule.presence import presence
from backreef.simulation.bodies import BOTTOM_PARTS, body_of, pool_compositions
from backreef.simulation.cohorts import Cohort, cohort_arrays, cohorts_of
from backreef.simulation.draws import Draws
from backreef.simulation.foods import food_slots
from tests.searching import tries
from tests.tanks import Tank
from tests.unit.aquarium.plans import catalogue, plan_of

MATRIX = packaged_matrix()
BODY = body_of(MATRIX)
SPECIES = (
    "ocellaris_clown",
    "yellow_tang",
    "mandarin",
    "trochus",
    "skunk_cleaner",
    "tuxedo_urchin",
    "black_cucumber",
    "lyretail_anthias",
)
ANIMALS = "".join(f'[[animals]]\nspecies = "{name}"\ncount = 2\n' for name in SPECIES)
TWO_FOODS = '[[meals]]\nfood = "pellet_small"\namount = "0.2 g"\n[[meals]]\nfood = "nori"\namount = "1 g"\n'
PLAN = plan_of('start_on = 2027-01-04\n[tank]\ndisplay = "300 L"\n' + ANIMALS + TWO_FOODS)
FOODS = food_slots(PLAN, catalogue(), MATRIX)
COHORTS = cohorts_of(PLAN, catalogue(), MATRIX, BODY, FOODS)
PARAMETERS = {name: one.value for name, one in MATRIX.tables.parameters.items()}
CONTENT = Tank().composition
ELEMENTS = {"carbon": 0, "nitrogen": 1, "phosphorus": 2, "oxygen demand": 3}
BODY_HOLDS = (1.0, BODY.nitrogen, BODY.phosphorus, BODY.oxygen_demand)
TOLERANCE = 1e-9


def a_feast(cohort: Cohort, seed: int, *, more_food_ratio: float = 1.0) -> Feast:
    """A cohort at a random hour in a random tank."""
    luck = Random(seed)
    arrays = cohort_arrays(cohort, Draws(seed, 1))
    slot: dict[str, Quantity] = dict(zip(SLOT_TRAITS, arrays.traits[:, 0].tolist(), strict=True))
    mass = 10.0 ** luck.uniform(-1, 2)
    slot |= {"count": float(luck.randint(1, 9)), "speed": 200.0 * mass, "capacity": mass, "goal": 3.0 * mass}
    slot |= {"burn": 0.5 * mass, "growth": luck.uniform(0.0, 0.05) * mass, "pushes": luck.uniform(0.0, 3.0)}
    slot |= {
        "gut": luck.uniform(0.0, 1.0) * mass,
        "reserve": luck.uniform(0.0, 1.2) * slot["goal"] * slot["count"],
    }
    known: dict[str, Quantity] = {**PARAMETERS, **Tank().food_numbers()}
    known |= {"A_rock": 3.0, "A_sand": 0.4, "A_glass": 2.0, "V": luck.uniform(50.0, 2000.0)}
    known |= pool_reaches(known)
    for pool in (*POOLS, *BOTTOM_PARTS):
        known[pool] = 10.0 ** luck.uniform(-3, 3) * (more_food_ratio if pool.startswith("Q_") else 1.0)
    own = slot["count"] * slot["comes"]
    known |= {"heads": own + luck.uniform(0.0, 9.0), "bites": own * slot["speed"] + luck.uniform(0.0, 1e4)}
    known |= {"pushing": slot["count"] * slot["pushes"] + luck.uniform(0.0, 9.0)}
    known |= {
        "O2": luck.uniform(20.0, 250.0),
        "nh3": 1.0,
        "day_shape": luck.uniform(0.0, 1.0),
        "t_animal": 1.0,
    }
    assert known.keys() >= MEAL_SUMS.keys()
    return feast(slot, known, BODY, contents(known))


def contents(known: dict[str, Quantity]) -> dict[str, tuple[Quantity, ...]]:
    found = dict(pool_compositions(known, MATRIX))
    return {name: tuple(parts) for name, parts in found.items()}


@tries(60)
@given(place=st.integers(0, len(COHORTS) - 1), seed=st.integers(0, 10**6))
def test_carbon_nitrogen_phosphorus_and_energy_close_for_each_animal(place: int, seed: int) -> None:
    # energy is counted as the oxygen that burning takes: what is eaten is kept, egested, or burnt with it
    found = a_feast(COHORTS[place], seed)
    for name, element in ELEMENTS.items():
        flows = [float(change) * CONTENT[pool][element] for pool, change in found.shared.items()]
        flows.append(float(found.reserve + found.structure) * BODY_HOLDS[element])
        through = sum(abs(flow) for flow in flows)
        assert abs(sum(flows)) <= TOLERANCE * through, name


@tries(60)
@given(place=st.integers(0, len(COHORTS) - 1), seed=st.integers(0, 10**6), ratio=st.floats(1.0, 10.0))
def test_more_food_is_never_less_food_eaten(place: int, seed: int, ratio: float) -> None:
    little, much = (a_feast(COHORTS[place], seed, more_food_ratio=each) for each in (1.0, ratio))
    drifting = [place for place, pool in enumerate(POOLS) if pool.startswith("Q_")]
    eaten = [sum(float(found.eaten[place]) for place in drifting) for found in (little, much)]
    assert eaten[1] >= eaten[0] * (1.0 - 1e-12)


def grams_of(amount: float, *, hopper: float, closed: bool, by: str) -> float:
    away = "closed = [{ first = 2027-02-01, last = 2027-02-21 }]\n" if closed else ""
    lines = (
        'start_on = 2027-01-04\n[tank]\ndisplay = "300 L"\n[keeper]\npresence = ["Tue-Fri 9:00-19:00"]\n'
        f'{away}[goals]\nhorizon = "0.3 years"\n[[devices]]\nid = "feeder"\nkind = "feeder_auger"\n'
        f'hopper = "{hopper:.3f} g"\n[[meals]]\nfood = "pellet_small"\namount = "{amount:.5f} g"\n'
        f'by = "{by}"\ntimes = ["10:00", "16:00"]\n'
    )
    plan = plan_of(lines)
    book = meal_book(plan, catalogue(), presence=presence(plan))
    return sum(occasion.food_g for occasion in book.occasions)


@tries(40)
@given(
    amount=st.floats(0.001, 2.0),
    ratio=st.floats(1.0, 5.0),
    hopper=st.floats(5.0, 100.0),
    closed=st.booleans(),
    by=st.sampled_from(("hand", "feeder")),
)
def test_more_food_in_a_plan_never_brings_less_nitrogen(
    amount: float, ratio: float, hopper: float, closed: bool, by: str
) -> None:
    # also where a hopper runs empty, or a meal is below the smallest portion or above a whole filling
    less, more = (grams_of(each, hopper=hopper, closed=closed, by=by) for each in (amount, amount * ratio))
    assert more >= less * (1.0 - 1e-9)


def small_plan(entries: list[str]) -> str:
    return (
        'start_on = 2027-01-04\n[tank]\ndisplay = "200 L"\n[goals]\nhorizon = "0.06 years"\n'
        + "".join(entries)
        + '[[meals]]\nfood = "pellet_small"\namount = "0.2 g"\ntimes = ["12:00", "17:00"]\n'
    )


@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_of_animals_in_a_plan_changes_nothing(seed: int) -> None:
    entries = [f'[[animals]]\nid = "a{n}"\nspecies = "{name}"\ncount = 2\n' for n, name in enumerate(SPECIES)]
    shuffled = entries.copy()
    Random(seed).shuffle(shuffled)
    first, other = (
        backreef.forecast(plan_of(small_plan(each)), members=8, seed=seed) for each in (entries, shuffled)
    )
    for name, band in first.series.items():
        np.testing.assert_array_equal(band.p50, other.series[name].p50)
    conditions = [{a.id: a.condition.p50.tolist() for a in found.animals} for found in (first, other)]
    assert conditions[0] == conditions[1]


def test_no_more_is_eaten_than_was_offered() -> None:
    found = backreef.forecast(plan_of(small_plan(['[[animals]]\nspecies = "ocellaris_clown"\ncount = 30\n'])))
    fed_g = float(found.meals[0].grams_as_fed_per_day.sum())
    moist = catalogue().foods["pellet_small"].moisture_frac
    eaten_g = sum(
        animal.ration_g_dry_per_d_p50 * share * found.days
        for animal in found.animals
        for food, share in animal.eats
        if food.startswith("Slow-sinking")
    )
    assert isinstance(moist, Value)
    assert 0.3 * fed_g < eaten_g <= fed_g * (1.0 - moist.value)
