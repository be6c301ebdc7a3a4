"""What food costs the water: its nitrogen, what of it nobody ate adrift, and the changes to take that out."""

from __future__ import annotations

from collections.abc import Mapping
from statistics import fmean

import numpy as np
import numpy.typing as npt

from backreef.judgement.pantry_lines import FoodPrice
from backreef.judgement.verdict import MealStream
from backreef.simulation.prepared import Prepared
from backreef.units import DAYS_PER_MONTH, atomic_mass_g_per_mol, told_mass_g_per_mol

Array = npt.NDArray[np.float64]
MG_PER_G = 1000.0


def food_price(
    prepared: Prepared, meals: tuple[MealStream, ...], series: Mapping[str, Array]
) -> FoodPrice | None:
    """Give the price of a month's food; None where nothing is fed.

    The share of the water to change is what would carry the nitrogen of the uneaten food out as nitrate, at
    the nitrate that the water mostly has; bacteria, algae and the skimmer take a part of it in the tank.
    """
    held = {meal.id: _nitrogen_frac(prepared, meal.food) for meal in prepared.plan.meals}
    fed = {
        meal.id: DAYS_PER_MONTH * fmean(meal.grams_as_fed_per_day.tolist()) * held[meal.id] for meal in meals
    }
    total = sum(fed.values())
    if total <= 0.0:
        return None
    uneaten = sum(fed[meal.id] * (1.0 - meal.eaten_share_p50) for meal in meals)
    volume_l = prepared.plan.tank.water_volume_l
    ratio = told_mass_g_per_mol("NO3") / atomic_mass_g_per_mol()["N"]
    rise = uneaten * MG_PER_G * ratio / volume_l
    held_mg_per_l = float(np.median(series["nitrate_mg_no3_per_l"]))
    return FoodPrice(
        nitrogen_g_per_month=total,
        uneaten_nitrogen_g_per_month=uneaten,
        uneaten_as_mg_no3_per_l_per_month=rise,
        nitrate_held_mg_no3_per_l=held_mg_per_l,
        change_l_per_month=None if held_mg_per_l < 1.0 else volume_l * rise / held_mg_per_l,
    )


def _nitrogen_frac(prepared: Prepared, food_id: str) -> float:
    """Nitrogen of a gram of food as fed. [g/g]"""
    slot = next(slot for slot in prepared.foods if slot.food.id == food_id)
    return slot.carbon_mmol_per_g * slot.composition[1] * atomic_mass_g_per_mol()["N"] / MG_PER_G
