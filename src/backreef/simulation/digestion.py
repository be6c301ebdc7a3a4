"""What an animal likes, and of each pool the reserve it gains and the faeces it leaves per carbon eaten."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from backreef.catalogue.entries import DIET_OF_POOL, Diet, Guild, Pool, Species
from backreef.models.body_values import body_numbers
from backreef.models.matrix import Matrix
from backreef.models.mouths import ALGAL_DIET, BOTTOM, FOOD_POOLS, GROWN_POOLS, POOLS, Body
from backreef.simulation.foods import FoodSlot
from backreef.simulation.tables import animal_number
from backreef.working.record import askable

CATALOGUE_POOL: dict[str, Pool] = {
    BOTTOM: "food_on_bottom",
    "A_F": "film_algae",
    "A_T": "turf_algae",
    "A_N": "macro_algae",
    "A_C": "coralline",
    "X_DL": "detritus",
    "Z_PC": "pods",
    "Z_PA": "amphipods",
    "X_POM": "suspended_matter",
}
SOFT, HARD = "X_DL", "X_DR"
"""What faeces become: detritus that breaks down within weeks, and what takes a season."""


def likings(species: Species, guild: Guild, foods: tuple[FoodSlot, ...]) -> dict[str, float]:
    """Give how much each pool is liked, 0 to 1; a food by place, class and whether it is taken."""
    liked = {pool: guild.feeds_on[place].value for pool, place in CATALOGUE_POOL.items()}
    for food, pool in zip(foods, FOOD_POOLS, strict=False):
        takes = species.takes.get(food.food_class, "unknown")
        liked[pool] = guild.feeds_on[food.pool].value * animal_number(f"takes_{takes}_frac")
    return {pool: liked.get(pool, 0.0) for pool in POOLS}


def seconds(guild: Guild) -> dict[str, float]:
    """Give how far each grown pool is from the first choice of a guild: 0 the first choice, 1 not liked."""
    best = max(weight.value for weight in guild.feeds_on.values())
    return {
        pool: 1.0 - guild.feeds_on[CATALOGUE_POOL[pool]].value / best if best > 0 else 0.0
        for pool in GROWN_POOLS
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Faeces:
    """Nitrogen and phosphorus per carbon of faeces."""

    nitrogen_ratio: float
    phosphorus_ratio: float


def digestion(
    guild: Guild, matrix: Matrix, body: Body, foods: tuple[FoodSlot, ...]
) -> tuple[dict[str, float], dict[str, float]]:
    """Give, per pool, reserve kept per carbon eaten and the share egested.

    What is kept is bounded by the energy, the nitrogen and the phosphorus of what was eaten.
    """
    contents, diets = _contents(matrix, foods)
    kept, faeces = dict.fromkeys(POOLS, 0.0), dict.fromkeys(POOLS, 0.0)
    heat_ratio = 1.0 / body_numbers()["day.feeding_heat_ratio"]
    for pool in (pool for pool in POOLS if pool in diets):
        lost_frac = 1.0 - guild.carbon_assimilated_frac[diets[pool]].value
        if pool == BOTTOM:  # a changing mixture, bounded while it is eaten
            kept[pool], faeces[pool] = heat_ratio, lost_frac
        else:
            made = _faeces_of(
                matrix, hard_frac=animal_number("refractory_frac") if pool in ALGAL_DIET else 0.0
            )
            faeces[pool] = _affordable(contents[pool], lost_frac, made)
            kept[pool] = _keep(contents[pool], faeces[pool], made, heat_ratio=heat_ratio, body=body)
    return kept, faeces


def _contents(
    matrix: Matrix, foods: tuple[FoodSlot, ...]
) -> tuple[Mapping[str, tuple[float, ...]], Mapping[str, Diet]]:
    """Content per carbon and kind of meal of every pool the plan has."""
    contents: dict[str, tuple[float, ...]] = {
        c.name: c.composition for c in matrix.components if c.name in GROWN_POOLS and c.composition
    }
    diets = {pool: DIET_OF_POOL[place] for pool, place in CATALOGUE_POOL.items()}
    for food, pool in zip(foods, FOOD_POOLS, strict=False):
        contents[pool] = food.composition
        diets[pool] = DIET_OF_POOL[food.pool]
    return contents, diets


def _faeces_of(matrix: Matrix, *, hard_frac: float) -> _Faeces:
    parts = {c.name: c.composition for c in matrix.components if c.name in (SOFT, HARD) and c.composition}
    soft_frac = 1 - hard_frac
    return _Faeces(
        nitrogen_ratio=parts[SOFT][1] * soft_frac + parts[HARD][1] * hard_frac,
        phosphorus_ratio=parts[SOFT][2] * soft_frac + parts[HARD][2] * hard_frac,
    )


@askable
def _affordable(content: tuple[float, ...], lost_frac: float, made: _Faeces) -> float:
    """Faeces cannot hold more nitrogen or phosphorus than was eaten."""
    most_frac = animal_number("faeces_matter_frac")
    by_nitrogen = most_frac * content[1] / made.nitrogen_ratio
    return min(lost_frac, by_nitrogen, most_frac * content[2] / made.phosphorus_ratio)


@askable
def _keep(
    content: tuple[float, ...], faeces_frac: float, made: _Faeces, *, heat_ratio: float, body: Body
) -> float:
    """Reserve gained per carbon eaten, as far as energy, nitrogen and phosphorus of it allow. [-]"""
    return max(
        0.0,
        min(
            (content[3] - faeces_frac) * heat_ratio / body.oxygen_demand,
            (content[1] - faeces_frac * made.nitrogen_ratio) / body.nitrogen,
            (content[2] - faeces_frac * made.phosphorus_ratio) / body.phosphorus,
            1.0 - faeces_frac,
        ),
    )
