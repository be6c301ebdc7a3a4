"""The catalogue as pages to click through: shelves of things that some words are about, and a page each."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, Food, Species, Task, known
from backreef.catalogue.load import load_catalogue
from backreef.usecases.browse import KINDS, Kind, Listed, browse_catalogue, kind_of, name_of
from backreef.usecases.check import catalogue_of
from backreef.usecases.portrait import Portrait, figure, plural
from backreef.usecases.portrait_things import portrait_of

SHELVES: dict[Kind, str] = {
    "species": "Animals",
    "foods": "Foods",
    "devices": "Devices",
    "tasks": "Tasks",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """An entry in a list."""

    kind: Kind
    id: str
    name: str
    latin: str
    gist: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """Things of one kind."""

    kind: Kind
    title: str
    things: tuple[Thing, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelves:
    """What some words found."""

    shelves: tuple[Shelf, ...]
    near: tuple[Thing, ...]
    """Where nothing matches: what has a similar name."""


def shelves_of(query: str, kind: str | None = None) -> Shelves:
    """What the catalogue has under some words, of one kind or of all."""
    asked = next((one for one in KINDS if one == kind), None)
    found = browse_catalogue(query, asked)
    things = [_thing(entry) for entry in found.matches]
    shelves = tuple(
        Shelf(kind=one, title=SHELVES[one], things=on_it)
        for one in KINDS
        if (on_it := tuple(thing for thing in things if thing.kind == one))
    )
    return Shelves(shelves=shelves, near=tuple(_thing(entry) for entry in found.near))


def page_of(kind: str, ident: str, plan: Plan | None = None) -> Portrait | None:
    """The page about an entry; with a plan, of an animal also what it would be to its tank."""
    asked = next((one for one in KINDS if one == kind), None)
    catalogue = load_catalogue() if plan is None else catalogue_of(plan)
    entry = None if asked is None else getattr(catalogue, asked).get(ident)
    return None if entry is None else portrait_of(entry, catalogue, plan=plan)


def title_of(kind: str, ident: str, catalogue: Catalogue | None = None) -> str:
    """What a thing is called, or its id where the catalogue lacks it; without one, the one that ships."""
    asked = next((one for one in KINDS if one == kind), None)
    entry = None if asked is None else getattr(catalogue or load_catalogue(), asked).get(ident)
    return ident if entry is None else name_of(entry)


def _thing(entry: Listed) -> Thing:
    latin = entry.scientific_name if isinstance(entry, Species) else ""
    return Thing(kind=kind_of(entry), id=entry.id, name=name_of(entry), latin=latin, gist=gist_of(entry))


def gist_of(entry: Listed) -> str:
    """An entry in a few words."""
    if isinstance(entry, Species):
        grown = known(entry.adult_length_cm)
        return f"{entry.kind}, grows to {figure(grown.value)} cm" if grown else entry.kind
    if isinstance(entry, Food):
        return entry.form
    if isinstance(entry, Task):
        minutes, every = known(entry.minutes), known(entry.every_days)
        rhythm = f", every {plural(every.value, 'day')}" if every else ""
        return f"{figure(minutes.value)} min{rhythm}" if minutes else "no minutes known"
    return entry.device_class.replace("_", " ")
