"""Reads `data/bodies.toml`: the values that equations of animals and food rest on, with range and source."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from backreef.errors import BackreefError
from backreef.working.record import is_recording, told

BODIES = Path(__file__).parent / "data" / "bodies.toml"
Status = Literal["published", "calc", "memory", "practice"]
Numbers = Mapping[str, float]
"""Dotted name (`day.activity_ratio`) -> number; an ensemble hands in its own draws."""


class BodyValueError(BackreefError):
    """A value that an equation needs is missing or cannot be read; the message says which and where."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyValue:
    """One number of the file, with what is known of it."""

    value: float
    low: float | None = None
    high: float | None = None
    unit: str
    source: str
    place: str
    status: Status

    @property
    def lowest(self) -> float:
        """The lower bound, or the value itself where none is given."""
        return self.value if self.low is None else self.low

    @property
    def highest(self) -> float:
        """The upper bound, or the value itself where none is given."""
        return self.value if self.high is None else self.high


@cache
def read_body_values(path: Path = BODIES) -> Mapping[str, BodyValue]:
    """Give every value of the file under its dotted name.

    Validity
    --------
    Raises `BodyValueError` at the first entry that lacks a field or carries an unknown one.

    Source
    ------
    Each entry names its own.
    """
    tables = {name: table for name, table in _document(path).items() if name != "sources"}
    return {name: _value(name, entry, path) for name, entry in _entries(tables)}


@cache
def read_body_sources(path: Path = BODIES) -> Mapping[str, str]:
    """Give the full reference behind each source key of the file.

    Validity
    --------
    Any.

    Source
    ------
    The file.
    """
    return dict(_document(path)["sources"])


def body_numbers() -> Numbers:
    """Give the central number of every value, for one run without uncertainty.

    While a working is recorded, each carries where it stands.

    Validity
    --------
    Any.

    Source
    ------
    `data/bodies.toml`.
    """
    if is_recording():
        return {name: entry.value for name, entry in told(read_body_values(), "models.bodies").items()}
    return plain_numbers()


@cache
def plain_numbers() -> Numbers:
    """Give the central number of every value, never with a working: for what is kept.

    Validity
    --------
    Any.

    Source
    ------
    `data/bodies.toml`.
    """
    return {name: entry.value for name, entry in read_body_values().items()}


def number(numbers: Numbers, name: str) -> float:
    """Give one number, or say that it is missing.

    Validity
    --------
    Raises `BodyValueError` for an unknown name; a missing value is never taken for zero.

    Source
    ------
    `data/bodies.toml`.
    """
    try:
        return numbers[name]
    except KeyError:
        raise BodyValueError(f"{BODIES.name} holds no '{name}'; the equation that asked needs it") from None


@cache
def _document(path: Path) -> Mapping[str, Any]:
    with path.open("rb") as file:
        return tomllib.load(file)


def _entries(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    for key, entry in table.items():
        if "value" in entry:
            yield prefix + key, entry
        else:
            yield from _entries(entry, f"{prefix}{key}.")


def _value(name: str, entry: Mapping[str, Any], path: Path) -> BodyValue:
    try:
        return BodyValue(**entry)
    except TypeError as problem:
        raise BodyValueError(f"{path.name}: {name}: {problem}") from None
