"""From an entry of the plan to a cohort slot: what the catalogue says of an animal, as numbers the kernel can use.

A trait that nobody knows for a species is taken from its kind (`data/bodies_by_kind.csv`) with that table's wider band,
and the cohort says so in `assumed`.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import DIET_OF_POOL, Catalogue, Guild, Pool, Quantity, Species, known
from backreef.models.body_values import body_numbers
from backreef.models.growth import shape_mass_line
from backreef.models.matrix import Matrix
from backreef.models.metabolism import oxygen_line, oxygen_uptake_mg_o2_per_d
from backreef.models.mouths import BOTTOM, FOOD_POOLS, GROWN_POOLS, POOLS, SLOT_TRAITS, Body
from backreef.simulation.draws import Draws
from backreef.simulation.foods import FoodSlot
from backreef.simulation.layout import NATURE
from backreef.units import molar_mass_g_per_mol

Array = npt.NDArray[np.float64]
REFERENCE_C = 28.0
DAYS_PER_YEAR = 365.25
FEEDING_CARBON_MMOL_PER_G = 37.5
"""Carbon of a gram of dry food, to turn a ration in grams into carbon. Source: models note, 45 % C."""
MEALS_FILL_IN_D = 1.0 / 480.0
"""An animal of middling pace fills its gut in three minutes of plenty. Source: practice."""
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
WITHIN_SPECIES = 0.4
"""Power that narrows the printed band of oxygen uptake, which spans single measurements of many species. practice"""
SURFACE_FED_KINDS = frozenset({"coral", "anemone", "bivalve"})
"""Kinds that live as lit surface in the ecosystem model, not as a cohort."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A number with its 5 and 95 % points."""

    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cohort:
    """Animals of one entry of the plan."""

    entry: AnimalEntry
    species: Species
    guild: Guild
    arrives_day: int
    """0 for those already there."""
    settled: bool
    length_cm: float
    nature: dict[str, Range]
    likings: dict[str, float]
    kept: dict[str, float]
    faeces: dict[str, float]
    day_share: float
    gut_hours: Range
    yearly_loss: Range
    assumed: tuple[str, ...]

    @property
    def arrival_mass_g(self) -> float:
        """Wet mass of one animal on arrival by the middle of its length-weight relation. [g]"""
        return float(self.nature["weight_a"].value * self.length_cm ** self.nature["weight_b"].value)


@cache
def kind_table() -> Mapping[str, Mapping[str, str]]:
    """Give the traits of kinds by kind."""
    with (files("backreef.simulation") / "data" / "bodies_by_kind.csv").open(
        encoding="utf-8", newline=""
    ) as file:
        return {row["kind"]: row for row in csv.DictReader(file)}


def lives_on_light(species: Species, guild: Guild) -> bool:
    """Whether an animal is counted as lit living surface."""
    return (
        species.kind in SURFACE_FED_KINDS
        and guild.light_fed
        and known(species.coral_area_cm2_per_unit) is not None
    )


def cohorts_of(
    plan: Plan, catalogue: Catalogue, matrix: Matrix, body: Body, foods: tuple[FoodSlot, ...]
) -> list[Cohort]:
    """Give the cohorts of a plan, sorted by the id of their entry."""
    result = []
    for entry in sorted(plan.animals, key=lambda each: each.id):
        species = catalogue.species[entry.species]
        guild = catalogue.guilds[species.guild]
        if not lives_on_light(species, guild):
            result.append(_cohort(entry, species, guild, plan, matrix, body, foods))
    return result


def _cohort(
    entry: AnimalEntry,
    species: Species,
    guild: Guild,
    plan: Plan,
    matrix: Matrix,
    body: Body,
    foods: tuple[FoodSlot, ...],
) -> Cohort:
    kind = kind_table().get(species.kind) or kind_table()["other"]
    assumed: list[str] = []
    day = 0 if entry.arrives_on is None else max(0, (entry.arrives_on - plan.start_on).days)
    nature = _nature(species, guild, kind, assumed, body.oxygen_demand)
    adult = nature["adult_cm"].value
    usual = known(species.purchase_length_cm)
    length = entry.length_cm or (usual.value if usual else 0.5 * adult)
    kept, faeces = _digestion(guild, matrix, body, foods)
    return Cohort(
        entry=entry,
        species=species,
        guild=guild,
        arrives_day=day,
        settled=entry.arrives_on is None,
        length_cm=length,
        nature=nature,
        likings=_likings(species, guild, foods),
        kept=kept,
        faeces=faeces,
        day_share=guild.day_share_frac.value,
        gut_hours=Range(value=guild.gut_hours.value, low=guild.gut_hours.low, high=guild.gut_hours.high),
        yearly_loss=_of_kind(kind, "yearly_loss", "loss"),
        assumed=tuple(assumed),
    )


def _of_kind(kind: Mapping[str, str], name: str, short: str) -> Range:
    return Range(value=float(kind[name]), low=float(kind[f"{short}_low"]), high=float(kind[f"{short}_high"]))


def _range(field: Quantity, otherwise: Range, what: str, assumed: list[str]) -> Range:
    value = known(field)
    if value is None:
        assumed.append(what)
        return otherwise
    return Range(value=value.value, low=value.low, high=value.high)


def _nature(
    species: Species, guild: Guild, kind: Mapping[str, str], assumed: list[str], demand: float
) -> dict[str, Range]:
    numbers = body_numbers()
    fish = species.kind == "fish"
    shape = shape_mass_line(numbers, shape="fusiform") if fish else None
    a = Range(value=shape.a_g if shape else float(kind["weight_a_g"]), low=None, high=None)
    b = Range(value=shape.b_ratio if shape else float(kind["weight_b"]), low=None, high=None)
    adult = _range(species.adult_length_cm, Range(value=5.0, low=3.0, high=8.0), "adult length", assumed)
    weight_a = _range(species.weight_a_g, a, "weight for its length", assumed)
    weight_b = _range(species.weight_b_ratio, b, "weight for its length", assumed)
    mass = weight_a.value * adult.value**weight_b.value
    factor = _range(
        species.metabolism_factor_ratio,
        _of_kind(kind, "metabolism_ratio", "metabolism"),
        "oxygen uptake",
        assumed,
    )
    burn, exponent = _burn(species, guild, factor, mass, demand)
    intake_default = Range(value=float(kind["intake_frac_ww_per_d"]), low=None, high=None)
    intake = _range(species.intake_max_frac_ww_per_d, intake_default, "largest ration", assumed)
    kmax = _range(
        species.growth_kmax_per_y,
        Range(value=float(kind["kmax_per_y"]), low=None, high=None),
        "growth",
        assumed,
    )
    daily = intake.value * mass * FEEDING_CARBON_MMOL_PER_G / mass**0.8
    ratio = (
        (intake.low or intake.value / 1.5) / intake.value,
        (intake.high or intake.value * 1.5) / intake.value,
    )
    capacity = daily * guild.gut_hours.value / 24.0 * 1.3
    speed = capacity / MEALS_FILL_IN_D * guild.pace_ratio.value
    gape, smallest = _mouth(species, adult.value, assumed)
    return {
        "weight_a": Range(
            value=weight_a.value,
            low=weight_a.low or weight_a.value / 1.25,
            high=weight_a.high or weight_a.value * 1.25,
        ),
        "weight_b": Range(value=weight_b.value, low=weight_b.value, high=weight_b.value),
        "adult_cm": Range(
            value=adult.value, low=adult.low or adult.value / 1.15, high=adult.high or adult.value * 1.15
        ),
        "kmax_per_d": Range(value=kmax.value / DAYS_PER_YEAR, low=_part(kmax.low), high=_part(kmax.high)),
        "carbon_per_g": _of_kind(kind, "carbon_mmol_per_g", "carbon"),
        "burn_coefficient": burn,
        "burn_exponent": Range(value=exponent, low=exponent, high=exponent),
        "capacity_coefficient": Range(value=capacity, low=capacity * ratio[0], high=capacity * ratio[1]),
        "speed_coefficient": Range(value=speed, low=None, high=None),
        "intake_exponent": Range(value=0.8, low=0.8, high=0.8),
        "reserve_share": _of_kind(kind, "reserve_share", "reserve"),
        "gape_share": gape,
        "smallest_share": smallest,
    }


def _part(per_year: float | None) -> float | None:
    return None if per_year is None else per_year / DAYS_PER_YEAR


def _burn(
    species: Species, guild: Guild, factor: Range, adult_mass_g: float, demand: float
) -> tuple[Range, float]:
    """Reserve burnt in a whole day, mmol C at 28 degC: a power of mass through a tenth of the adult and the adult."""
    numbers = body_numbers()
    line = oxygen_line(numbers, family=species.family.lower(), factor_ratio=factor.value)
    young = max(adult_mass_g * 0.1, 0.05)
    grown = max(adult_mass_g, young * 2.0)
    uptake = [float(oxygen_uptake_mg_o2_per_d(mass, REFERENCE_C, line)) for mass in (young, grown)]
    if species.kind != "fish":  # the family table is of fish; others follow the small line with their factor
        coefficient, power = numbers["oxygen_line.at_1_g_mg_o2_per_d"], numbers["oxygen_line.mass_exponent"]
        uptake = [factor.value * coefficient * mass**power for mass in (young, grown)]
    exponent = float(np.log(uptake[1] / uptake[0]) / np.log(grown / young))
    per_g = uptake[1] / grown**exponent
    middle = per_g * guild.activity_factor_ratio.value / molar_mass_g_per_mol("O2") / demand
    low, high = (
        (factor.low or factor.value / 1.5) / factor.value,
        (factor.high or factor.value * 1.5) / factor.value,
    )
    return Range(value=middle, low=middle * low**WITHIN_SPECIES, high=middle * high**WITHIN_SPECIES), exponent


def _mouth(species: Species, adult_cm: float, assumed: list[str]) -> tuple[Range, Range]:
    taken = known(species.food_mm)
    if taken is None:
        assumed.append("size of its mouth")
        return Range(value=0.06, low=None, high=None), Range(value=0.001, low=None, high=None)
    large = 1.5 * taken.highest / (10.0 * adult_cm)
    small = 0.4 * taken.lowest / (10.0 * adult_cm)
    return Range(value=large, low=large / 1.15, high=large * 1.15), Range(value=small, low=small, high=small)


def _likings(species: Species, guild: Guild, foods: tuple[FoodSlot, ...]) -> dict[str, float]:
    """How much a pool is liked, 0 to 1; an offered food by its place in the tank, its class and whether it is taken."""
    accepts = {"reliable": 1.0, "usual": 0.8, "sometimes": 0.35, "rarely": 0.08, "no": 0.0, "unknown": 0.3}
    likings = {pool: guild.feeds_on[place].value for pool, place in CATALOGUE_POOL.items()}
    for food, pool in zip(foods, FOOD_POOLS, strict=False):
        likings[pool] = (
            guild.feeds_on[food.pool].value * accepts[species.takes.get(food.food_class, "unknown")]
        )
    return {pool: likings.get(pool, 0.0) for pool in POOLS}


def _digestion(
    guild: Guild, matrix: Matrix, body: Body, foods: tuple[FoodSlot, ...]
) -> tuple[dict[str, float], dict[str, float]]:
    """Reserve kept per carbon eaten, and the share egested, of each pool; bounded by energy, nitrogen, phosphorus."""
    compositions = {
        c.name: c.composition for c in matrix.components if c.name in GROWN_POOLS and c.composition
    }
    contents: dict[str, tuple[float, ...]] = dict(compositions)
    diets = {pool: DIET_OF_POOL[place] for pool, place in CATALOGUE_POOL.items()}
    for food, pool in zip(foods, FOOD_POOLS, strict=False):
        contents[pool] = food.composition
        diets[pool] = DIET_OF_POOL[food.pool]
    kept: dict[str, float] = dict.fromkeys(POOLS, 0.0)
    faeces: dict[str, float] = dict.fromkeys(POOLS, 0.0)
    heat = 1.0 / body_numbers()["day.feeding_heat_ratio"]
    for pool in POOLS:
        if pool not in diets:
            continue
        lost = 1.0 - guild.carbon_assimilated_frac[diets[pool]].value
        faeces[pool] = lost
        kept[pool] = (
            heat
            if pool == BOTTOM
            else _keep(contents[pool], lost, heat, pool in ("A_F", "A_T", "A_N", "A_C", "X_DL"), body)
        )
        if pool != BOTTOM:
            faeces[pool] = _affordable(contents[pool], lost, pool in ("A_F", "A_T", "A_N", "A_C", "X_DL"))
    return kept, faeces


REFRACTORY = 0.6
"""Share of algal faeces that is hard to break down. Source: practice."""


def _faeces_content(algal: bool) -> tuple[float, float]:
    hard = REFRACTORY if algal else 0.0
    return 0.1 * (1 - hard) + 0.0333 * hard, 0.0045 * (1 - hard) + 0.0005 * hard


def _affordable(content: tuple[float, ...], lost: float, algal: bool) -> float:
    """Faeces cannot hold more nitrogen or phosphorus than was eaten."""
    nitrogen, phosphorus = _faeces_content(algal)
    return min(lost, 0.9 * content[1] / nitrogen, 0.9 * content[2] / phosphorus)


def _keep(content: tuple[float, ...], lost: float, heat: float, algal: bool, body: Body) -> float:
    faeces = _affordable(content, lost, algal)
    nitrogen, phosphorus = _faeces_content(algal)
    return max(
        0.0,
        min(
            (content[3] - faeces) * heat / body.oxygen_demand,
            (content[1] - faeces * nitrogen) / body.nitrogen,
            (content[2] - faeces * phosphorus) / body.phosphorus,
            1.0 - faeces,
        ),
    )


LEAST_RATION_RATIO = 2.5
"""An animal can eat at least so many times what it burns in a day: else it would not live anywhere. practice"""
KEPT_OF_PLENTY_FRAC = 0.5
"""Reserve kept per carbon of a middling food, for that bound. Source: practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CohortArrays:
    """A cohort's numbers for every member: natures and traits by row, and the body of one animal on arrival."""

    nature: Array
    traits: Array
    structure_mmol: Array
    reserve_mmol: Array


def cohort_arrays(cohort: Cohort, draws: Draws) -> CohortArrays:
    """Draw a cohort's numbers for all members. Arrays have the shape (rows, members)."""
    nature = np.zeros((len(NATURE), draws.members))
    drawn = {
        name: draws.value(f"{cohort.species.id} {name}", span.value, span.low, span.high)
        for name, span in cohort.nature.items()
    }
    # size, ration and need of one animal go together: what is large burns and eats more, by its mass
    for name, values in drawn.items():
        nature[NATURE.index(name)] = values
    hours = draws.value(
        f"{cohort.species.id} gut_hours", cohort.gut_hours.value, cohort.gut_hours.low, cohort.gut_hours.high
    )
    # what is drawn is the ration of a day: a slower gut holds more
    able = LEAST_RATION_RATIO * drawn["burn_coefficient"] / KEPT_OF_PLENTY_FRAC * cohort.gut_hours.value / 24.0
    held = np.maximum(drawn["capacity_coefficient"], able)
    nature[NATURE.index("capacity_coefficient")] = held * hours / cohort.gut_hours.value
    speed = drawn["speed_coefficient"]
    lit_share = max(cohort.day_share, 1.0 - cohort.day_share)
    grazing = held * 24.0 / cohort.gut_hours.value * 1.3 / max(lit_share, 0.4)
    traits = np.zeros((len(SLOT_TRAITS), draws.members))
    for pool in POOLS:
        liking = cohort.likings[pool]
        weight = liking if pool in FOOD_POOLS else liking * grazing / speed
        traits[SLOT_TRAITS.index(f"weight_{pool}")] = weight
        nature[NATURE.index(f"liking_{pool}")] = weight
        traits[SLOT_TRAITS.index(f"keep_{pool}")] = cohort.kept[pool]
        traits[SLOT_TRAITS.index(f"faeces_{pool}")] = cohort.faeces[pool]
    traits[SLOT_TRAITS.index("refractory")] = REFRACTORY
    traits[SLOT_TRAITS.index("gut_rate")] = 24.0 / hours
    day, night = cohort.day_share / (10 / 24), (1 - cohort.day_share) / (14 / 24)
    traits[SLOT_TRAITS.index("day")] = day / max(day, night)
    traits[SLOT_TRAITS.index("night")] = night / max(day, night)
    loss = draws.value(
        f"{cohort.species.id} loss", cohort.yearly_loss.value, cohort.yearly_loss.low, cohort.yearly_loss.high
    )
    traits[SLOT_TRAITS.index("base_hazard")] = -np.log1p(-np.minimum(loss, 0.9)) / DAYS_PER_YEAR
    mass = drawn["weight_a"] * cohort.length_cm ** drawn["weight_b"]
    structure = mass * drawn["carbon_per_g"]
    return CohortArrays(
        nature=nature,
        traits=traits,
        structure_mmol=structure,
        reserve_mmol=structure * drawn["reserve_share"],
    )
