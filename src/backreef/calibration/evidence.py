"""Readings of the log as evidence: what each says of the model, in units in which a kit's error is even.

Nutrients are taken as logarithms of the value and what the kit cannot tell from nothing; the others as they
are. A part of a kit's error is common to all its readings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.aquarium.limits import InKeyUnit
from backreef.aquarium.series import Series, find_series
from backreef.calibration.smoother import Evidence
from backreef.calibration.tables import number
from backreef.logbook.entries import Entry, Reading
from backreef.logbook.kits import KitTrust, kit_trust
from backreef.models.mathops import exp, log, maximum
from backreef.simulation.chore_events import READ_OF_SERIES
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import Layout
from backreef.simulation.tables import InItsUnit
from backreef.units import atomic_mass_g_per_mol

Array = npt.NDArray[np.float64]
HOURS_PER_DAY = 24.0
MINUTES_PER_HOUR = 60.0
LEAST_TELLING = 1e-6
NUTRIENTS = ("nitrate", "nitrite", "ammonia", "phosphate")
REGISTERS = {"salinity_psu": "S", "temperature_c": "T"}
HOURLY = "it moves with the hour of the day, of which a forecast keeps only the lowest and the highest"
NOT_FOLLOWED = "the forecast does not follow it"
BEFORE = "it was taken before the first day of the plan"
ON_FIRST_DAY = "it was taken on the first day, which the plan sets"


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A reading that the fit can use."""

    entry: Entry
    series: Series
    value: InKeyUnit
    at_d: float
    """Days since the start of the first day."""
    trust: KitTrust

    @property
    def reading(self) -> Reading:
        """What was read."""
        assert isinstance(self.entry.what, Reading)  # noqa: S101  only readings are taken
        return self.entry.what

    @property
    def on(self) -> date:
        """The day by the keeper's own clock."""
        return self.entry.at.date()

    @property
    def bounded(self) -> bool:
        """Whether the kit only gave a bound."""
        return self.reading.sign != "="


@dataclass(frozen=True, slots=True, kw_only=True)
class Unused:
    """A reading that the fit cannot use."""

    entry: Entry
    why: str


def days_since(entry: Entry, start_on: date) -> float:
    """When something happened, in days since the first day began, by the keeper's own clock. [d]"""
    hour = entry.at.hour + entry.at.minute / MINUTES_PER_HOUR
    return (entry.at.date() - start_on).days + hour / HOURS_PER_DAY


def taken_of(entries: Sequence[Entry], start_on: date) -> tuple[tuple[Taken, ...], tuple[Unused, ...]]:
    """The readings that the fit can use, in order of time, and the others with why not."""
    taken: list[Taken] = []
    unused: list[Unused] = []
    for entry in entries:
        if not isinstance(entry.what, Reading):
            continue
        series = find_series(entry.what.series)
        at_d = days_since(entry, start_on)
        if series is None or not series.forecast:
            unused.append(Unused(entry=entry, why=NOT_FOLLOWED))
        elif series.series not in READ_OF_SERIES and series.series not in REGISTERS:
            unused.append(Unused(entry=entry, why=HOURLY))
        elif at_d < 0:
            unused.append(Unused(entry=entry, why=BEFORE))
        elif at_d < 1:
            unused.append(Unused(entry=entry, why=ON_FIRST_DAY))
        else:
            trust = kit_trust(series.series, entry.what.kit) or _unknown_kit(series, entry.what)
            value = entry.what.value
            taken.append(Taken(entry=entry, series=series, value=value, at_d=at_d, trust=trust))
    taken.sort(key=lambda one: one.at_d)
    return tuple(taken), tuple(unused)


def _unknown_kit(series: Series, reading: Reading) -> KitTrust:
    frac = number("kit_unknown_frac")
    return KitTrust(
        series=series.series,
        kit=reading.kit or "unknown",
        resolution=frac * max(reading.value, LEAST_TELLING),
        absolute_error=0.0,
        relative_error_frac=frac,
    )


class Scale:
    """From a series' own unit to one in which errors are even, and back."""

    def __init__(self, taken: Sequence[Taken]) -> None:
        self._least: dict[str, float] = {}
        for one in taken:
            if one.series.word in NUTRIENTS:
                telling = max(one.trust.error_at(0.0), LEAST_TELLING)
                self._least[one.series.series] = max(telling, self._least.get(one.series.series, 0.0))

    def goes_on_from(self, other: Scale) -> bool:
        """Whether even units are the same for all series of another scale."""
        return other._least.items() <= self._least.items()

    def even(self, series: str, values: Array | float) -> Array:
        """Values of a series in even units."""
        least = self._least.get(series)
        return np.asarray(values if least is None else telling(np.maximum(values, 0.0), least), dtype=float)

    def least(self, series: str) -> float | None:
        """What kits cannot tell from nothing, of a nutrient; None for the others."""
        return self._least.get(series)

    def back(self, series: str, even: Array | float) -> Array:
        """Values in the series' own unit."""
        least = self._least.get(series)
        return np.asarray(even if least is None else amount_of(even, least), dtype=float)

    def error(self, one: Taken, value: InItsUnit) -> float:
        """One standard deviation of a reading in even units, if it is so high."""
        least = self._least.get(one.series.series)
        error = one.trust.error_at(value)
        return error if least is None else float(error / (value + least))

    def common_error(self, one: Taken, value: InItsUnit) -> float:
        """The part of it that all readings of the kit have in common."""
        least = self._least.get(one.series.series)
        whole = float(np.hypot(one.trust.absolute_error, one.trust.relative_error_frac * value))
        error = float(whole * number("kit_common_frac") ** 0.5)
        return error if least is None else float(error / (value + least))


def telling(value: Any, least: InItsUnit) -> Any:  # noqa: ANN401  a number or an array
    """The logarithm of an amount and of what kits cannot tell from nothing."""
    return log(value + least)


def amount_of(even: Any, least: InItsUnit) -> Any:  # noqa: ANN401  as `telling`
    """The amount whose logarithm, with what kits cannot tell from nothing, it is."""
    return maximum(exp(even) - least, 0.0)


def evidence_of(taken: Sequence[Taken], scale: Scale, foretold: Array | None = None) -> Evidence:
    """What was read with the covariance of its errors, in even units.

    A kit errs by what is in the water and not by what it showed. Judged by the reading, one that came out
    too high would seem surer than one that came out too low, and a fit would end above the truth. So errors
    are those at the middle of what the members foretell, (readings, members), where that is given.
    """
    seen = np.array([float(scale.even(one.series.series, one.value)) for one in taken])
    values = [one.value for one in taken]
    if foretold is not None:
        middles = np.median(foretold, axis=1)
        values = [
            float(scale.back(one.series.series, middle)) for one, middle in zip(taken, middles, strict=True)
        ]
    each = np.array([scale.error(one, value) for one, value in zip(taken, values, strict=True)])
    common = np.array([scale.common_error(one, value) for one, value in zip(taken, values, strict=True)])
    kits = [(one.series.series, one.trust.kit) for one in taken]
    same = np.array([[a == b for b in kits] for a in kits], dtype=float)
    errors = same * np.outer(common, common)
    np.fill_diagonal(errors, each**2)
    return Evidence(seen=seen, errors=errors)


def rows_needed(layout: Layout) -> frozenset[int]:
    """Rows of the state that readings are held against."""
    names = ("V", *(component for component, _ in READ_OF_SERIES.values()), *REGISTERS.values())
    return frozenset(layout.address(name) for name in names)


def course_of(series: str, layout: Layout, members: Members) -> Array:
    """A series at the end of each day in its own unit, (days, members)."""
    if series in REGISTERS:
        return members.row(layout.address(REGISTERS[series]))
    component, element = READ_OF_SERIES[series]
    mass = atomic_mass_g_per_mol()[element] if element else 1.0
    amount, water = (members.row(layout.address(name)) for name in (component, "V"))
    return np.asarray(in_the_water(amount, water, mass), dtype=float)


def in_the_water(amount: Any, water: Any, mass: InItsUnit) -> Any:  # noqa: ANN401  as `telling`
    """An amount of the whole water in a litre, by mass."""
    return amount / water * mass


def at_moments(course: Array, at_d: Array) -> Array:
    """Values of a course at moments, by straight lines between midnights, (moments, members)."""
    place = np.clip(at_d - 1.0, 0.0, len(course) - 1.0)
    below = np.floor(place).astype(int)
    above = np.minimum(below + 1, len(course) - 1)
    share = (place - below)[:, None]
    return np.asarray(course[below] * (1.0 - share) + course[above] * share)


def foretold_by(taken: Sequence[Taken], scale: Scale, layout: Layout, members: Members) -> Array:
    """What each member says of each reading in even units, (readings, members).

    A member that keeps a bound which is all that the kit gave says just that bound.
    """
    result = np.empty((len(taken), members.count))
    by_series: dict[str, list[int]] = {}
    for place, one in enumerate(taken):
        by_series.setdefault(one.series.series, []).append(place)
    for series, places in by_series.items():
        course = course_of(series, layout, members)
        values = at_moments(course, np.array([taken[place].at_d for place in places]))
        result[places] = scale.even(series, values)
    for place, one in enumerate(taken):
        if one.bounded:
            bound = float(scale.even(one.series.series, one.value))
            keeps = result[place] <= bound if one.reading.sign == "<" else result[place] >= bound
            result[place, keeps] = bound
    return result
