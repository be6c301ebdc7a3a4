"""The foods of a plan as the kernel's food slots: carbon, composition, size of pieces, how long it drifts."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, Food, FoodClass, Pool, known
from backreef.errors import BackreefError
from backreef.models.matrix import FOOD_COUNT, MACRONUTRIENTS, Matrix
from backreef.simulation.tables import animal_number, system_number
from backreef.units import atomic_mass_g_per_mol
from backreef.working.record import askable

MG_PER_G = 1000.0
RING = "feeding_ring"


class TooManyFoods(BackreefError):
    """A plan offers more kinds of food than the kernel keeps apart."""


class FoodUnknown(BackreefError):
    """A food whose composition is not known cannot be fed in a forecast."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodSlot:
    """One food of the plan."""

    food: Food
    pool: Pool
    food_class: FoodClass
    carbon_mmol_per_g: float
    """Per gram as fed."""
    shares: dict[str, float]
    """Of the carbon: protein, lipid, carbohydrate; and phosphorus per carbon."""
    composition: tuple[float, float, float, float]
    """C, N, P and oxygen demand per mmol C."""
    particle_mm: float
    settle_ratio: float
    dry_frac: float


def food_slots(plan: Plan, catalogue: Catalogue, matrix: Matrix) -> tuple[FoodSlot, ...]:
    """Give the foods of a plan in the order of their first meal.

    Raises
    ------
    TooManyFoods
        If there are more than the kernel keeps apart.
    FoodUnknown
        If nobody knows what a food is made of.
    """
    wanted = list(dict.fromkeys(meal.food for meal in plan.meals))
    if len(wanted) > FOOD_COUNT:
        raise TooManyFoods(
            f"the plan offers {len(wanted)} kinds of food ({', '.join(wanted)}); "
            f"the forecast keeps {FOOD_COUNT} apart: drop one, or give two like foods as one"
        )
    ringed = any(device.kind == RING for device in plan.devices)
    return tuple(_slot(catalogue.foods[name], matrix, ringed=ringed) for name in wanted)


def _slot(food: Food, matrix: Matrix, *, ringed: bool) -> FoodSlot:
    needed = {name: known(getattr(food, name)) for name in ("protein_frac", "fat_frac", "nfe_frac")}
    if any(value is None for value in needed.values()):
        raise FoodUnknown(
            f"{food.id}: its composition is not known well enough to forecast with; choose another food"
        )
    grams = [value.value for value in needed.values() if value is not None]
    contents = [matrix.tables.macronutrients[name] for name in MACRONUTRIENTS]
    carbon = [g * content["carbon_mmol_per_g"] for g, content in zip(grams, contents, strict=True)]
    total = _carbon_mmol_per_g(carbon)
    phosphorus = known(food.phosphorus_frac)
    per_g = animal_number("food_phosphorus_ratio") * total
    if phosphorus:
        per_g = phosphorus.value * MG_PER_G / atomic_mass_g_per_mol()["P"]
    shares = {name: part / total for name, part in zip(MACRONUTRIENTS, carbon, strict=True)}
    in_protein = contents[0]["phosphorus_per_carbon"] * shares["protein"]
    shares["phosphorus"] = max(per_g / total, animal_number("least_phosphorus_ratio") * in_protein)
    nitrogen = shares["protein"] * contents[0]["nitrogen_per_carbon"]
    demand = sum(
        shares[n] * c["oxygen_demand_per_carbon"] for n, c in zip(MACRONUTRIENTS, contents, strict=True)
    )
    size, sink, moisture = known(food.particle_mm), known(food.sink_cm_per_s), known(food.moisture_frac)
    return FoodSlot(
        food=food,
        pool=food.pool,
        food_class=food.food_class,
        carbon_mmol_per_g=total,
        shares=shares,
        composition=(1.0, nitrogen, shares["phosphorus"], demand),
        particle_mm=size.value if size else animal_number("piece_mm"),
        settle_ratio=_settle_ratio(food, sink.value if sink else None, ringed=ringed),
        dry_frac=1.0 - (moisture.value if moisture else 0.0),
    )


@askable
def _carbon_mmol_per_g(parts: list[float]) -> float:
    """Carbon of a gram of food as fed: that of its protein, fat and carbohydrate. [mmol C/g]"""
    return sum(parts)


def _settle_ratio(food: Food, sink_cm_per_s: float | None, *, ringed: bool) -> float:
    """How fast it leaves the water against a slowly sinking grain: a sheet is held, a heavy pellet drops.

    A feeding ring keeps what floats in one place, away from the overflow.
    """
    if food.pool == "seaweed_sheet":
        return animal_number("held_settle_ratio")
    held = animal_number("ring_holds_ratio") if ringed and _floats(food, sink_cm_per_s) else 1.0
    if sink_cm_per_s is None:
        return held
    bounded = min(max(sink_cm_per_s, animal_number("slowest_cm_per_s")), animal_number("fastest_cm_per_s"))
    return held * float((bounded / animal_number("usual_cm_per_s")) ** animal_number("settle_exponent"))


def _floats(food: Food, sink_cm_per_s: float | None) -> bool:
    """Whether it lies on the surface at first: dry flakes and granules of which none sinks fast."""
    grains = food.food_class == "dry" and food.pool == "particles_in_water"
    return grains and (sink_cm_per_s is None or sink_cm_per_s < animal_number("floats_below_cm_per_s"))


def refused_of_stale_frac(overdue_ratio: float) -> float:
    """Share of a stale food that is left or does no good: more the longer its pack should be gone. [-]

    `overdue_ratio` is the time since it went stale over the time for which it keeps. Each further such time
    takes the same share of what was still good.
    """
    return float(1.0 - (1.0 - system_number("stale_refused_frac")) ** overdue_ratio)
