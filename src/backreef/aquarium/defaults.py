"""What is taken where a plan says nothing: read from `data/defaults.toml`, noted when taken."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from backreef.aquarium.plan import DefaultTaken
from backreef.working.record import named, told
from backreef.working.steps import LAW, About

_TABLE = Path(__file__).parent / "data" / "defaults.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Default:
    """One row of the table; `value` is in `unit`, `text` stands where the default is a word."""

    key: str
    value: float
    text: str
    low: float | None
    high: float | None
    unit: str
    status: str
    source: str
    changes: str


@cache
def all_defaults() -> dict[str, Default]:
    """Every default by its name."""
    with _TABLE.open("rb") as file:
        table = tomllib.load(file)
    sources: dict[str, str] = table.pop("sources")
    return {key: _default(key, row, sources) for key, row in table.items()}


def named_source(row: dict[str, Any], sources: dict[str, str]) -> str:
    """The source of a row in words, with its place or remark."""
    text, place = sources[row["source"]], row.get("place")
    return f"{text}: {place}" if place else text


def _default(key: str, row: dict[str, Any], sources: dict[str, str]) -> Default:
    return Default(
        key=key,
        value=float(row.get("value", 0.0)),
        text=row.get("text", row.get("hour", "")),
        low=row.get("low"),
        high=row.get("high"),
        unit=row.get("unit", ""),
        status=row["status"],
        source=named_source(row, sources),
        changes=row["changes"],
    )


def default(key: str) -> Default:
    """The row of one default."""
    return told(all_defaults()[key], f"defaults.{key}", kind="assumed")


class Assumptions:
    """Notes each default that a plan makes use of, in the order in which they are taken."""

    def __init__(self) -> None:
        self.taken: list[DefaultTaken] = []

    def value(self, key: str, *, of: str | None = None) -> float:
        """The number of a default, noted under `of` or its own name."""
        row = default(key)
        self._note(row, key=of or key, value=f"{row.value:g}")
        return row.value

    def text(self, key: str, *, of: str | None = None) -> str:
        """The word of a default, noted under `of` or its own name."""
        row = default(key)
        self._note(row, key=of or key, value=row.text)
        return row.text

    def _note(self, row: Default, *, key: str, value: str) -> None:
        self.note(
            DefaultTaken(
                key=key,
                value=value,
                unit=row.unit,
                low=row.low,
                high=row.high,
                status=row.status,
                source=row.source,
                changes=row.changes,
            )
        )

    def note(self, taken: DefaultTaken) -> None:
        """One more assumption."""
        self.taken.append(taken)

    def worked_out(self, key: str, rule: Callable[[float], float], *, unit: str, of: str, how: str) -> float:
        """A number that follows from the plan by a rule of one argument, whose value is the default `of`."""
        row = default(of)
        symbol = f"{key.rpartition('.')[2]}_{unit.lower()}" if unit.isalnum() else key.rpartition(".")[2]
        about = About(symbol=symbol, key=key, kind=LAW, what=how, unit=unit)
        value = named(rule(row.value), about)
        bounds = sorted(rule(bound) for bound in (row.low, row.high) if bound is not None)
        self.note(
            DefaultTaken(
                key=key,
                value=f"{value:.4g}",
                unit=unit,
                low=bounds[0] if bounds else None,
                high=bounds[-1] if bounds else None,
                status="calc",
                source=f"{how}: {row.source}",
                changes=row.changes,
            )
        )
        return value

    def sorted(self) -> tuple[DefaultTaken, ...]:
        """All that was assumed, in the order in which it was needed."""
        return tuple(self.taken)
