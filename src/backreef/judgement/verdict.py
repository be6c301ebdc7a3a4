"""The answer of a forecast as plain data: what holds, what breaks, who suffers, what it costs, on whose word.

Everything that a report, a page or the JSON document shows is in `Forecast`; nothing downstream computes
biology. Arrays are one value per day of the horizon, the first for `start_on`; bands are the 5, 50 and 95 %
points over the members of the ensemble.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from backreef.judgement.pantry_lines import FoodPrice, ShoppingLine
from backreef.judgement.verdict_hands import (
    Minutes,
)

if TYPE_CHECKING:
    import pandas as pd

FloatArray = npt.NDArray[np.float64]
BalanceName = Literal["mouths", "water", "hands"]
BALANCES: tuple[BalanceName, ...] = ("mouths", "water", "hands")


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A daily quantity over the ensemble."""

    p05: FloatArray
    p50: FloatArray
    p95: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceVerdict:
    """Whether one balance holds, in what share of the members, and where it first does not."""

    name: BalanceName
    holds: bool
    share_holding: float
    first_break: date | None
    cause: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """Something to try; `checked` says whether it was simulated, `holds_after` what that showed."""

    id: str
    """Name in the table of remedies; of advice, what it says."""
    what: str
    advice: bool = False
    """True for what no simulation can try, as asking somebody for help."""
    checked: bool = False
    holds_after: bool | None = None
    effect: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is or comes close to wrong: who, when, how much against which bound, why, what helps."""

    id: str
    balance: BalanceName
    harm: float
    """0 (a note) to 1 (an animal dies); ranks the findings."""
    breaks: bool
    who: str
    first_on: date | None
    days: int
    share_of_members: float
    value: float | None
    bound: float | None
    unit: str
    what: str
    why: str
    source: str
    remedies: tuple[Remedy, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """A cause of death beside hunger and water, and the share of an entry's animals that it takes alone."""

    cause: str
    lost_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AnimalOutcome:
    """What became of one entry of the plan's animals."""

    id: str
    species: str
    common_name: str
    kind: str
    arrives_on: date | None
    already_there: bool
    count_start: int
    count_end_p50: float
    """Whole animals: the lower of the two in the middle."""
    count_end_p05: float
    count_end_p95: float
    alive_end_share: float
    """Share of the animals that are alive at the end, over all members."""
    length_start_cm: float | None
    length_end_cm_p50: float | None
    adult_length_cm: float | None
    condition_p50: float
    condition_end_p05: float
    energy_met_share_p50: float
    ration_g_dry_per_d_p50: float
    eats: tuple[tuple[str, float], ...]
    """(food or pool in words, share of the energy eaten), largest first."""
    condition: Band
    energy_met: Band
    """Energy eaten over the last seven days against what it needed. [-]"""
    protein_met_share_p50: float | None = None
    """Crude protein eaten against what keeps its flesh, middle of days and members; None where nobody knows
    the need. [-]"""
    losses: tuple[Loss, ...] = ()
    """What takes animals by the end beside hunger and water, the largest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition:
    """Animals that arrive: when, which, how many, and the gate that must be open first."""

    on: date
    animal_id: str
    common_name: str
    count: int
    gate: str
    gate_open_share: float | None
    filter_days_p05: float | None
    """Days until the filter has grown to the new load; None where the watch is too short to tell."""
    filter_days_p50: float | None
    filter_days_p95: float | None
    ammonia_most_mg_n_per_l_p95: float | None
    """Highest total ammonia meanwhile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterBand:
    """The bounds of a water quantity: outside `act` is a finding, outside `harm` for `harm_days` a break."""

    series: str
    label: str
    unit: str
    act_low: float | None
    act_high: float | None
    harm_low: float | None
    harm_high: float | None
    harm_days: float
    source: str
    status: str
    kills: bool = False
    """Whether animals die in it in the model; a day on which they do is harm, however few such days."""
    note_low: str = ""
    """What is to be said of the lower bounds only."""
    note_high: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AwayStretch:
    """Days on which nobody is there, first and last day included."""

    first_on: date
    last_on: date
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MealStream:
    """One meal entry of the plan: grams offered per day (0 on days without)."""

    id: str
    label: str
    by: str
    grams_as_fed_per_day: FloatArray
    eaten_share_p50: float
    given_days: int | None = None
    given_g_per_d: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewLine:
    """One food of the clean-up crew: what the tank grows of it against what its eaters could take."""

    pool: str
    label: str
    eaters: tuple[str, ...]
    grown_g_dry_per_d_p50: float
    wanted_g_dry_per_d_p50: float
    eaten_g_dry_per_d_p50: float
    standing_series: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewSeason:
    """A quarter of a year of a grazer: how many the tank feeds in it, and how many for a year from it on."""

    first_on: date
    last_on: date
    held_count_p05: float
    """Animals that what grew in these days could have held; not a number where none of them lived."""
    held_count_p50: float
    held_count_p95: float
    starving_share: float
    """Share of the members in which they are thin for too long in these days."""
    lasting_count: int | None
    """Animals that find enough in the year from then on; None where the plan ends before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewSize:
    """A grazer of the plan: how many of it the tank feeds, and in which years it starves."""

    animal_id: str
    common_name: str
    count: int
    """How many the plan has."""
    held_count_p05: float
    held_count_p50: float
    """Animals that what grew could have held, mean of the days on which any lived."""
    held_count_p95: float
    starving_share_by_year: tuple[float, ...]
    """Share of the members in which it is thin for too long, year after year."""
    seasons: tuple[CrewSeason, ...]
    """The same by quarters of the calendar, as what grows changes with the year and the stock."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FastingLine:
    """How long an animal lasts with nothing at all to eat, on a day, well fed until then."""

    animal_id: str
    common_name: str
    on: date
    length_cm: float
    quarter_gone_d_p05: float
    """Days until a quarter of its reserve is gone, at the temperature that the tank holds."""
    quarter_gone_d_p50: float
    quarter_gone_d_p95: float
    harm_d_p05: float
    """Days until its reserve is at the bound of harm."""
    harm_d_p50: float
    harm_d_p95: float
    warm_c: float
    """A warm week: the warmest at which bodies are reckoned."""
    warm_quarter_gone_d_p50: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RationStep:
    """A day from which a meal that follows its animals is set noticeably larger or smaller."""

    meal_id: str
    label: str
    on: date
    month: int
    """Of the plan; the first is 1."""
    grams_as_fed_per_d: float
    """On a day with that meal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeederLine:
    """What a feeder is set to, when it is filled, and how long it feeds with nobody there."""

    device_id: str
    name: str
    settings: tuple[str, ...]
    """Of the first day with that meal: hour, portions, grams."""
    grams_as_fed_per_d: float
    """Mean of the days on which it gives anything."""
    covered_d: float | None
    """Days that a full hopper lasts, or that its content stays good; None where nobody knows."""
    refills: tuple[date, ...]
    batteries: tuple[date, ...]
    portions_g: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class GapLine:
    """A stretch with nobody there: on how many days food comes, and who suffers first."""

    first_on: date
    last_on: date
    fed_days: int
    """Days of it on which any food comes."""
    hungry: str
    """Who gets nothing that it takes and lasts shortest without; empty where all are fed."""
    hungry_quarter_gone_d_p05: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FluxLine:
    """A door through which an element came in (positive) or left (negative), g of the element per month."""

    element: Literal["N", "P", "C", "O2"]
    door: str
    g_per_month_p50: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """Something that the plan did not say or that rests on memory or practice, and on whose word."""

    key: str
    what: str
    value: str
    status: str
    source: str
    changes: str
    """What it would change if it were otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """The whole answer to: what will become of this plan?"""

    plan_name: str
    plan_file: str
    story: str
    start_on: date
    days: int
    members: int
    seed: int
    engine: str
    holds: bool
    share_holding: float
    share_low: float
    share_high: float
    first_break: date | None
    first_break_cause: str
    balances: tuple[BalanceVerdict, ...]
    first_breaks: tuple[date | None, ...]
    """By member: the day on which it first breaks; None for never."""
    findings: tuple[Finding, ...]
    animals: tuple[AnimalOutcome, ...]
    additions: tuple[Addition, ...]
    meals: tuple[MealStream, ...]
    minutes: Minutes
    dates: tuple[date, ...]
    series: dict[str, Band]
    """Keys carry unit and basis: nitrate_mg_no3_per_l, oxygen_mg_per_l, film_algae_g_dry, ..."""
    water_bands: tuple[WaterBand, ...]
    present: npt.NDArray[np.bool_]
    """(days,) whether the keeper is there."""
    away: tuple[AwayStretch, ...]
    crew: tuple[CrewLine, ...]
    fluxes: tuple[FluxLine, ...]
    conservation_residual: float
    conservation_by_element: dict[str, float]
    assumptions: tuple[Assumption, ...]
    sources: tuple[str, ...]
    cautions: tuple[str, ...]
    notices: tuple[str, ...] = field(default=())
    crew_sizes: tuple[CrewSize, ...] = field(default=())
    fasting: tuple[FastingLine, ...] = field(default=())
    rations: tuple[RationStep, ...] = field(default=())
    feeders: tuple[FeederLine, ...] = field(default=())
    gaps: tuple[GapLine, ...] = field(default=())
    """Stretches away longer than a weekend, in order."""
    shopping: tuple[ShoppingLine, ...] = field(default=())
    food_price: FoodPrice | None = None

    def to_frame(self) -> pd.DataFrame:
        """One row per day; columns are (series, p05 | p50 | p95), the index is the date. Needs pandas."""
        from backreef.judgement.frames import daily_frame

        return daily_frame(self.dates, _by_point(self.series))

    def animals_to_frame(self) -> pd.DataFrame:
        """One row per day; columns are (id.condition or id.energy_met, p05 | p50 | p95). Needs pandas."""
        from backreef.judgement.frames import daily_frame

        bands: dict[str, Band] = {}
        for animal in self.animals:
            bands[f"{animal.id}.condition"] = animal.condition
            bands[f"{animal.id}.energy_met"] = animal.energy_met
        return daily_frame(self.dates, _by_point(bands))


def _by_point(bands: dict[str, Band]) -> dict[tuple[str, str], FloatArray]:
    return {
        (name, point): values
        for name, band in bands.items()
        for point, values in (("p05", band.p05), ("p50", band.p50), ("p95", band.p95))
    }
