"""Look something up in the catalogue: by its name, by words that are about it, or everything of a kind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from backreef.catalogue.entries import Catalogue, Device, Food, Species, Task
from backreef.catalogue.find import find, names, plain
from backreef.catalogue.load import load_catalogue

Kind = Literal["species", "foods", "devices", "tasks"]
KINDS: tuple[Kind, ...] = ("species", "foods", "devices", "tasks")
Listed = Species | Food | Device | Task


@dataclass(frozen=True, slots=True, kw_only=True)
class Browsed:
    """What the catalogue has under some words."""

    query: str
    kind: Kind | None
    entry: Listed | None
    """The one entry of this name; else the only one that the words are about, or whose name is near."""
    matches: tuple[Listed, ...]
    """Every entry that the words are about, by kind and name; all of them where no words were given."""
    near: tuple[Listed, ...]
    """Where nothing matches: entries with a similar name, likeliest first."""


def browse_catalogue(
    query: str = "", kind: Kind | None = None, catalogue: Catalogue | None = None
) -> Browsed:
    """The entries that some words name or are about, of one kind or of all."""
    known = catalogue or load_catalogue()
    kinds = KINDS if kind is None else (kind,)
    asked = plain(query)
    if not asked:
        everything = tuple(entry for one in kinds for entry in _shelf(known, one))
        return Browsed(query=query, kind=kind, entry=None, matches=everything, near=())
    named = [entry for one in kinds if (entry := _named(known, one, query)) is not None]
    matches = [entry for one in kinds for entry in _shelf(known, one) if _is_about(entry, asked, known)]
    matches += [entry for entry in named if entry not in matches]
    near = () if matches else tuple(_similar(known, kinds, query))
    only = next((few[0] for few in (named, matches, near) if len(few) == 1), None)
    return Browsed(query=query, kind=kind, entry=only, matches=tuple(matches), near=near)


def kind_of(entry: Listed) -> Kind:
    """The shelf an entry stands on."""
    shelves: dict[type, Kind] = {Species: "species", Food: "foods", Device: "devices", Task: "tasks"}
    return shelves[type(entry)]


def name_of(entry: Listed) -> str:
    """What an entry is called among people."""
    return entry.common_name if isinstance(entry, Species) else entry.name


def _shelf(catalogue: Catalogue, kind: Kind) -> list[Listed]:
    shelves: dict[Kind, list[Listed]] = {
        "species": list(catalogue.species.values()),
        "foods": list(catalogue.foods.values()),
        "devices": list(catalogue.devices.values()),
        "tasks": list(catalogue.tasks.values()),
    }
    return sorted(shelves[kind], key=lambda entry: plain(name_of(entry)))


def _named(catalogue: Catalogue, kind: Kind, query: str) -> Listed | None:
    entry = find(catalogue, kind, query).entry
    return entry if isinstance(entry, Listed) else None


def _similar(catalogue: Catalogue, kinds: tuple[Kind, ...], query: str) -> list[Listed]:
    return [
        getattr(catalogue, kind)[ident]
        for kind in kinds
        for ident in find(catalogue, kind, query).near
        if ident in getattr(catalogue, kind)
    ]


def _is_about(entry: Listed, asked: str, catalogue: Catalogue) -> bool:
    """Whether every word that was asked begins a word of the entry's names or of what it is."""
    words = plain(" ".join(_about(entry, catalogue))).split()
    return all(any(word.startswith(part) for word in words) for part in asked.split())


def _about(entry: Listed, catalogue: Catalogue) -> list[str]:
    if isinstance(entry, Species):
        guild = catalogue.guilds[entry.guild]
        tags = [catalogue.tokens.get(tag, tag) for tag in entry.tags]
        return [*names(entry), entry.kind, entry.family, guild.name, *tags]
    if isinstance(entry, Food):
        return [*names(entry), entry.food_class, entry.form]
    if isinstance(entry, Device):
        return [*names(entry), entry.device_class, entry.does]
    return [*names(entry), entry.consequence]
