"""What the rules find without a simulation, and what they look at."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache, cached_property
from pathlib import Path
from typing import Any, Literal

from backreef.aquarium.defaults import named_source
from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue, Guild, Species, Value, known
from backreef.working.record import is_recording, leaf
from backreef.working.steps import About

Balance = Literal["mouths", "water", "hands"]
Weight = Literal["note", "caution", "serious"]
WEIGHTS: tuple[Weight, ...] = ("serious", "caution", "note")
UNKNOWN = "unknown"
"""First word of what a rule says where it lacks a fact."""
_RULES = Path(__file__).parent / "data" / "rules.toml"


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
    """The facts that it rests on."""
    source: str
    status: str
    condition: str = ""
    """What makes it better or worse, or when it begins; empty where nothing does."""
    remedies: tuple[str, ...] = ()
    from_on: date | None = None
    """The day from which it holds, where that can be reckoned."""

    @property
    def rule(self) -> str:
        """Name of the rule that found it."""
        return self.id.partition(".")[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lacking:
    """An animal of which a rule cannot judge, and the fact that it lacks."""

    one: Resident
    fact: str
    """What is not known, in words."""


Found = Iterator[CheckFinding | Lacking]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A named question to a plan, the words it is known by and the facts it reads."""

    name: str
    """First part of the ids of its findings."""
    look: Callable[[Setting], Found]
    """Its docstring says in a sentence what it looks for."""
    reads: tuple[str, ...]
    """Fields of the catalogue's animals, foods and devices."""
    plan: tuple[str, ...] = ()
    """Keys of the plan, beside the animals themselves."""


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

    @property
    def is_fish(self) -> bool:
        """Whether it is a fish."""
        return self.species.kind == "fish"

    @property
    def length_cm(self) -> float | None:
        """Length on arrival, as the plan has it or as usually sold. [cm]"""
        usual = known(self.species.purchase_length_cm)
        return self.entry.length_cm if self.entry.length_cm is not None else usual.value if usual else None


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What every rule may look at."""

    plan: Plan
    catalogue: Catalogue
    residents: tuple[Resident, ...]
    """Sorted by the ids of their entries, so that the order in the file changes nothing."""
    absence_days: int
    """Longest run of days on which nobody is there."""
    absence_label: str

    @cached_property
    def by_species(self) -> tuple[tuple[Resident, int], ...]:
        """The first entry of each species, and how many the plan has in all."""
        counts: dict[str, int] = defaultdict(int)
        first: dict[str, Resident] = {}
        for one in self.residents:
            counts[one.species.id] += one.entry.count
            first.setdefault(one.species.id, one)
        return tuple((one, counts[species_id]) for species_id, one in first.items())

    @cached_property
    def tokens(self) -> frozenset[str]:
        """Every tag that an animal of the plan carries."""
        return frozenset(tag for one in self.residents for tag in one.species.tags)

    def guild(self, one: Resident) -> Guild:
        """How an animal feeds."""
        return self.catalogue.guilds[one.species.guild]

    def comes_on(self, one: Resident) -> date:
        """The day an animal comes, the first day for those already there."""
        return one.entry.arrives_on or self.plan.start_on

    def has_device(self, *kinds: str) -> bool:
        """Whether the plan has a device of one of these kinds."""
        return any(device.kind in kinds for device in self.plan.devices)

    def does(self, *tasks: str) -> bool:
        """Whether the plan has one of these tasks as upkeep."""
        return any(upkeep.task in tasks for upkeep in self.plan.upkeep)


@cache
def rules() -> dict[str, Any]:
    """The table of numbers and words of the checks."""
    with _RULES.open("rb") as file:
        return tomllib.load(file)


def rule_number(name: str) -> float:
    """A number of the checks, in the unit its row names."""
    value = float(rules()["numbers"][name]["value"])
    return leaf(value, _about(name)) if is_recording() else value


def _about(name: str) -> About:
    """What is said of a number of the checks."""
    row, (source, status) = rules()["numbers"][name], rule_source(name)
    return About(
        symbol=name,
        key=f"company.rules.{name}",
        kind="constant",
        unit=row["unit"],
        low=row.get("low"),
        high=row.get("high"),
        source=source,
        status=status,
    )


def rule_source(name: str) -> tuple[str, str]:
    """Source and status of a number of the checks."""
    row = rules()["numbers"][name]
    return named_source(row, rules()["sources"]), str(row["status"])


@cache
def rule_words(group: str, name: str) -> frozenset[str]:
    """A list of words of the checks."""
    return frozenset(rules()[group][name])


def source_text(catalogue: Catalogue, keys: str) -> str:
    """The sources behind some keys of the catalogue, in words."""
    texts = [catalogue.sources[key].text for key in keys.split() if key in catalogue.sources]
    return "; ".join(texts) or "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """On whose word a finding rests."""

    source: str
    status: str


def word_of(setting: Setting, one: Resident, value: Value | None = None) -> Word:
    """The word of a value or, without one, of the species' own row."""
    keys = value.source if value is not None else "practice"
    return Word(
        source=source_text(setting.catalogue, keys),
        status=value.status if value is not None else one.species.status,
    )


def about(  # noqa: PLR0913  the parts of one finding
    one: Resident,
    setting: Setting,
    *,
    rule: str,
    weight: Weight,
    what: str,
    why: str,
    value: Value | None = None,
    number: str = "",
    balance: Balance = "mouths",
    condition: str = "",
    from_on: date | None = None,
) -> CheckFinding:
    """A finding about one entry: on the word of a value, of a number of the rules, or of the species' row."""
    word = word_of(setting, one, value)
    if number:
        word = Word(source=rule_source(number)[0], status=rule_source(number)[1])
    return CheckFinding(
        id=f"{rule}.{one.entry.id}",
        balance=balance,
        weight=weight,
        who=one.species.common_name,
        what=what,
        why=why,
        source=word.source,
        status=word.status,
        condition=condition,
        from_on=from_on,
    )
