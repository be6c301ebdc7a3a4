"""Tables that ship with the program and stand behind the entries: guilds, digestion, ranges, tokens."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, cast

from backreef.catalogue.entries import DIETS, POOLS, Diet, Guild, Value
from backreef.catalogue.sources import Status

DATA = Path(__file__).parent / "data"
OWN_LABEL = "own_label"
"""Key of the source of what a keeper reads off a pack."""
MOST_KEPT_FRAC = 0.98
"""No animal keeps more of its food than this; ranges end here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """The range that values of a field take when they bring none."""

    low_ratio: float
    high_ratio: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberField:
    """A field that holds a number: its unit and the bounds that no believable value leaves."""

    unit: str
    lowest: float
    highest: float
    meaning: str


@cache
def fields() -> Mapping[str, NumberField]:
    """Field -> what is known of it."""
    return {
        row["field"]: NumberField(
            unit=row["unit"],
            lowest=float(row["lowest"]),
            highest=float(row["highest"]),
            meaning=row["meaning"],
        )
        for row in _rows("fields.csv")
    }


@cache
def spreads() -> Mapping[str, Spread]:
    """Field -> range for values without one."""
    return {key: Spread(**entry) for key, entry in _toml("spreads.toml").items()}


@cache
def laws() -> Mapping[str, float]:
    """Dotted name -> bound, as `room.least_length_ratio`."""
    return {
        f"{group}.{name}": entry["value"]
        for group, bounds in _toml("laws.toml").items()
        for name, entry in bounds.items()
    }


def table_sources() -> list[str]:
    """The sources that guilds, digestion, labels, prey, packaging and laws rest on."""
    columns = [entry["source"] for entry in _toml("guilds.toml").values()]
    bounds = [entry["source"] for group in _toml("laws.toml").values() for entry in group.values()]
    tables = ("digestion.csv", "labels.csv", "natural_prey.csv", "packaging.csv")
    rows = [row["source"] for name in tables for row in _rows(name)]
    return [*columns, *bounds, *rows, OWN_LABEL]


@cache
def tokens() -> Mapping[str, str]:
    """Token -> words, of every kind."""
    return {token: text for table in _toml("tokens.toml").values() for token, text in table.items()}


@cache
def tag_tokens() -> frozenset[str]:
    """Tokens that animals may carry as tags."""
    return frozenset(_toml("tokens.toml")["tags"])


@cache
def guilds() -> Mapping[str, Guild]:
    """Id -> guild."""
    columns = _toml("guilds.toml")
    return {row["id"]: _guild(row, columns) for row in _rows("guilds.csv")}


def _guild(row: Mapping[str, str], columns: Mapping[str, Any]) -> Guild:
    day = _column(row, columns, "day_share_frac")
    night = Value(
        value=1 - day.value,
        low=1 - day.highest,
        high=1 - day.lowest,
        unit="",
        source=day.source,
        status=day.status,
        note=day.note,
    )
    return Guild(
        id=row["id"],
        name=row["name"],
        describes=row["describes"],
        feeds_on={pool: _ranged(row[pool], columns["feeds_on"], unit="", share=True) for pool in POOLS},
        light_share_frac=_column(row, columns, "light_share_frac"),
        day_share_frac=day,
        night_share_frac=night,
        dusk_feeder=row["dusk_feeder"] == "yes",
        pace_ratio=_column(row, columns, "pace_ratio"),
        activity_factor_ratio=_column(row, columns, "activity_factor_ratio"),
        gut_hours=_column(row, columns, "gut_hours"),
        carbon_assimilated_frac=_kept(row["digestion"], "carbon", spread="spread_cn_frac"),
        nitrogen_assimilated_frac=_kept(row["digestion"], "nitrogen", spread="spread_cn_frac"),
        phosphorus_assimilated_frac=_kept(row["digestion"], "phosphorus", spread="spread_p_frac"),
        prey_not_modelled=row["prey_not_modelled"],
    )


def _column(row: Mapping[str, str], columns: Mapping[str, Any], name: str) -> Value:
    unit = "h" if name == "gut_hours" else ""
    return _ranged(row[name], columns[name], unit=unit, share=name.endswith("_frac"))


def _ranged(cell: str, column: Mapping[str, Any], *, unit: str, share: bool) -> Value:
    """A cell with the range and the word of its column; a share is never above one."""
    value = float(cell)
    high = value * column["high_ratio"]
    return Value(
        value=value,
        low=value * column["low_ratio"],
        high=min(1.0, high) if share else high,
        unit=unit,
        source=column["source"],
        place=column["place"],
        status=column["status"],
        note=column["note"],
    )


@cache
def _digestion() -> Mapping[tuple[str, str], Mapping[str, str]]:
    return {(row["id"], row["diet"]): row for row in _rows("digestion.csv")}


def _kept(digestion: str, element: str, *, spread: str) -> Mapping[Diet, Value]:
    """Share of an element that is kept, by diet."""
    kept: dict[Diet, Value] = {}
    for diet in DIETS:
        row = _digestion()[digestion, diet]
        value, around = float(row[element]), float(row[spread])
        kept[diet] = Value(
            value=value,
            low=value * (1 - around),
            high=min(MOST_KEPT_FRAC, value * (1 + around)),
            unit="",
            source=row["source"],
            place=row["place"],
            status=cast("Status", row["status"]),
        )
    return kept


def _toml(name: str) -> dict[str, Any]:
    with (DATA / name).open("rb") as file:
        found = tomllib.load(file)
    return {key: entry for key, entry in found.items() if isinstance(entry, dict)}


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
