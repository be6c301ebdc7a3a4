"""The water quantities a plan may speak of: word, name with unit, unit at the doors."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from backreef.aquarium.limits import InKeyUnit
from backreef.units import Quantity, UnitError, parse_quantity, read_quantity, write_quantity

_TABLE = Path(__file__).parent / "data" / "series.csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """One water quantity."""

    word: str
    """As in a plan file: 'nitrate'."""
    series: str
    """Name with canonical unit and basis."""
    dimension: str
    token: str
    basis: str | None
    """How a bare mg/L is read; None where there is only one way."""
    lowest: float
    """No reading below this is believed."""
    highest: float
    """No reading above this is believed."""
    label: str
    door_series: str
    """Name at the doors, where nutrients are counted as the ion."""
    door_unit: str
    forecast: bool
    """Whether the forecast follows it; a condition on another cannot be judged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A value of a series in the unit of its name, and what had to be assumed to read it."""

    series: str
    value: float
    notes: tuple[str, ...]


@cache
def all_series() -> tuple[Series, ...]:
    """Every water quantity, in the order of the table."""
    with _TABLE.open(encoding="utf-8", newline="") as file:
        return tuple(
            Series(
                word=row["word"],
                series=row["series"],
                dimension=row["dimension"],
                token=row["token"],
                basis=row["basis"] or None,
                lowest=float(row["min"]),
                highest=float(row["max"]),
                label=row["label"],
                door_series=row["door_series"],
                door_unit=row["door_unit"],
                forecast=row["forecast"] == "yes",
            )
            for row in csv.DictReader(file)
        )


def find_series(word: str) -> Series | None:
    """The series of a word or of a name with unit; None if there is none."""
    plain = word.strip().lower()
    return next((one for one in all_series() if plain in (one.word, one.series)), None)


def series_of(word: str) -> Series:
    """The series of a word that is known to be one."""
    series = find_series(word)
    if series is None:
        raise UnitError(f"'{word}' is no water quantity; write one of {series_words()}")
    return series


def series_words() -> str:
    """The words of all series, for messages."""
    words = [one.word for one in all_series()]
    return f"{', '.join(words[:-1])} or {words[-1]}"


def read_series(word: str, text: str) -> Reading:
    """A reading such as '15 mg/L NO3' in the unit of its series; refused if nobody would believe it."""
    series = series_of(word)
    found = _read(series, text)
    if not series.lowest <= found.value <= series.highest:
        low, high = (f"{bound * door_factor(series):g}" for bound in (series.lowest, series.highest))
        raise UnitError(
            f"'{text}' is not believable for {series.word}; "
            f"it lies between {low} and {high} {series.door_unit}".rstrip()
        )
    return Reading(series=series.series, value=found.value, notes=found.notes)


def _read(series: Series, text: str) -> Quantity:
    if series.dimension != "none":
        return read_quantity(text, dimension=series.dimension, token=series.token, basis=series.basis)
    try:
        return Quantity(value=float(text), token=series.token)
    except ValueError:
        raise UnitError(f"'{text}' is not a plain number; {series.word} is written without a unit") from None


def write_series(series: Series, value: InKeyUnit) -> str:
    """The value with its canonical unit, so that reading it gives the same number exactly."""
    if series.dimension == "none":
        return repr(value)
    return write_quantity(value, dimension=series.dimension, token=series.token)


def door_factor(series: Series) -> float:
    """What one canonical unit of a series is in its unit at the doors."""
    if series.dimension == "none" or series.door_series == series.series:
        return 1.0
    one_door_unit = parse_quantity(f"1 {series.door_unit}", dimension=series.dimension, token=series.token)
    return 1.0 / one_door_unit
