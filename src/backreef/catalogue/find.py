"""Finds an entry by what a person calls it: id, trade name, scientific name or an older name."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from backreef.catalogue.entries import Catalogue, Device, Entry, Food, Guild, Species, Task

Kind = Literal["species", "foods", "devices", "tasks", "guilds"]
NEAR_COUNT = 5
_LONGEST = 80
"""Letters of a name that somebody may have misspelt."""
CLOSE_RATIO = 0.72
"""Likeness of two names, as difflib counts it, from which one is offered for the other."""
SHORTEST_COUNT = 3
"""Letters a word must have before entries that contain it are offered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The entry that was meant, if the words say so without doubt, and others that may have been."""

    entry: Entry | None
    near: tuple[str, ...]
    """Ids, likeliest first; without the entry itself."""


def find(catalogue: Catalogue, kind: Kind, text: str) -> Found:
    """Give the entry that a text names, and the ids of those it may have meant."""
    entries = _entries(catalogue, kind)
    asked = plain(text)
    exact = [entry for entry in entries if asked in {plain(name) for name in names(entry)}]
    if not exact:
        exact = [entry for entry in entries if _abbreviated(asked, entry)]
    exact.sort(key=lambda entry: (plain(entry.id) != asked, len(names(entry))))
    entry = exact[0] if exact else None
    near = [other.id for other in exact[1:]]
    near += [
        ident for ident in _near(entries, asked) if ident not in near and (not entry or ident != entry.id)
    ]
    return Found(entry=entry, near=tuple(near[:NEAR_COUNT]))


def names(entry: Entry) -> tuple[str, ...]:
    """Everything an entry may be called."""
    if isinstance(entry, Species):
        return (entry.id, entry.common_name, entry.scientific_name, *entry.synonyms)
    return (entry.id, entry.name)


def plain(text: str) -> str:
    """Small letters without accents, signs or needless blanks, so that spelling hinders less."""
    letters = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(letter for letter in letters if not unicodedata.combining(letter))
    return " ".join(re.sub(r"[^a-z0-9]+", " ", kept).split())


def _entries(catalogue: Catalogue, kind: Kind) -> list[Entry]:
    tables: dict[Kind, list[Species] | list[Food] | list[Device] | list[Task] | list[Guild]] = {
        "species": list(catalogue.species.values()),
        "foods": list(catalogue.foods.values()),
        "devices": list(catalogue.devices.values()),
        "tasks": list(catalogue.tasks.values()),
        "guilds": list(catalogue.guilds.values()),
    }
    return list(tables[kind])


def _abbreviated(asked: str, entry: Entry) -> bool:
    """Whether `z flavescens` stands for the entry's scientific name."""
    if not isinstance(entry, Species) or not re.fullmatch(r"[a-z] [a-z]+", asked):
        return False
    genus, _, rest = plain(entry.scientific_name).partition(" ")
    return f"{genus[:1]} {rest}" == asked


def _near(entries: list[Entry], asked: str) -> Iterator[str]:
    """Ids whose names hold all words of what was asked; then those like it; then those with its parts."""
    owner = {plain(name): entry.id for entry in reversed(entries) for name in names(entry)}
    close = difflib.get_close_matches(asked[:_LONGEST], owner, n=NEAR_COUNT, cutoff=CLOSE_RATIO)
    asked_words = {word for word in asked.split() if len(word) >= SHORTEST_COUNT}
    holding = [name for name in owner if asked_words and all(word in name for word in asked_words)]
    whole = [name for name in holding if asked_words <= set(name.split())]
    seen: set[str] = set()
    for name in (*sorted(whole, key=len), *close, *sorted(holding, key=len)):
        if owner[name] not in seen:
            seen.add(owner[name])
            yield owner[name]
