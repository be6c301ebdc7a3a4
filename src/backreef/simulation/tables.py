"""The tables of this room as plain data: numbers of tanks and animals with ranges, kinds, first days."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from backreef.working.record import is_recording, leaf
from backreef.working.steps import About

InItsUnit = float
"""A number in the unit that is said beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A number with its 5 and 95 % points, in the unit of what it is said of; None: nobody gave a point."""

    value: InItsUnit
    low: InItsUnit | None
    high: InItsUnit | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TableValue:
    """A number of `data/system.csv` or `data/animals.csv`."""

    name: str
    span: Range
    unit: str
    meaning: str
    source: str
    status: str


def times(span: Range, factor: InItsUnit) -> Range:
    """Give a range multiplied by a number."""
    return Range(
        value=span.value * factor,
        low=None if span.low is None else span.low * factor,
        high=None if span.high is None else span.high * factor,
    )


def total(spans: Iterable[Range]) -> Range:
    """Give the sum of ranges that are high or low together; an end that one of them lacks is not known."""
    each = tuple(spans)
    lows = [span.low for span in each if span.low is not None]
    highs = [span.high for span in each if span.high is not None]
    return Range(
        value=sum(span.value for span in each),
        low=sum(lows) if len(lows) == len(each) else None,
        high=sum(highs) if len(highs) == len(each) else None,
    )


def fixed(value: InItsUnit) -> Range:
    """Give a number that is known."""
    return Range(value=value, low=value, high=value)


def widened(span: Range, ratio: InItsUnit) -> Range:
    """Give a range whose missing ends are the value divided by and times a ratio."""
    return Range(value=span.value, low=span.low or span.value / ratio, high=span.high or span.value * ratio)


def _rows(name: str) -> list[dict[str, str]]:
    with (files("backreef.simulation") / "data" / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _values(name: str) -> dict[str, TableValue]:
    return {
        row["name"]: TableValue(
            name=row["name"],
            span=Range(value=float(row["value"]), low=float(row["low"]), high=float(row["high"])),
            unit=row["unit"],
            meaning=row["meaning"],
            source=row["source"],
            status=row["status"],
        )
        for row in _rows(name)
    }


@cache
def system_table() -> Mapping[str, TableValue]:
    """Give the numbers of tanks, devices and chores by name."""
    return _values("system.csv")


@cache
def animal_table() -> Mapping[str, TableValue]:
    """Give the numbers by which animals and foods are read from the catalogue, by name."""
    return _values("animals.csv")


def system_number(name: str) -> InItsUnit:
    """Give the middle of a number of the system table."""
    return _number(system_table()[name], "system")


def animal_number(name: str) -> InItsUnit:
    """Give the middle of a number of the animals' table."""
    return _number(animal_table()[name], "animals")


def system_span(name: str) -> Range:
    """Give a number of the system table with its ends; while somebody asks each says where it stands."""
    row = system_table()[name]
    if not is_recording():
        return row.span

    def end(value: InItsUnit | None, part: str) -> InItsUnit | None:
        about = replace(
            _about(row, "system"), symbol=f"{name}_{part}", key=f"simulation.system.{name}.{part}"
        )
        return None if value is None else leaf(value, about)

    return Range(value=system_number(name), low=end(row.span.low, "low"), high=end(row.span.high, "high"))


def _number(row: TableValue, table: str) -> InItsUnit:
    return leaf(row.span.value, _about(row, table)) if is_recording() else row.span.value


def _about(row: TableValue, table: str) -> About:
    return About(
        symbol=row.name,
        key=f"simulation.{table}.{row.name}",
        kind="constant",
        what=row.meaning,
        unit=row.unit,
        low=row.span.low,
        high=row.span.high,
        source=row.source,
        status=row.status,
    )


@cache
def kind_table() -> Mapping[str, Mapping[str, str]]:
    """Give the traits of kinds by kind."""
    return {row["kind"]: row for row in _rows("bodies_by_kind.csv")}


def kind_about(kind: Mapping[str, str], name: str) -> About:
    """Give what is said of a trait of a kind."""
    return About(
        symbol=name,
        key=f"simulation.bodies_by_kind.{kind['kind']}.{name}",
        kind="constant",
        source=kind["source"],
        status=kind["status"],
        place="bodies_by_kind.csv",
    )


@cache
def start_table() -> tuple[dict[str, str], ...]:
    """Give the start amounts by component and kind of start."""
    return tuple(_rows("start_states.csv"))


@cache
def source_table() -> Mapping[str, tuple[str, str]]:
    """Give status and text of the sources that the tables of this room name."""
    return {row["key"]: (row["status"], row["text"]) for row in _rows("sources.csv")}
