"""How near a food comes to what animals of a guild eat in the sea, by the parts of its dry matter."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from backreef.catalogue.entries import Catalogue, Food, Guild, known
from backreef.catalogue.tables import DATA
from backreef.usecases.portrait import Part, listed, part, sentence

PARTS = ("protein", "fat", "ash", "nfe")
NEAR, FAR = 0.85, 0.7
"""Shares of dry matter in common from which a food is called near, and below which far; our own words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearness:
    """A food against the natural prey of a guild."""

    guild: str
    name: str
    common_frac: float
    """Share of their dry matter that both have in common, part by part. [-]"""
    protein_frac: float
    natural_protein_frac: float


@cache
def stand_ins() -> Mapping[str, str]:
    """Pool -> the food of the catalogue whose parts stand for what lives there."""
    with (DATA / "natural_prey.csv").open(encoding="utf-8", newline="") as file:
        return {row["pool"]: row["stands_for"] for row in csv.DictReader(file)}


def nearness(food: Food, guild: Guild, catalogue: Catalogue) -> Nearness | None:
    """Give how near a food is to the prey of a guild; None where either is not known."""
    natural, own = natural_parts_frac(guild, catalogue), dry_parts_frac(food)
    if natural is None or own is None:
        return None
    return Nearness(
        guild=guild.id,
        name=guild.name,
        common_frac=sum(min(own[name], natural[name]) for name in PARTS),
        protein_frac=own["protein"],
        natural_protein_frac=natural["protein"],
    )


def natural_parts_frac(guild: Guild, catalogue: Catalogue) -> dict[str, float] | None:
    """Parts of the dry matter of what a guild takes in the sea, by how it is liked; None where not known."""
    total, weights = dict.fromkeys(PARTS, 0.0), 0.0
    for pool, stands_for in stand_ins().items():
        weight = guild.feeds_on[pool].value  # type: ignore[index]
        parts = dry_parts_frac(catalogue.foods[stands_for]) if weight > 0 else None
        if parts is not None:
            weights += weight
            total = {name: total[name] + weight * parts[name] for name in PARTS}
    return {name: value / weights for name, value in total.items()} if weights > 0 else None


def dry_parts_frac(food: Food) -> dict[str, float] | None:
    """Protein, fat, ash and the rest of a food as shares of their sum; None where one is not known."""
    values = {name: known(getattr(food, f"{name}_frac")) for name in PARTS}
    if any(value is None for value in values.values()):
        return None
    found = {name: value.value for name, value in values.items() if value is not None}
    total = sum(found.values())
    return {name: value / total for name, value in found.items()} if total > 0 else None


def prey_part(food: Food, catalogue: Catalogue) -> Part:
    """In words, for a food's page, for the guilds that it suits."""
    found = [nearness(food, catalogue.guilds[guild], catalogue) for guild in food.fits]
    lines = sorted((one for one in found if one is not None), key=lambda one: -one.common_frac)
    near = [one.name for one in lines if one.common_frac >= NEAR]
    middling = [one.name for one in lines if FAR <= one.common_frac < NEAR]
    far = [one.name for one in lines if one.common_frac < FAR]
    return part(
        "How near it is to what they eat in the sea",
        sentence(f"near, in protein, fat, ash and the rest of its dry matter: {listed(near)}")
        if near
        else "",
        sentence(f"middling: {listed(middling)}") if middling else "",
        sentence(f"far, so no sole diet: {listed(far)}") if far else "",
    )
