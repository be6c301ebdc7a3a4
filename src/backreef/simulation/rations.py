"""How many grams are 'enough for' animals: what they burn (and grow) over what a gram of the food gives."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache

from backreef.aquarium.plan import Meal, Plan
from backreef.models.body_values import body_numbers
from backreef.models.metabolism import reference_c, temperature_factor
from backreef.models.mouths import FOOD_POOLS
from backreef.models.tables import load_tables
from backreef.simulation.cohorts import Cohort
from backreef.simulation.foods import FoodSlot
from backreef.simulation.tables import animal_number
from backreef.working.number import as_number, to_power
from backreef.working.record import askable, told

DAYS_PER_WEEK = 7.0
Grams = Callable[[Meal, int], float]
"""Grams as fed of a meal at each of its hours, on a day."""


def ration_function(plan: Plan, cohorts: list[Cohort], foods: tuple[FoodSlot, ...]) -> Grams:
    """Give the function that the schedule asks for the grams of a meal that is enough for somebody."""
    places = {food.food.id: index for index, food in enumerate(foods)}
    sized = [meal for meal in plan.meals if meal.grams_as_fed is None]
    eaters = eaters_of(plan, cohorts, foods)
    tried = dict(plan.ration_ratios)
    fed_by = Counter(cohort.entry.id for found in eaters.values() for cohort in found)
    warmth_ratio = warmth_of(plan)
    by_id = {meal.id: meal for meal in sized}

    @cache
    @askable
    def grams_from(meal_id: str, day: int) -> float:
        """Grams as fed of a meal at each of its hours, as set on a day. [g]"""
        meal = by_id[meal_id]
        food, pool = foods[places[meal.food]], FOOD_POOLS[places[meal.food]]
        total = 0.0
        for cohort in eaters[meal_id]:
            if day >= cohort.arrives_day:
                carbon = needed_mmol_per_d(cohort, day, warmth_ratio, growth=meal.enough_for == "growth")
                ration = ration_of_one_g_per_d(cohort, food, pool, needed_mmol_per_d=carbon)
                total += cohort.entry.count * ration / fed_by[cohort.entry.id]
        times_a_week = len(meal.times) * len(meal.weekdays)
        reckoned = total * DAYS_PER_WEEK / max(times_a_week, 1) / animal_number("reaches_mouths_frac")
        return tried.get(meal_id, 1.0) * reckoned

    arrivals = sorted({cohort.arrives_day for cohort in cohorts})
    lasts_d = int(animal_number("set_anew_d"))

    def grams(meal: Meal, day: int) -> float:
        """The setting of the day on which somebody last set it: every few weeks, and at arrivals."""
        last_arrival = max((each for each in arrivals if each <= day), default=0)
        return grams_from(meal.id, last_arrival + (day - last_arrival) // lasts_d * lasts_d)

    return grams


@askable
def ration_of_one_g_per_d(cohort: Cohort, food: FoodSlot, pool: str, *, needed_mmol_per_d: float) -> float:
    """Food as fed that gives one animal what it needs in a day, if it eats nothing else. [g/d]"""
    gram = max(cohort.kept[pool], animal_number("least_kept_ratio")) * food.carbon_mmol_per_g
    return needed_mmol_per_d / gram


def eaters_of(plan: Plan, cohorts: list[Cohort], foods: tuple[FoodSlot, ...]) -> dict[str, list[Cohort]]:
    """Give, for each meal that is 'enough for' somebody, the cohorts for which it is to be enough."""
    places = {food.food.id: index for index, food in enumerate(foods)}
    sized = [meal for meal in plan.meals if meal.grams_as_fed is None]
    return {meal.id: _eaters(meal, cohorts, places[meal.food]) for meal in sized}


def _eaters(meal: Meal, cohorts: list[Cohort], place: int) -> list[Cohort]:
    named = [cohort for cohort in cohorts if cohort.entry.id in meal.who]
    if named:
        return named
    least = animal_number("eats_from_frac")
    return [cohort for cohort in cohorts if cohort.likings[FOOD_POOLS[place]] >= least]


def warmth_of(plan: Plan) -> float:
    """How much faster than at the reference bodies burn at the plan's temperature. [-]"""
    return as_number(
        temperature_factor(
            plan.tank.temperature_c,
            reference_c=reference_c(),
            activation_energy_ev=body_numbers()["oxygen_line.activation_energy_ev"],
        )
    )


@askable
def mass_on_day_g(cohort: Cohort, day: int) -> float:
    """Expected wet mass of one animal on a day, if it grows as its kind does. [g]"""
    nature = {name: span.value for name, span in cohort.nature.items()}
    days = max(0, day - cohort.arrives_day)
    adult = nature["adult_cm"]
    missing = max(0.0, adult - cohort.length_cm)
    length = max(cohort.length_cm, adult - missing * (1.0 - nature["kmax_per_d"]) ** days)
    return nature["weight_a"] * to_power(length, nature["weight_b"])


@askable
def needed_mmol_per_d(cohort: Cohort, day: int, warmth_ratio: float, *, growth: bool) -> float:
    """Reserve that one animal needs in a day: what it burns and, if wanted, what growth takes. [mmol C/d]"""
    nature = {name: span.value for name, span in cohort.nature.items()}
    mass = mass_on_day_g(cohort, day)
    need = nature["burn_coefficient"] * to_power(mass, nature["burn_exponent"]) * warmth_ratio
    if growth:
        cost_ratio = told(load_tables().parameters["growth_cost"], "models.growth_cost").value
        gain = mass_on_day_g(cohort, day + 1) - mass
        need += gain * nature["carbon_per_g"] * (1.0 + cost_ratio)
    return need
