"""How many grams are 'enough for' animals: what they burn (and grow) on a day, over what a gram of the food gives."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache

from backreef.aquarium.plan import Meal, Plan
from backreef.models.body_values import body_numbers
from backreef.models.metabolism import temperature_factor
from backreef.models.mouths import FOOD_POOLS
from backreef.simulation.cohorts import REFERENCE_C, Cohort
from backreef.simulation.foods import FoodSlot

GROWTH_COST = 2.0
"""As the parameter `growth_cost`; only sizes the ration."""
REACHES_MOUTHS_FRAC = 0.6
"""Share of a meal on which the shyest mouths can count: a part is lost, feeders err, greedy ones take more. practice"""
LEAST_LIKING = 0.2
LEAST_KEPT = 0.05
SET_ANEW_DAYS = 28
"""A feeder's portion is set anew when it is refilled, about every four weeks. Source: practice."""


def ration_function(
    plan: Plan, cohorts: list[Cohort], foods: tuple[FoodSlot, ...]
) -> Callable[[Meal, int], float]:
    """Give the function that the schedule asks for the grams as fed of a meal at each of its hours on a day."""
    places = {food.food.id: index for index, food in enumerate(foods)}
    sized = [meal for meal in plan.meals if meal.grams_as_fed is None]
    eaters = {meal.id: _eaters(meal, cohorts, places[meal.food]) for meal in sized}
    fed_by = Counter(cohort.entry.id for found in eaters.values() for cohort in found)
    warmth = float(
        temperature_factor(
            plan.tank.temperature_c,
            reference_c=REFERENCE_C,
            activation_energy_ev=body_numbers()["oxygen_line.activation_energy_ev"],
        )
    )
    by_id = {meal.id: meal for meal in sized}

    @cache
    def grams_from(meal_id: str, day: int) -> float:
        meal = by_id[meal_id]
        food, pool = foods[places[meal.food]], FOOD_POOLS[places[meal.food]]
        total = 0.0
        for cohort in eaters[meal_id]:
            if day >= cohort.arrives_day:
                carbon = needed_mmol_per_d(cohort, day, warmth, growth=meal.enough_for == "growth")
                gram = max(cohort.kept[pool], LEAST_KEPT) * food.carbon_mmol_per_g
                total += cohort.entry.count * carbon / gram / fed_by[cohort.entry.id]
        times_a_week = len(meal.times) * len(meal.weekdays)
        return total * 7.0 / max(times_a_week, 1) / REACHES_MOUTHS_FRAC

    arrivals = sorted({cohort.arrives_day for cohort in cohorts})

    def grams(meal: Meal, day: int) -> float:
        """The setting of the day on which somebody last came along to set it: every four weeks and at arrivals."""
        last_arrival = max((each for each in arrivals if each <= day), default=0)
        return grams_from(meal.id, last_arrival + (day - last_arrival) // SET_ANEW_DAYS * SET_ANEW_DAYS)

    return grams


def _eaters(meal: Meal, cohorts: list[Cohort], place: int) -> list[Cohort]:
    named = [cohort for cohort in cohorts if cohort.entry.id in meal.who]
    return named or [cohort for cohort in cohorts if cohort.likings[FOOD_POOLS[place]] >= LEAST_LIKING]


def mass_on_day_g(cohort: Cohort, day: int) -> float:
    """Expected wet mass of one animal on a day, if it grows as its kind does. [g]"""
    nature = {name: span.value for name, span in cohort.nature.items()}
    days = max(0, day - cohort.arrives_day)
    adult = nature["adult_cm"]
    missing = max(0.0, adult - cohort.length_cm)
    length = max(cohort.length_cm, adult - missing * (1.0 - nature["kmax_per_d"]) ** days)
    return float(nature["weight_a"] * length ** nature["weight_b"])


def needed_mmol_per_d(cohort: Cohort, day: int, warmth: float, *, growth: bool) -> float:
    """Reserve that one animal needs in a day: what it burns and, if wanted, what growth takes. [mmol C/d]"""
    nature = {name: span.value for name, span in cohort.nature.items()}
    mass = mass_on_day_g(cohort, day)
    need = nature["burn_coefficient"] * mass ** nature["burn_exponent"] * warmth
    if growth:
        gain = mass_on_day_g(cohort, day + 1) - mass
        need += gain * nature["carbon_per_g"] * (1.0 + GROWTH_COST)
    return float(need)
