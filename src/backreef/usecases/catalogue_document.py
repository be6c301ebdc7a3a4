"""Entries of the catalogue as plain data for JSON, in the shape of `data/catalogue.schema.json`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from backreef.catalogue.entries import Catalogue, Unknown, Value
from backreef.usecases.browse import KINDS, Listed, kind_of

SCHEMA = "backreef.catalogue/1"
Json = Any


def catalogue_document(entries: Iterable[Listed], catalogue: Catalogue) -> dict[str, Json]:
    """The entries by kind, with the guilds of the animals and the texts of every source that is cited."""
    chosen = list(entries)
    guilds = sorted({entry.guild for entry in chosen if kind_of(entry) == "species"})  # type: ignore[union-attr]
    shelves: dict[str, Json] = {
        kind: [fields_of(entry) for entry in chosen if kind_of(entry) == kind] for kind in KINDS
    }
    shelves["guilds"] = [fields_of(catalogue.guilds[ident]) for ident in guilds]
    cited = {key for shelf in shelves.values() for entry in shelf for key in _cited(entry)}
    sources = {key: fields_of(catalogue.sources[key]) for key in sorted(cited) if key in catalogue.sources}
    return {"schema": SCHEMA, **shelves, "sources": sources}


def fields_of(entry: object) -> dict[str, Json]:
    """Every field of an entry as plain data."""
    return {name: _plain(getattr(entry, name)) for name in getattr(entry, "__dataclass_fields__", {})}


def _plain(found: object) -> Json:
    if isinstance(found, Unknown):
        return {"unknown": found.reason}
    if isinstance(found, Value):
        return fields_of(found)
    if isinstance(found, Mapping):
        return {key: _plain(value) for key, value in found.items()}
    if isinstance(found, frozenset):
        return sorted(found)
    if isinstance(found, tuple):
        return list(found)
    if isinstance(found, float):
        return float(f"{found:.6g}")
    return found


def _cited(found: Json) -> Iterator[str]:
    """Keys of sources anywhere in plain data."""
    if isinstance(found, dict):
        yield from (key.strip() for key in str(found.get("source", "")).split(";"))
        yield from found.get("sources", ())
        for value in found.values():
            if isinstance(value, dict):
                yield from _cited(value)
