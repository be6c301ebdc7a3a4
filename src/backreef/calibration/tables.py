"""The tables of this room as plain data: numbers with ranges, what is fitted, how readings slip."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from backreef.simulation.tables import InItsUnit, Range
from backreef.units import ion_per_element_ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A number that differs between tanks and that the log may tell."""

    id: str
    draw: str
    """Name under which the ensemble draws it."""
    what: str
    more: str
    """What it means if it is higher than was thought."""
    less: str
    where: str
    """Which tanks have it: any, sand, grazers, refugium, skimmer, corals, or where food is given by hand."""
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A way in which a reading goes wrong as a whole."""

    series: str
    """Word of the series, or 'any'."""
    factor: InItsUnit
    """What it truly was, over what was written."""
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """Something that a log may show to have gone wrong."""

    id: str
    does: str
    """What it does to the tank, a word that `faults.py` knows; or to the kit."""
    drift: bool
    """It shows slowly; else from one day to the next."""
    odds_ratio: float
    """How often it happens, against the others."""
    what: str
    check: str
    """What tells it from the other causes."""
    minutes: float


def _rows(name: str) -> list[dict[str, str]]:
    with (files("backreef.calibration") / "data" / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@cache
def all_numbers() -> Mapping[str, Mapping[str, str]]:
    """The rows of the numbers of this room by their names."""
    return {row["name"]: row for row in _rows("numbers.csv")}


@cache
def numbers() -> Mapping[str, Range]:
    """The numbers of this room with their ranges."""
    return {
        name: Range(value=float(row["value"]), low=float(row["low"]), high=float(row["high"]))
        for name, row in all_numbers().items()
    }


def number(name: str) -> InItsUnit:
    """A number of this room, without its range."""
    return numbers()[name].value


@cache
def all_fitted() -> tuple[Fitted, ...]:
    """Everything that is looked for in a log."""
    return tuple(Fitted(**row) for row in _rows("fitted.csv"))


@cache
def all_causes() -> tuple[Cause, ...]:
    """What may have gone wrong, beside the unit of a reading."""
    return tuple(
        Cause(
            id=row["id"],
            does=row["does"],
            drift=row["drift"] == "yes",
            odds_ratio=float(row["odds"]),
            what=row["what"],
            check=row["check"],
            minutes=float(row["minutes"]),
        )
        for row in _rows("causes.csv")
    )


@cache
def reading_minutes() -> Mapping[tuple[str, str], float]:
    """Minutes that a reading takes, by word of the series and kind of kit."""
    return {(row["series"], row["kit"]): float(row["value"]) for row in _rows("reading_minutes.csv")}


@cache
def slips_of(word: str) -> tuple[Slip, ...]:
    """How readings of a series slip."""
    return tuple(
        Slip(
            series=row["series"],
            factor=float(row["factor"]) if row["factor"] else _basis(row["of"]),
            what=row["what"],
        )
        for row in _rows("slips.csv")
        if row["series"] in ("any", word)
    )


def _basis(of: str) -> float:
    """What one is over the other: 'NO3/N' or 'N/NO3'."""
    above, _, below = of.partition("/")
    if len(above) > len(below):
        return ion_per_element_ratio(above, below)
    return 1.0 / ion_per_element_ratio(below, above)
