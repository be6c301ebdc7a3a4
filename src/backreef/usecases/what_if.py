"""Small changes of a plan that one may wonder about: as toggles, each a change of the plan's text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from backreef.aquarium.edits import CannotEdit, drop_entry, set_key
from backreef.aquarium.toml_text import quoted
from backreef.catalogue.entries import Catalogue
from backreef.usecases.browse import name_of
from backreef.usecases.pages import title_of
from backreef.usecases.plan_form import document_of
from backreef.usecases.plan_rows import as_toml

FORTNIGHT = timedelta(days=14)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A thing that can be left out, or be one more."""

    number: int
    words: str
    on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap:
    """A meal, and the foods that it might be instead."""

    number: int
    words: str
    food: str
    """The one that was chosen; empty for the plan's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What somebody wonders about."""

    skipped: tuple[int, ...] = ()
    """Entries of upkeep that are left out."""
    more: tuple[int, ...] = ()
    """Entries of animals with one animal more."""
    foods: Mapping[int, str]
    """Entry of meals -> another food."""
    away_on: date | None = None
    """The first of two weeks away."""

    @property
    def nothing(self) -> bool:
        """Whether nothing is changed."""
        return not (self.skipped or self.more or any(self.foods.values()) or self.away_on)


def changed(text: str, asked: WhatIf) -> str:
    """The plan's text with what somebody wonders about.

    Raises
    ------
    CannotEdit
        If the text cannot be changed so.
    """
    document = document_of(text)
    for number in asked.more:
        count = _entries(document, "animals", number).get("count", 1)
        text = set_key(text, ("animals", number, "count"), str(int(count) + 1))
    for number, food in asked.foods.items():
        if food and food != _entries(document, "meals", number).get("food"):
            text = set_key(text, ("meals", number, "food"), quoted(food))
    for number in sorted(asked.skipped, reverse=True):
        text = drop_entry(text, "upkeep", number)
    if asked.away_on is not None:
        closed = document.get("keeper", {}).get("closed", [])
        last = asked.away_on + FORTNIGHT - timedelta(days=1)
        more = {"first": asked.away_on, "last": last, "label": "two weeks away"}
        text = set_key(text, ("keeper", "closed"), as_toml([*closed, more]))
    return text


def _entries(document: Mapping[str, Any], section: str, number: int) -> dict[str, Any]:
    entries: list[dict[str, Any]] = document.get(section, [])
    if number >= len(entries):
        raise CannotEdit(f"the plan has no entry {number + 1} in {section}")
    return entries[number]


def choices(text: str, section: str, catalogue: Catalogue, on: Sequence[int]) -> tuple[Choice, ...]:
    """The entries of a list, those that are chosen marked."""
    shelf, key = {"animals": ("species", "species"), "upkeep": ("tasks", "task")}[section]
    found = []
    for number, entry in enumerate(document_of(text).get(section, [])):
        name = title_of(shelf, str(entry.get(key, "")), catalogue)
        words = f"{name} ({entry['every']})" if section == "upkeep" and "every" in entry else name
        if section == "animals":
            words = f"{name} (now {entry.get('count', 1)})"
        found.append(Choice(number=number, words=words, on=number in on))
    return tuple(found)


def swaps(text: str, catalogue: Catalogue, foods: Mapping[int, str]) -> tuple[Swap, ...]:
    """The meals, each with the food that was chosen for it."""
    return tuple(
        Swap(
            number=number,
            words=title_of("foods", str(meal.get("food", "")), catalogue),
            food=foods.get(number, ""),
        )
        for number, meal in enumerate(document_of(text).get("meals", []))
    )


def food_names(catalogue: Catalogue) -> tuple[tuple[str, str], ...]:
    """Every food by its name."""
    return tuple(
        sorted(((ident, name_of(food)) for ident, food in catalogue.foods.items()), key=lambda one: one[1])
    )
