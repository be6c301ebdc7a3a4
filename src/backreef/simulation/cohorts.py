"""From an entry of the plan to a cohort slot: what the catalogue says of an animal, for the kernel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue, Guild, Species, known
from backreef.models.matrix import Matrix
from backreef.models.mouths import FOOD_POOLS, POOLS, SLOT_TRAITS, Body
from backreef.simulation.digestion import digestion, likings, seconds
from backreef.simulation.draws import Draws
from backreef.simulation.foods import FoodSlot
from backreef.simulation.layout import NATURE
from backreef.simulation.nature import HOURS, nature_of, of_kind, traits_of_kind
from backreef.simulation.tables import Range, animal_number
from backreef.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]
SURFACE_FED_KINDS = frozenset({"coral", "anemone", "bivalve"})
"""Kinds that live as lit surface in the ecosystem model, not as a cohort."""


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

    @property
    def arrival_reserve_mmol(self) -> float:
        """Reserve of one well-fed animal on arrival, by the middle of its ranges. [mmol C]"""
        structure_mmol = self.arrival_mass_g * self.nature["carbon_per_g"].value
        return structure_mmol * self.nature["reserve_share"].value

    @property
    def arrival_gut_mmol(self) -> float:
        """What the gut of one animal holds on arrival, by the middle of its ranges. [mmol C]"""
        middle = {name: np.asarray(span.value) for name, span in self.nature.items()}
        return float(_room_of_gut(self, middle) * self.arrival_mass_g ** self.nature["intake_exponent"].value)


@dataclass(frozen=True, slots=True, kw_only=True)
class _World:
    """What all cohorts of a plan have in common."""

    plan: Plan
    matrix: Matrix
    body: Body
    foods: tuple[FoodSlot, ...]


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
    world = _World(plan=plan, matrix=matrix, body=body, foods=foods)
    result = []
    for entry in sorted(plan.animals, key=lambda each: each.id):
        species = catalogue.species[entry.species]
        guild = catalogue.guilds[species.guild]
        if not lives_on_light(species, guild):
            result.append(_cohort(entry, species, guild, world))
    return result


def _cohort(entry: AnimalEntry, species: Species, guild: Guild, world: _World) -> Cohort:
    settled = entry.arrives_on is None
    day = 0 if entry.arrives_on is None else max(0, (entry.arrives_on - world.plan.start_on).days)
    nature, assumed = nature_of(species, guild, oxygen_demand_ratio=world.body.oxygen_demand)
    usual = known(species.purchase_length_cm)
    half_grown = animal_number("arrival_length_frac") * nature["adult_cm"].value
    kept, faeces = digestion(guild, world.matrix, world.body, world.foods)
    hours = guild.gut_hours
    return Cohort(
        entry=entry,
        species=species,
        guild=guild,
        arrives_day=day,
        settled=settled,
        length_cm=entry.length_cm or (usual.value if usual else half_grown),
        nature=nature,
        likings=likings(species, guild, world.foods),
        kept=kept,
        faeces=faeces,
        day_share=guild.day_share_frac.value,
        gut_hours=Range(value=hours.value, low=hours.low, high=hours.high),
        yearly_loss=of_kind(traits_of_kind(species), "yearly_loss", "loss"),
        assumed=tuple(assumed),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CohortArrays:
    """A cohort's numbers for every member: natures and traits by row, and one animal's body on arrival."""

    nature: Array
    traits: Array
    structure_mmol: Array
    reserve_mmol: Array


def cohort_arrays(cohort: Cohort, draws: Draws) -> CohortArrays:
    """Draw a cohort's numbers for all members. Arrays have the shape (rows, members)."""

    def drawn_of(name: str, span: Range) -> Array:
        return draws.value(f"{cohort.species.id} {name}", span.value, span.low, span.high)

    drawn = {name: drawn_of(name, span) for name, span in cohort.nature.items()}
    hours = drawn_of("gut_hours", cohort.gut_hours)
    room_mmol = _room_of_gut(cohort, drawn)
    traits = _traits(cohort, drawn, hours, room_mmol)
    loss = np.minimum(drawn_of("loss", cohort.yearly_loss), animal_number("most_loss_frac"))
    traits[SLOT_TRAITS.index("base_hazard")] = -np.log1p(-loss) / DAYS_PER_YEAR
    nature = np.zeros((len(NATURE), draws.members))
    for name, values in drawn.items():
        nature[NATURE.index(name)] = values
    # what is drawn is the ration of a day: a slower gut holds more
    nature[NATURE.index("capacity_coefficient")] = room_mmol * hours / cohort.gut_hours.value
    for pool in POOLS:
        nature[NATURE.index(f"liking_{pool}")] = traits[SLOT_TRAITS.index(f"weight_{pool}")]
    for pool, distance in seconds(cohort.guild).items():
        nature[NATURE.index(f"second_{pool}")] = distance
    structure = drawn["weight_a"] * cohort.length_cm ** drawn["weight_b"] * drawn["carbon_per_g"]
    return CohortArrays(
        nature=nature,
        traits=traits,
        structure_mmol=structure,
        reserve_mmol=structure * drawn["reserve_share"],
    )


def _yields_ratio(cohort: Cohort) -> float:
    """How much it lets itself be kept off a meal: the slow more than the quick, the fierce hardly. [-]"""
    meek = 1.0 - cohort.nature["push"].value
    return max(meek, 0.0) / cohort.guild.pace_ratio.value


def _room_of_gut(cohort: Cohort, drawn: dict[str, Array]) -> Array:
    """Room of the gut of 1 g, mmol C; never too small to eat a multiple of what is burnt."""
    needed = animal_number("least_ration_ratio") * drawn["burn_coefficient"]
    able = needed / animal_number("kept_of_plenty_frac") * cohort.gut_hours.value / HOURS
    return np.asarray(np.maximum(drawn["capacity_coefficient"], able))


def _traits(cohort: Cohort, drawn: dict[str, Array], hours: Array, room_mmol: Array) -> Array:
    """What does not change with size: likings, digestion, pace of the gut, hours of the day."""
    traits = np.zeros((len(SLOT_TRAITS), len(hours)))
    lit_frac = max(cohort.day_share, 1.0 - cohort.day_share)
    full = room_mmol * HOURS / cohort.gut_hours.value * animal_number("gut_room_ratio")
    grazing = full / max(lit_frac, animal_number("least_lit_frac"))
    for pool in POOLS:
        liking = cohort.likings[pool]
        weight = liking if pool in FOOD_POOLS else liking * grazing / drawn["speed_coefficient"]
        traits[SLOT_TRAITS.index(f"weight_{pool}")] = weight
        traits[SLOT_TRAITS.index(f"keep_{pool}")] = cohort.kept[pool]
        traits[SLOT_TRAITS.index(f"faeces_{pool}")] = cohort.faeces[pool]
    traits[SLOT_TRAITS.index("refractory")] = animal_number("refractory_frac")
    traits[SLOT_TRAITS.index("gut_rate")] = HOURS / hours
    traits[SLOT_TRAITS.index("comes")] = max(cohort.likings[pool] for pool in FOOD_POOLS)
    traits[SLOT_TRAITS.index("yields")] = _yields_ratio(cohort)
    lit_h = animal_number("daylight_h")
    day, night = cohort.day_share / (lit_h / HOURS), (1 - cohort.day_share) / ((HOURS - lit_h) / HOURS)
    traits[SLOT_TRAITS.index("day")] = day / max(day, night)
    traits[SLOT_TRAITS.index("night")] = night / max(day, night)
    return traits
