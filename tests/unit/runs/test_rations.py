import pytest

from backreef.models.body_values import body_numbers
from backreef.models.metabolism import REFERENCE_C, temperature_factor
from backreef.models.tables import load_tables
from backreef.simulation.cohorts import Cohort
from backreef.simulation.rations import mass_on_day_g, needed_mmol_per_d, ration_function
from backreef.simulation.tables import animal_number
from tests.unit.runs.world import PAIR, SIZED, SNAILS, prepared

LATER = '[[animals]]\nid = "later"\nspecies = "ocellaris_clown"\ncount = 2\narrives_on = 2027-01-14\n'


def pair() -> Cohort:
    return prepared(PAIR + SIZED).cohorts[0]


def grams(lines: str, day: int) -> float:
    ready = prepared(lines)
    (meal,) = ready.plan.meals
    return ration_function(ready.plan, ready.cohorts, ready.foods)(meal, day)


def test_an_animal_grows_towards_its_adult_mass_and_not_beyond() -> None:
    masses = [mass_on_day_g(pair(), day) for day in (0, 100, 1000, 100_000)]
    assert masses == sorted(masses)
    assert masses[0] == pytest.approx(pair().arrival_mass_g)
    nature = pair().nature
    adult = nature["weight_a"].value * nature["adult_cm"].value ** nature["weight_b"].value
    assert masses[-1] == pytest.approx(adult)


def test_before_it_comes_it_does_not_grow() -> None:
    later = next(c for c in prepared(PAIR + LATER + SIZED).cohorts if c.entry.id == "later")
    assert mass_on_day_g(later, 0) == mass_on_day_g(later, later.arrives_day)


def test_it_needs_what_it_burns_and_for_growth_what_it_builds_and_burns_beside() -> None:
    nature, day = {name: span.value for name, span in pair().nature.items()}, 20
    mass, tomorrow = mass_on_day_g(pair(), day), mass_on_day_g(pair(), day + 1)
    burnt = nature["burn_coefficient"] * mass ** nature["burn_exponent"] * 0.8
    assert needed_mmol_per_d(pair(), day, 0.8, growth=False) == pytest.approx(burnt)
    cost = load_tables().parameters["growth_cost"].value
    built = (tomorrow - mass) * nature["carbon_per_g"]
    assert needed_mmol_per_d(pair(), day, 0.8, growth=True) == pytest.approx(burnt + built * (1 + cost))


def test_a_meal_is_enough_for_those_who_eat_it() -> None:
    """Two meals a day, seven days a week; a part of each never reaches a mouth."""
    ready = prepared(PAIR + SIZED)
    warmth = temperature_factor(
        ready.plan.tank.temperature_c,
        reference_c=REFERENCE_C,
        activation_energy_ev=body_numbers()["oxygen_line.activation_energy_ev"],
    )
    need = 2 * needed_mmol_per_d(pair(), 0, float(warmth), growth=False)
    carbon = pair().kept["Q_1"] * ready.foods[0].carbon_mmol_per_g
    expected = need / carbon / 2 / animal_number("reaches_mouths_frac")
    assert grams(PAIR + SIZED, 0) == pytest.approx(expected)


def test_a_colder_tank_needs_less() -> None:
    cold = prepared(PAIR + SIZED).plan.tank.temperature_c - 3
    assert grams(f'temperature = "{cold} degC"\n' + PAIR + SIZED, 0) < grams(PAIR + SIZED, 0)


def test_twice_as_many_meals_are_half_as_large() -> None:
    four = SIZED.replace('"08:00", "18:00"', '"08:00", "11:00", "15:00", "18:00"')
    assert grams(PAIR + four, 0) == pytest.approx(grams(PAIR + SIZED, 0) / 2)


def test_a_portion_is_set_anew_after_weeks_and_when_somebody_comes() -> None:
    lasts = int(animal_number("set_anew_d"))
    assert grams(PAIR + SIZED, 0) == grams(PAIR + SIZED, lasts - 1) < grams(PAIR + SIZED, lasts)
    lines = PAIR + LATER + SIZED
    assert grams(lines, 0) == grams(lines, 9) < grams(lines, 10)
    assert grams(lines, 10) == grams(lines, 10 + lasts - 1) < grams(lines, 10 + lasts)


def test_it_feeds_whom_the_plan_names_and_nobody_else() -> None:
    only = SIZED + 'who = ["pair"]\n'
    assert grams(PAIR + SNAILS + only, 0) == pytest.approx(grams(PAIR + SIZED, 0))


def test_two_meals_share_those_they_both_feed() -> None:
    twice = PAIR + SIZED + SIZED.replace('id = "meal"', 'id = "other"')
    ready = prepared(twice)
    size = ration_function(ready.plan, ready.cohorts, ready.foods)
    assert [size(meal, 0) for meal in ready.plan.meals] == pytest.approx([grams(PAIR + SIZED, 0) / 2] * 2)


def test_a_meal_for_nobody_is_nothing() -> None:
    assert grams(SIZED, 0) == 0.0
