"""How long food keeps once a pack is open, by its packaging, and how often somebody has to buy it."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, Food, Value, known
from backreef.units import DAYS_PER_MONTH
from backreef.working.record import told_constant

USUAL = "usual"


@dataclass(frozen=True, slots=True, kw_only=True)
class Packaging:
    """A way to pack food: how well it keeps out what spoils it, against what is usual."""

    kind: str
    name: str
    life_ratio: float
    """Life of an opened pack over the usual one: light, oxygen and damp together. [-]"""


@cache
def packagings() -> Mapping[str, Packaging]:
    """Every kind of packaging by its name in plans."""
    barriers = ("light_ratio", "oxygen_ratio", "damp_ratio")
    found = {}
    for row in _rows("backreef.catalogue", "packaging.csv"):
        ratio = 1.0
        for barrier in barriers:
            ratio *= float(row[barrier])
        found[row["kind"]] = Packaging(kind=row["kind"], name=row["name"], life_ratio=ratio)
    return found


@cache
def pantry() -> Mapping[str, Value]:
    """Numbers of buying and keeping food, by name."""
    return {
        row["name"]: Value(
            value=float(row["value"]),
            low=float(row["low"]),
            high=float(row["high"]),
            unit=row["unit"],
            source=row["source"],
            status=row["status"],  # type: ignore[arg-type]
        )
        for row in _rows("backreef.schedule", "pantry.csv")
    }


def _rows(room: str, name: str) -> list[dict[str, str]]:
    with (files(room) / "data" / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def is_frozen(food: Food) -> bool:
    """Whether it is kept in a freezer."""
    return food.cold_chain == "freezer"


def is_bought(food: Food) -> bool:
    """Whether it comes from a shop, and not from a culture or the tank itself."""
    return (
        food.cold_chain != "culture"
        and food.food_class not in ("live", "pods")
        and not food.form.startswith("fresh")
    )


def opened_life_d(food: Food, packaging: str = USUAL) -> Value | None:
    """Days for which an opened pack stays good; None where nobody knows. [d]

    Never longer than a sealed one. Of frozen food the rest stays frozen, and a pack lasts as long as the
    freezer keeps it.
    """
    opened, sealed = known(food.storage_open_months), sealed_life_d(food)
    if is_frozen(food):
        return sealed
    if opened is None:
        return None
    ratio = (
        told_constant(DAYS_PER_MONTH, "DAYS_PER_MONTH", "backreef.units")
        * packagings()[packaging or USUAL].life_ratio
    )
    most = (opened.value, opened.lowest, opened.highest)
    bounds = (sealed.value, sealed.lowest, sealed.highest) if sealed else (float("inf"),) * 3
    middle, low, high = (min(ratio * months, bound) for months, bound in zip(most, bounds, strict=True))
    return Value(value=middle, low=low, high=high, unit="d", source=opened.source, status=opened.status)


def sealed_life_d(food: Food) -> Value | None:
    """Days for which a pack that nobody has opened stays good at home; None where nobody knows. [d]"""
    sealed = known(food.storage_sealed_months)
    if sealed is None:
        return None
    ratio = pantry()["freezer_life_ratio"] if is_frozen(food) else None
    middle, low, high = (ratio.value, ratio.lowest, ratio.highest) if ratio else (1.0, 1.0, 1.0)
    return Value(
        value=DAYS_PER_MONTH * sealed.value * middle,
        low=DAYS_PER_MONTH * sealed.lowest * low,
        high=DAYS_PER_MONTH * sealed.highest * high,
        unit="d",
        source=sealed.source,
        status=sealed.status,
    )


def trip_every_d(plan: Plan, catalogue: Catalogue) -> float:
    """Days between two trips for food: no longer than the food with the shortest life keeps sealed. [d]"""
    lives = [pantry()["longest_stock_d"].value]
    for name in {meal.food for meal in plan.meals}:
        food = catalogue.foods[name]
        sealed = sealed_life_d(food) if is_bought(food) else None
        if sealed is not None:
            lives.append(sealed.lowest)
    return max(1.0, min(lives))
