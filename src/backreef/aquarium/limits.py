"""What a key of the plan file may hold: unit, believable range, example, description."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from backreef.units import write_quantity

PERCENT = 100
InKeyUnit = float
"""A number in the unit that the row of its key names."""
_DATA = Path(__file__).parent / "data"


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of the plan file; `[]` in its path stands for each entry of a list or table."""

    key: str
    dimension: str
    """What is measured; empty where the key is no quantity."""
    token: str
    """Unit of the number inside the program."""
    lowest: float | None
    """Nothing smaller is believed."""
    highest: float | None
    """Nothing larger is believed."""
    example: str
    """As written in TOML."""
    doc: str


def _bound(text: str) -> float | None:
    return float(text) if text else None


@cache
def all_keys() -> dict[str, Key]:
    """Every key of the plan file by its path."""
    with (_DATA / "keys.csv").open(encoding="utf-8", newline="") as file:
        return {
            row["key"]: Key(
                key=row["key"],
                dimension=row["dimension"],
                token=row["token"],
                lowest=_bound(row["min"]),
                highest=_bound(row["max"]),
                example=row["example"],
                doc=row["doc"],
            )
            for row in csv.DictReader(file)
        }


def range_text(key: Key) -> str:
    """The believable range of a key with its unit: '5 and 20000 L'; shares are shown in percent."""
    if key.lowest is None or key.highest is None:
        return ""
    if not key.dimension or key.dimension == "none":
        return f"{key.lowest:g} and {key.highest:g}"
    unit = write_quantity(0.0, dimension=key.dimension, token=key.token).partition(" ")[2]
    if not key.token.startswith("frac"):
        return f"{key.lowest:g} and {key.highest:g} {unit}"
    unit = unit.replace("frac/d", "%/day").replace("frac", "%")
    return f"{key.lowest * PERCENT:g} and {key.highest * PERCENT:g} {unit}"


@cache
def _limits() -> dict[str, float]:
    with (_DATA / "limits.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: float(row["value"]) for row in csv.DictReader(file)}


def limit(name: str) -> float:
    """A bound on the size of a plan, in the unit its table gives."""
    return _limits()[name]
