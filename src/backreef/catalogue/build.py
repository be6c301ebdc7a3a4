"""Turns a valid document into an entry: units from the table of fields, ranges from the table of spreads."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Any, Generic, TypeVar, get_origin, get_type_hints

from backreef.catalogue.entries import Quantity, Unknown, Value
from backreef.catalogue.tables import Spread, fields, spreads

Kind = TypeVar("Kind")
Build = Callable[[Any], Any]
Plan = tuple[tuple[str, Build], ...]
_PLANS: dict[type[Any], Plan] = {}


class Shelf(Mapping[str, Kind], Generic[Kind]):
    """Entries by id, in the order of their ids, each made of its document when it is first asked for."""

    def __init__(self, documents: Mapping[str, Mapping[str, Any]], kind: type[Kind]) -> None:
        self._documents, self._kind = dict(sorted(documents.items())), kind
        self._made: dict[str, Kind] = {}

    def __getitem__(self, ident: str) -> Kind:
        """The entry; there is never more than one of an id, whichever thread asks first."""
        made = self._made.get(ident)
        if made is None:
            made = self._made.setdefault(ident, build_entry(self._documents[ident], self._kind))
        return made

    def __contains__(self, ident: object) -> bool:
        """Whether there is such an entry; none is made for that."""
        return ident in self._documents

    def __iter__(self) -> Iterator[str]:
        """Every id."""
        return iter(self._documents)

    def __len__(self) -> int:
        """How many there are."""
        return len(self._documents)

    def ids_with(self, **words: str) -> list[str]:
        """Ids of the entries that say these words in these fields; none is made for that."""
        asked = words.items()
        return [
            ident
            for ident, document in self._documents.items()
            if all(document[field] == word for field, word in asked)
        ]


def entries_with(entries: Mapping[str, Kind], **words: str) -> Iterator[Kind]:
    """The entries that say these words in these fields."""
    if isinstance(entries, Shelf):
        yield from (entries[ident] for ident in entries.ids_with(**words))
        return
    for entry in entries.values():
        if all(getattr(entry, field) == word for field, word in words.items()):
            yield entry


def build_entry(document: Mapping[str, Any], kind: type[Kind]) -> Kind:
    """Give the entry that a document describes."""
    return kind(**{name: build(document[name]) for name, build in _plan(kind)})


def _plan(kind: type[Any]) -> Plan:
    """Field -> what makes it of what the file holds."""
    if kind not in _PLANS:
        hints = get_type_hints(kind)
        fields_of_kind = dataclasses.fields(kind)
        _PLANS[kind] = tuple(
            (field.name, _builder(field.name, hints[field.name])) for field in fields_of_kind
        )
    return _PLANS[kind]


def _builder(name: str, hint: object) -> Build:
    if hint == Quantity:
        unit, spread = fields()[name].unit, spreads().get(name)
        return lambda raw: _quantity(raw, unit, spread)
    if hint == (int | None):
        return lambda raw: raw if isinstance(raw, int) else None
    if get_origin(hint) is tuple:
        return tuple
    if get_origin(hint) is frozenset:
        return frozenset
    if get_origin(hint) is Mapping:
        return lambda raw: MappingProxyType(dict(raw))
    return lambda raw: raw


def _quantity(raw: Mapping[str, Any], unit: str, spread: Spread | None) -> Quantity:
    if "unknown" in raw:
        return Unknown(reason=raw["unknown"])
    value, low, high, note = raw["value"], raw.get("low"), raw.get("high"), raw.get("note", "")
    if low is None and high is None and spread is not None:
        low, high = value * spread.low_ratio, value * spread.high_ratio
        note = f"{note}; range assumed: {spread.why}" if note else f"range assumed: {spread.why}"
    return Value(
        value=value,
        low=low,
        high=high,
        unit=unit,
        source=raw["source"],
        place=raw.get("place", ""),
        status=raw["status"],
        note=note,
    )
