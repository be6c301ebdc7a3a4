"""What a forecast says of feeding: streams of meals, fasts, rations, feeders and what is not covered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True, kw_only=True)
class MealStream:
    """One meal entry of the plan: grams offered per day (0 on days without)."""

    id: str
    label: str
    by: str
    grams_as_fed_per_day: npt.NDArray[np.float64]
    eaten_share_p50: float


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
