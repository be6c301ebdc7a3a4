"""What food costs the water: its nitrogen, what of it nobody ate adrift, and the changes to take that out."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from backreef.judgement.horizon import horizon_d
from backreef.judgement.pantry_lines import FoodPrice
from backreef.judgement.verdict import MealStream
from backreef.simulation.prepared import Prepared
from backreef.units import DAYS_PER_MONTH, atomic_mass_g_per_mol, ion_per_element_ratio
from backreef.working.members import Seen, middle
from backreef.working.number import total
from backreef.working.record import askable, named, told, told_constant
from backreef.working.steps import About

Array = npt.NDArray[np.float64]
_UNEATEN = About(
    symbol="uneaten_n", key="food.uneaten", kind="law", what="nitrogen of it in a month", unit="g"
)
_NITRATE = Seen(symbol="nitrate", what="nitrate", unit="mg/L NO3", of="days of all members")
MG_PER_G = 1000.0


def food_price(
    prepared: Prepared, meals: tuple[MealStream, ...], series: Mapping[str, Array]
) -> FoodPrice | None:
    """Give the price of a month's food; None where nothing is fed.

    The share of the water to change is what would carry the nitrogen of the uneaten food out as nitrate, at
    the nitrate that the water mostly has; bacteria, algae and the skimmer take a part of it in the tank.
    """
    held = {meal.id: _nitrogen_frac(prepared, meal.food) for meal in prepared.plan.meals}
    month_d = told_constant(DAYS_PER_MONTH, "DAYS_PER_MONTH", "backreef.units")
    fed = {meal.id: month_d * fed_g_per_d(prepared, meal.id) * held[meal.id] for meal in meals}
    brought = total(fed.values())
    if brought <= 0.0:
        return None
    uneaten = named(total(fed[meal.id] * _uneaten_frac(meal) for meal in meals), _UNEATEN)
    volume_l = prepared.plan.tank.water_volume_l
    ratio = ion_per_element_ratio("NO3", "N")
    rise = uneaten * told_constant(MG_PER_G, "MG_PER_G", __name__) * ratio / volume_l
    held_mg_per_l = middle(series["nitrate_mg_no3_per_l"], _NITRATE)
    return FoodPrice(
        nitrogen_g_per_month=brought,
        uneaten_nitrogen_g_per_month=uneaten,
        uneaten_as_mg_no3_per_l_per_month=rise,
        nitrate_held_mg_no3_per_l=held_mg_per_l,
        change_l_per_month=None if held_mg_per_l < 1.0 else volume_l * rise / held_mg_per_l,
    )


@askable
def _uneaten_frac(meal: MealStream) -> float:
    """Share of a meal that nobody ate while it was adrift. [-]"""
    return 1.0 - meal.eaten_share_p50


@askable
def _nitrogen_frac(prepared: Prepared, food_id: str) -> float:
    """Nitrogen of a gram of food as fed. [g/g]"""
    slot = next(slot for slot in prepared.foods if slot.food.id == food_id)
    mass = told(atomic_mass_g_per_mol(), "units.atomic_masses", source="prohaska2022", status="memory")
    mg_per_g = told_constant(MG_PER_G, "MG_PER_G", __name__)
    return slot.carbon_mmol_per_g * slot.composition[1] * mass["N"] / mg_per_g


@askable
def fed_g_per_d(prepared: Prepared, meal_id: str) -> float:
    """Grams of a meal as fed in a day, the mean of all days of the plan. [g/d]"""
    given = [each.food_g for each in prepared.keeper.meals.occasions if each.meal_id == meal_id]
    return total(given) / horizon_d(prepared)
