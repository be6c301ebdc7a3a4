"""What the catalogue knows: animals, guilds, foods, devices and tasks as plain frozen objects.

A measured or estimated number is a `Value` with its range, source and status, or it is `Unknown` with a
reason; an unknown is never zero. The unit of a field is the last part of its name; "ratio" and "frac" carry
none. Lengths are centimetres: total length of fish, shell height of snails, carapace width of crabs, test
diameter of urchins, disc width of anemones.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from backreef.catalogue.sources import Source, Status

Takes = Literal["reliable", "usual", "sometimes", "rarely", "no", "unknown"]
Safe = Literal["safe", "mostly", "risk", "unsafe"]
FoodClass = Literal["dry", "frozen", "algae", "live", "pods"]
FOOD_CLASSES: tuple[FoodClass, ...] = ("dry", "frozen", "algae", "live", "pods")
"""Kinds of food that `Species.takes` speaks of; `Food.food_class` is one of them."""
SAFE_WITH: tuple[str, ...] = ("lps", "sps", "soft", "clams", "shrimps", "snails", "worms", "small_fish")

Pool = Literal[
    "particles_in_water",
    "food_on_bottom",
    "seaweed_sheet",
    "film_algae",
    "turf_algae",
    "macro_algae",
    "coralline",
    "detritus",
    "pods",
    "amphipods",
    "suspended_matter",
]
POOLS: tuple[Pool, ...] = (
    "particles_in_water",
    "food_on_bottom",
    "seaweed_sheet",
    "film_algae",
    "turf_algae",
    "macro_algae",
    "coralline",
    "detritus",
    "pods",
    "amphipods",
    "suspended_matter",
)
"""Where food is found in a tank; `Guild.feeds_on` weighs each from 0 (never) to 1 (first choice)."""
Diet = Literal["feed", "algae", "detritus", "prey"]
DIETS: tuple[Diet, ...] = ("feed", "algae", "detritus", "prey")
"""Kinds of meal that differ in how much of them is kept; see `DIET_OF_POOL`."""
DIET_OF_POOL: dict[Pool, Diet] = {
    "particles_in_water": "feed",
    "food_on_bottom": "feed",
    "seaweed_sheet": "algae",
    "film_algae": "algae",
    "turf_algae": "algae",
    "macro_algae": "algae",
    "coralline": "algae",
    "detritus": "detritus",
    "pods": "prey",
    "amphipods": "prey",
    "suspended_matter": "detritus",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """A number with what is known of it; `low` and `high` bound what we believe, not what an animal bears."""

    value: float
    low: float | None = None
    high: float | None = None
    unit: str
    source: str
    """Keys of `Catalogue.sources`, several with a blank between."""
    place: str = ""
    status: Status
    note: str = ""

    @property
    def lowest(self) -> float:
        """The lower bound, or the value itself where none is given."""
        return self.value if self.low is None else self.low

    @property
    def highest(self) -> float:
        """The upper bound, or the value itself where none is given."""
        return self.value if self.high is None else self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """A number nobody here knows, and why."""

    reason: str


Quantity = Value | Unknown


def known(field: Quantity) -> Value | None:
    """The value, or None where it is unknown."""
    return field if isinstance(field, Value) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """An animal, or a group of animals that are kept alike."""

    id: str
    common_name: str
    scientific_name: str
    synonyms: tuple[str, ...]
    family: str
    kind: str
    """fish, snail, slug, hermit, crab, shrimp, urchin, cucumber, star, bivalve, worm, pod, anemone, coral."""
    origin: str
    guild: str
    """Id of its `Guild`."""

    temp_min_c: Quantity
    """Lower end of the band of comfort; what kills is mostly unknown."""
    temp_max_c: Quantity
    adult_length_cm: Quantity
    """What keepers see in tanks; rules of space use this one."""
    max_length_cm: Quantity
    """Largest on record; no rule rests on it alone."""
    purchase_length_cm: Quantity
    weight_a_g: Quantity
    """Wet mass in grams, of the soft parts only where there is a shell, is a x (length in cm)^b."""
    weight_b_ratio: Quantity
    growth_kmax_per_y: Quantity
    """k in L' = A - (A - L) exp(-k t) where A is `adult_length_cm`, scaled to that length from the record."""
    metabolism_factor_ratio: Quantity
    """Factor on the common line of oxygen uptake of small reef fish, at the same wet mass."""
    food_mm: Quantity
    """Particle size taken by an adult, from `low` to `high`."""
    feedings_per_day: Quantity
    """Least number of meals where nothing natural replaces them; 0 where growth or light feeds it."""
    max_days_unfed: Quantity
    """Single absence a settled healthy adult bears without lasting harm; rules use `lowest`."""
    min_volume_l: Quantity
    min_tank_length_cm: Quantity
    start_density_per_100l: Quantity
    """Cautious first number of clean-up animals; not a carrying capacity."""
    group_min_count: int
    group_max_count: int | None
    """Largest number without a special condition; None is open. Exceptions stand in `social_rule`."""
    life_years: Quantity
    intake_max_frac_ww_per_d: Quantity
    """Dry mass of food over wet mass of the adult in a day when food is ample; grams go with W^0.8."""
    min_tank_age_months: Quantity
    sand_cm: Quantity
    coral_area_cm2_per_unit: Quantity
    """Living surface of one head, frag or colony as sold; only corals, anemones and clams have it."""

    takes: Mapping[FoodClass, Takes]
    forage_type: str
    forage_replaces: Literal["none", "partly", "mostly", "fully"]
    feeder_alone: Literal["yes", "no", "sometimes"]
    feeder_condition: str
    social_rule: str
    aggression: Literal["none", "low", "medium", "high", "very_high", "stings"]
    fights_with: tuple[str, ...]
    """Tokens; another animal is meant if its `tags` hold one. `own_species_or_genus` and `any_newcomer` mean
    what they say. `Catalogue.tokens` has the words for each."""
    eats: tuple[str, ...]
    """Tokens, matched against `tags` as above."""
    eaten_by: tuple[str, ...]
    """Tokens, matched against the tags of the other as above."""
    safe_lps: Safe
    safe_sps: Safe
    safe_soft: Safe
    safe_clams: Safe
    safe_shrimps: Safe
    safe_snails: Safe
    safe_worms: Safe
    safe_small_fish: Safe
    safety_condition: str
    jumps: Literal["no", "low", "high", "climbs"]
    sand_need: str
    """Empty where it needs none."""
    zone: str
    hardiness: Literal["hardy", "medium", "delicate", "expert"]
    hardiness_note: str
    disease: Literal["low", "medium", "high"]
    disease_note: str
    cleans: Mapping[str, int]
    """What it clears away, with a strength from 1 (helps) to 3 (clears)."""
    pushes: str
    """What it topples, lifts or buries; empty where nothing."""
    self_rights: Literal["yes", "no", "partly", "na"]
    breeds: str
    captive_bred: Literal["common", "some", "rare", "no"]
    human_hazard: str
    """Empty where none is known."""
    legal_note: str
    add_stage: Literal["first", "early", "middle", "late", "last"]
    add_gate: str
    """What must be true before it is added; empty where only its turn counts."""
    low_upkeep: Literal["yes", "conditional", "no", "never"]
    low_upkeep_reason: str
    status: Status
    """Of everything here that carries no status of its own."""
    sources: tuple[str, ...]
    tags: frozenset[str]
    """Groups it belongs to: tang, burrower, shrimp_small, fish_any, genus_zebrasoma, family_labridae …"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Guild:
    """How animals of one kind find, take and use food in the simulation."""

    id: str
    name: str
    describes: str
    feeds_on: Mapping[Pool, Value]
    """Every pool has its weight, 0 to 1."""
    light_share_frac: Value
    """Share of the energy need that light alone can meet through algae in its tissue; 0 without them."""
    day_share_frac: Value
    """Share of its feeding done in the lit hours; the night has the rest."""
    night_share_frac: Value
    dusk_feeder: bool
    """Takes food best in dim light; a meal at noon is mostly missed."""
    pace_ratio: Value
    """Speed at food that does not suffice for all: 1 middling, 3 greedy, 0.3 shy."""
    activity_factor_ratio: Value
    """Energy spent in the day over that of resting."""
    gut_hours: Value
    """Time until a full gut is empty again."""
    carbon_assimilated_frac: Mapping[Diet, Value]
    nitrogen_assimilated_frac: Mapping[Diet, Value]
    phosphorus_assimilated_frac: Mapping[Diet, Value]
    prey_not_modelled: str
    """Food that no pool holds, as pest anemones: its hunger cannot be judged. Empty where pools cover it."""

    @property
    def light_fed(self) -> bool:
        """Whether its own algae feed it."""
        return self.light_share_frac.value > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Food:
    """Something to feed. Composition is as fed; starch and fibre are what is left."""

    id: str
    name: str
    food_class: FoodClass
    form: str
    pool: Pool
    """Where in the tank it is to be found once given."""
    moisture_frac: Quantity
    protein_frac: Quantity
    fat_frac: Quantity
    ash_frac: Quantity
    nfe_frac: Quantity
    """Starch, sugar and fibre, by difference."""
    phosphorus_frac: Quantity
    gross_energy_kj_per_g: Quantity
    particle_mm: Quantity
    bulk_density_g_per_ml: Quantity
    sink_cm_per_s: Quantity
    sinking: str
    fits: tuple[str, ...]
    """Ids of guilds."""
    fits_note: str
    feeder_ok: Literal["yes", "no", "sometimes"]
    feeder_note: str
    storage_sealed_months: Quantity
    storage_open_months: Quantity
    storage_conditions: str
    handling_min_per_feeding: Quantity
    cold_chain: Literal["none", "fridge", "freezer", "culture"]
    lost_to_overflow_frac: Quantity
    """With the pumps running."""
    lost_when_paused_frac: Quantity
    caution: str
    water_load: str
    status: Status
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A generic kind of device, with the numbers that matter for a plan."""

    id: str
    name: str
    device_class: str
    does: str
    sizing_rule: str
    hopper_g: Quantity
    portion_min_g: Quantity
    portion_cv_frac: Quantity
    """Standard deviation of one portion over its mean."""
    portions_per_day_max: Quantity
    compartments_count: Quantity
    jam_per_portion: Quantity
    power_w: Quantity
    battery_months: Quantity
    set_up_min: Quantity
    upkeep_min: Quantity
    upkeep_every_days: Quantity
    runs_unattended_days: Quantity
    damp_sensitivity: str
    power: str
    effects: str
    consumables: str
    failure_modes: tuple[str, ...]
    effect_on_animals: str
    fail_safe: str
    works_with_feed_pause: Literal["yes", "no", "by_clock", "na"]
    feed_pause_note: str
    cost_band: str
    noise: str
    status: Status
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A kind of work, and what happens if nobody does it."""

    id: str
    name: str
    minutes: Quantity
    setup_minutes: Quantity
    every_days: Quantity
    driver: str
    driver_rule: str
    needs_presence: bool
    sitter_can_do: Literal["yes", "no", "rarely"]
    sitter_note: str
    automated_by: str
    """Empty where nothing takes it over."""
    tolerated_missed_days: Quantity
    harm_after_days: Quantity
    harm_note: str
    consequence: str
    extra_min_with_lid: Quantity
    skill: int
    """0 anyone, 1 shown once, 2 practised, 3 expert."""
    hazards: str
    messy: bool
    mess_note: str
    look: bool
    """A look or a head count of two minutes or less."""
    status: Status
    sources: tuple[str, ...]


Entry = Species | Guild | Food | Device | Task


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Everything known, by id; made by `load_catalogue`."""

    species: Mapping[str, Species]
    foods: Mapping[str, Food]
    devices: Mapping[str, Device]
    tasks: Mapping[str, Task]
    guilds: Mapping[str, Guild]
    sources: Mapping[str, Source]
    own: frozenset[str] = frozenset()
    """`species/my_gramma` and so on: entries of the keeper's own folder."""
    tokens: Mapping[str, str]
    """Words for the tokens of `fights_with`, `eats`, `eaten_by` and `tags`."""
