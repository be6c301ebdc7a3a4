"""A keeper's plan as plain data in canonical units: tank, keeper, animals, meals, upkeep, devices, goals.

`aquarium.load` makes these from a plan file; everything above reads them and nothing above changes them.
Hours of the day are decimal hours of local time (18.5 is half past six in the evening); weekdays are 0 for
Monday to 6 for Sunday; dates are inclusive on both ends. `None` means that the plan does not say and that no
default exists; where a default was taken, the value stands here and `Plan.assumptions` names it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from backreef.catalogue.labels import Label

EVERY_WEEKDAY: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
BY_HAND = "hand"
"""The value of `by` where a person does it; any other value is the id of a device of the plan."""

Comparison = Literal["<", "<=", ">", ">="]
Lid = Literal["open", "mesh", "glass"]
StartKind = Literal["dry_rock", "live_rock", "seeded", "established"]
Sex = Literal["male", "female", "pair", "harem", "young"]
Optimise = Literal["fewest_hands", "most_wishes", "largest_margin"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StartState:
    """What is known of the tank on the first day."""

    kind: StartKind
    """dry_rock: new and sterile; live_rock: new, with live rock; seeded: new, with bacteria or media of a
    ripe tank; established: running."""
    age_months: float
    """Months the tank has been running with salt water on the first day; 0 for a new one."""
    readings: dict[str, float] = field(default_factory=dict)
    """Series name with unit and basis -> value on the first day, as `nitrate_mg_n_per_l`: what the plan
    gives, and nitrate, nitrite, ammonia, phosphate and alkalinity always (else assumed)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tank:
    """The glass, what lies in it, and the room around it."""

    name: str
    display_gross_l: float
    """The display's inner volume, filled to the brim, empty of rock and sand."""
    display_length_cm: float | None
    """Given by the plan or, where it gives a volume only, estimated (then it stands in the assumptions)."""
    display_width_cm: float | None
    """From front to back."""
    display_height_cm: float | None
    water_volume_l: float
    """Water in the whole system: display less rock, sand and air gap, with sump and refugium."""
    sump_l: float
    """Running volume of the sump without the refugium; 0 for none."""
    refugium_l: float
    """Water volume of the refugium; 0 for none."""
    rock_kg: float
    sand_area_m2: float
    sand_depth_cm: float
    glass_area_m2: float
    """Wetted glass of the display, all panes and the bottom where no sand lies."""
    viewing_glass_area_m2: float
    """The panes that get cleaned."""
    surface_area_m2: float
    """Open water surface of display and sump: where gases pass."""
    lid: Lid
    light_par_umol_m2_s: float
    """Peak light at the rock."""
    light_hours_h: float
    """Hours from the first to the last light of the day, ramps included."""
    light_on_at: float
    """Hour of the day."""
    light_ramp_h: float
    """Length of the morning ramp and of the evening ramp."""
    temperature_c: float
    """What the thermostat holds."""
    salinity_psu: float
    room_temperature_c: float
    """Mean over the year."""
    room_temperature_swing_c: float
    """Half the difference between the warmest and the coldest time of the year."""
    turnover_per_h: float
    """Flow inside the display by return and stream pumps, display volumes an hour."""
    evaporation_frac_per_d: float
    """Share of the whole system's water that evaporates in a day."""
    corals: str
    """'none', 'soft', 'lps', 'sps' or 'mixed': what the light and the water are meant for."""
    coral_cover_frac: float
    """Share of the rock's upper surface that corals cover on the first day."""
    start: StartState
    room_humidity_frac: float | None = None
    """Moisture of the room's air over what it could hold; None: about half, as rooms have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PresenceWindow:
    """Hours of one weekday on which the keeper is at the tank or near it."""

    weekday: int
    from_hour: float
    to_hour: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedRule:
    """Days on which the keeper is not there although the weekday says so.

    kind 'public_holidays' uses `country` and `region`; 'weekday' uses `weekday`; 'yearly' uses the pairs of
    month and day and may run over New Year; 'dates' uses `first_on` and `last_on`. Both ends are closed days.
    """

    kind: Literal["public_holidays", "weekday", "yearly", "dates"]
    label: str
    country: str | None = None
    """ISO 3166-1 alpha-2."""
    region: str | None = None
    """ISO 3166-2 subdivision without the country."""
    weekday: int | None = None
    first_month: int | None = None
    first_day: int | None = None
    last_month: int | None = None
    last_day: int | None = None
    first_on: date | None = None
    last_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Helper:
    """Somebody else who can do some of the tasks on some days."""

    name: str
    tasks: tuple[str, ...]
    """Task ids; empty means whatever a sitter can do by the catalogue."""
    weekdays: tuple[int, ...]
    when_closed: bool
    """True if they also come on the keeper's closed days."""
    minutes_per_visit: float | None
    first_on: date | None = None
    """Come from this day on; None: from the first day."""
    last_on: date | None = None
    """Come until this day, included; None: to the end."""
    at_hour: float | None = None
    """Hour at which they come; None: the plan does not say."""
    until_hour: float | None = None
    """Hour until which they stay; None: they come at `at_hour` and no later."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What the keeper would like to see, and how much."""

    text: str
    weight: float
    """Relative weight, above 0; 1 is usual."""
    species: tuple[str, ...] = ()
    """Species ids that would fulfil it; empty where it is not about particular animals."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeper:
    """Who looks after the tank, when they are there, and how much they give."""

    name: str
    minutes_per_month: float
    presence: tuple[PresenceWindow, ...]
    closed: tuple[ClosedRule, ...]
    helpers: tuple[Helper, ...]
    refuses: tuple[str, ...]
    """Task ids the keeper will not do."""
    wishes: tuple[Wish, ...]
    stops_after: dict[str, float]
    """Task id -> months after which the keeper expects to have dropped it."""
    time_zone: str | None = None
    """IANA name of the place's time zone, where the plan gives one: calendars are read and written in it."""
    money: float | None = None
    """For what a proposal may buy, in the coin of the prices; None: no matter."""
    prices: Mapping[str, float] = field(default_factory=dict)
    """Id of an animal or a kind of device -> price of one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """A comparison of a water quantity, true or false at the last test."""

    series: str
    """Name with unit and basis, as `nitrate_mg_n_per_l`."""
    comparison: Comparison
    value: float
    """In the unit of the series' name."""
    text: str
    """As the keeper wrote it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """Something to be seen before animals are added, such as visible film algae."""

    thing: str | None
    """What the forecast can watch ('film_algae', 'turf_algae', 'pods', 'detritus'), or None where it
    cannot."""
    seen: bool
    """True: it must be visible; False: it must be gone."""
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnimalEntry:
    """Animals of one species that are there or come together."""

    id: str
    """Unique in the plan."""
    species: str
    """Species id of the catalogue."""
    count: int
    length_cm: float | None
    """Length on arrival or, for those already there, on the first day; None: the catalogue's usual size."""
    arrives_on: date | None
    """None: already there on the first day."""
    gate: str | None
    """What must be true before they are added, as written; read into the two fields below."""
    gate_conditions: tuple[Condition, ...] = ()
    gate_sightings: tuple[Sighting, ...] = ()
    why: str = ""
    quarantine_d: float | None = None
    """Days apart before they come; None: the plan does not say."""
    treated: bool = False
    """Whether a vet has them treated against parasites meanwhile."""
    sex: Sex | None = None
    """Of which sex they are; None: the plan does not say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Meal:
    """One food given at the same hours of certain days."""

    id: str
    food: str
    """Food id of the catalogue."""
    grams_as_fed: float | None
    """Per meal, that is at each hour of `times`; None where `enough_for` says how much."""
    enough_for: Literal["maintenance", "growth"] | None
    """Size the ration to what `who` needs at the time, to hold weight or to grow."""
    who: tuple[str, ...]
    """Animal ids for whom it is enough; empty: all who eat this food."""
    by: str
    """'hand' or a device id."""
    times: tuple[float, ...]
    """Hours of the day."""
    weekdays: tuple[int, ...]
    only_when_present: bool
    """True: left out on days without the keeper (a meal by hand is, whatever this says)."""
    pump_pause_min: float
    """Minutes for which the return pump rests; 0 for none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rhythm:
    """When a chore falls due.

    kind 'interval': every `every_days` days from the first day; 'weekly': on `weekdays` of every
    `every_weeks`-th week, the week of the first day being the first; 'monthly': the `nth` of each of
    `weekdays` in a month (-1 is the last), every `every_months`-th month, the month of the first day being
    the first.
    """

    kind: Literal["interval", "weekly", "monthly"]
    text: str
    every_days: float | None = None
    weekdays: tuple[int, ...] = ()
    every_weeks: int = 1
    nth: int | None = None
    every_months: int = 1
    only_when_present: bool = False
    """True: days without the keeper are left out and nothing is missed by it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Upkeep:
    """A task that is to be done again and again, by a person or a device."""

    id: str
    """Unique in the plan."""
    task: str
    """Task id of the catalogue."""
    share_frac: float | None
    """Share of what the task works on: water changed, growth harvested, sand siphoned, media renewed."""
    amount_g: float | None
    amount_l: float | None
    rhythm: Rhythm
    by: str
    """'hand' or a device id."""
    when: Condition | None
    """Done only if this was true at the last test."""
    minutes: float | None
    """Minutes each time, where the keeper knows better than the catalogue."""
    at_hour: float | None
    """Hour of the day; None: in the keeper's first hour of presence."""
    within_days: float | None = None
    """By so much it may come earlier or later; None: by the common rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceEntry:
    """A device of the tank, by its generic kind."""

    id: str
    """Unique in the plan."""
    kind: str
    """Device id of the catalogue."""
    count: int
    numbers: dict[str, float]
    """What the plan says of it, name with unit -> value: `hopper_g`, `portion_g`, `area_m2`, `reservoir_l`,
    and the others of `device_number_names`."""
    on_at: float | None
    """Hour of the day at which it starts; None: always on, or by the catalogue."""
    hours: float | None
    """Hours a day for which it runs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BandGoal:
    """Bounds of one series that the keeper sets otherwise than the defaults; None leaves the default."""

    act_low: float | None = None
    act_high: float | None = None
    harm_low: float | None = None
    harm_high: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Goals:
    """What the keeper wants of the plan."""

    bands: dict[str, BandGoal]
    """Series name with unit and basis -> bounds in that unit."""
    horizon_years: float
    optimise: Optimise
    keep: tuple[str, ...] = ()
    """Ids of lines of the plan that a proposal leaves as they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DefaultTaken:
    """A value the plan did not give and that was taken from the table of defaults or worked out."""

    key: str
    """Key path in the plan file, as `tank.rock_kg`."""
    value: str
    unit: str
    low: float | None
    high: float | None
    status: str
    """published, memory, practice or calc."""
    source: str
    changes: str
    """What it would change if it were otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mishap:
    """Something that fails at an hour of a day and works again so many hours later.

    No plan file says one: whoever asks for a forecast adds it.
    """

    kind: str
    """A kind of `simulation/data/mishaps.csv`."""
    starts_on: date
    at_hour: float
    """Hour of the day, 0 to 24."""
    hours: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything a plan file says, and what was assumed where it said nothing."""

    file: str
    name: str
    story: str
    start_on: date
    horizon_days: int
    tank: Tank
    keeper: Keeper
    animals: tuple[AnimalEntry, ...]
    meals: tuple[Meal, ...]
    upkeep: tuple[Upkeep, ...]
    devices: tuple[DeviceEntry, ...]
    goals: Goals
    assumptions: tuple[DefaultTaken, ...]
    catalogue: str = ""
    """Folder of the keeper's own entries, as seen from the plan file; empty for none."""
    mishaps: tuple[Mishap, ...] = ()
    """What is to go wrong in a forecast of it; empty for a plan as it was read."""
    ration_ratios: tuple[tuple[str, float], ...] = ()
    """Meal id -> the ration of an 'enough for' meal over what is reckoned without trying; empty for a plan as
    it was read. Whoever asks for a forecast adds it."""
    foods: tuple[Label, ...] = ()
    """Foods of the keeper's own, as their labels print them."""
    begun_d: int = 0
    """How long it had run before its first day: rhythms are counted from then. 0 for one as it was read."""
