"""What a hazard is: a cause of death of the animals of one entry beside hunger and water.

Each is a rate of death per animal over some days of the plan, with a range; a disease breaks out or not, by
a chance that all fish of the tank share. The simulation adds them to the hazard of a settled animal.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from backreef.aquarium.defaults import named_source
from backreef.company.findings import Resident, Setting
from backreef.units import DAYS_PER_YEAR
from backreef.working.record import told_constant

QUARANTINE = "quarantine_tank"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """Deaths a year per animal, with its range."""

    value_per_y: float
    low_per_y: float
    high_per_y: float

    def times(self, ratio: float) -> Rate:
        """The same, more or less often."""
        return Rate(
            value_per_y=self.value_per_y * ratio,
            low_per_y=self.low_per_y * ratio,
            high_per_y=self.high_per_y * ratio,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Outbreak:
    """A disease that one batch brings, or not: the same for all fish of a member."""

    name: str
    chance_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """One cause of death of the animals of one entry, over some days."""

    entry_id: str
    cause: str
    since_day: int
    """Day of the plan, 0 the first."""
    until_day: int
    """The first day on which it is over."""
    rate: Rate
    outbreak: Outbreak | None = None
    """None: it is there in every member."""


def years(days: float) -> float:
    """Days as years, in which rates of death count."""
    return days / told_constant(DAYS_PER_YEAR, "DAYS_PER_YEAR", "backreef.units")


@cache
def _table() -> dict[str, Any]:
    with (files("backreef.company") / "data" / "hazards.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def numbers() -> dict[str, dict[str, Any]]:
    """The table of hazards."""
    rows = _table()["numbers"]
    return {name: row | {"words": named_source(row, sources())} for name, row in rows.items()}


def sources() -> dict[str, str]:
    """The sources of the table of hazards, by their keys."""
    named: dict[str, str] = _table()["sources"]
    return named


@cache
def number(name: str) -> float:
    """A number of the table, in the unit its row names."""
    return float(numbers()[name]["value"])


def rate_of(name: str) -> Rate:
    """A yearly rate of the table."""
    row = numbers()[name]
    return Rate(value_per_y=row["value"], low_per_y=row["low"], high_per_y=row["high"])


def rate_that_loses(name: str, *, days: float) -> Rate:
    """The rate at which a share of the table is lost in some days."""
    row = numbers()[name]
    return rate_of_loss(row["value"], low_frac=row["low"], high_frac=row["high"], days=days)


def rate_of_loss(lost_frac: float, *, low_frac: float, high_frac: float, days: float) -> Rate:
    """The rate at which a share is lost in some days, with its range."""
    value, low, high = (
        -math.log1p(-share) * DAYS_PER_YEAR / days for share in (lost_frac, low_frac, high_frac)
    )
    return Rate(value_per_y=value, low_per_y=low, high_per_y=high)


def apart_d(one: Resident, setting: Setting) -> float:
    """Days that a newcomer is kept apart: as the plan says, else those of its quarantine tank. [d]"""
    if one.entry.quarantine_d is not None:
        return one.entry.quarantine_d
    return number("quarantine_days") if setting.has_device(QUARANTINE) else 0.0


def day_of(one: Resident, setting: Setting) -> int:
    """Day of the plan on which an animal comes, 0 for those already there."""
    return max(0, (setting.comes_on(one) - setting.plan.start_on).days)


def hazard(
    one: Resident,
    setting: Setting,
    cause: str,
    rate: Rate,
    *,
    since_day: int | None = None,
    days: float | None = None,
) -> Hazard:
    """A hazard of an entry from its arrival, or from a later day, to the end or for some days."""
    since = max(day_of(one, setting), since_day or 0)
    last = setting.plan.horizon_days
    return Hazard(
        entry_id=one.entry.id,
        cause=cause,
        since_day=since,
        until_day=last if days is None else min(last, since + round(days)),
        rate=rate,
    )
