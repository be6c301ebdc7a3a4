"""The rules of judgement: numbers of our own or of practice, each with its range, source and standing."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from backreef.models.body_values import read_body_sources
from backreef.models.tables import load_tables
from backreef.simulation.tables import InItsUnit
from backreef.simulation.tables import source_table as sources_of_simulation
from backreef.working.record import told

NO_PUBLICATION = ("practice", "our_rule")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A row of `data/rules.csv`."""

    name: str
    value: float
    low: float
    high: float
    unit: str
    meaning: str
    source: str
    """Keys of sources."""
    status: str
    note: str

    @property
    def said_by(self) -> str:
        """Its sources in words."""
        return source_words(self.source, self.note)


def rows_of(table: str) -> list[dict[str, str]]:
    """Give the rows of a table of this room."""
    with (files("backreef.judgement") / "data" / table).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@cache
def all_rules() -> Mapping[str, Rule]:
    """Give every rule by its name."""
    return {row["name"]: _rule(row) for row in rows_of("rules.csv")}


def _rule(row: Mapping[str, str]) -> Rule:
    return Rule(
        name=row["name"],
        value=float(row["value"]),
        low=float(row["low"]),
        high=float(row["high"]),
        unit=row["unit"],
        meaning=row["meaning"],
        source=row["source"],
        status=row["status"],
        note=row["note"],
    )


def rule(name: str) -> InItsUnit:
    """Give the number of a rule."""
    return told(all_rules()[name], f"judgement.rules.{name}").value


@cache
def table_sources() -> Mapping[str, str]:
    """Give the text of every source that a table of the models, the simulation or this room names."""
    own = {row["key"]: row["text"] for row in rows_of("sources.csv")}
    simulated = {key: text for key, (_, text) in sources_of_simulation().items()}
    modelled = {key: text for key, (_, text) in load_tables().sources.items()}
    return {**read_body_sources(), **modelled, **simulated, **own}


def source_words(keys: str, note: str) -> str:
    """Give sources in words, after what is to be said."""
    texts = "; ".join(_spoken(key) for key in keys.split())
    return f"{note} ({texts})" if note else texts


def _spoken(key: str) -> str:
    text = table_sources()[key].removesuffix(".")
    return text[:1].lower() + text[1:] if key in NO_PUBLICATION else text
