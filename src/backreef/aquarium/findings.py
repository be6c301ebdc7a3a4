"""What the checks without a simulation find, and what they look at."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from backreef.aquarium.defaults import named_source
from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue, Species

Balance = Literal["mouths", "water", "hands"]
Weight = Literal["note", "caution", "serious"]
WEIGHTS: tuple[Weight, ...] = ("serious", "caution", "note")
_RULES = Path(__file__).parent / "data" / "check_rules.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckFinding:
    """One thing about a plan that needs no forecast to be seen."""

    id: str
    """The rule and whom it is about; the same plan gives the same ids."""
    balance: Balance
    weight: Weight
    """serious: do not do it so; caution: know it and decide; note: good to know."""
    who: str
    what: str
    why: str
    source: str
    status: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Resident:
    """An entry of the plan's animals with what the catalogue knows of it."""

    entry: AnimalEntry
    species: Species

    @property
    def called(self) -> str:
        """Common name and number, as the keeper knows them."""
        count = self.entry.count
        name = self.species.common_name
        return name if count == 1 else f"{count} × {name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What every rule may look at."""

    plan: Plan
    catalogue: Catalogue
    residents: tuple[Resident, ...]
    absence_days: int
    """Longest run of days on which nobody is there."""
    absence_label: str


@cache
def rules() -> dict[str, Any]:
    """The table of numbers and words of the checks."""
    with _RULES.open("rb") as file:
        return tomllib.load(file)


def rule_number(name: str) -> float:
    """A number of the checks, in the unit its row names."""
    return float(rules()["numbers"][name]["value"])


def rule_source(name: str) -> tuple[str, str]:
    """Source and status of a number of the checks."""
    row = rules()["numbers"][name]
    return named_source(row, rules()["sources"]), str(row["status"])


def source_text(catalogue: Catalogue, keys: str) -> str:
    """The sources behind some keys of the catalogue, in words."""
    texts = [catalogue.sources[key].text for key in keys.split() if key in catalogue.sources]
    return "; ".join(texts) or "common practice, no source"
