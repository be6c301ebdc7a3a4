"""Entries of the log as plain data for JSON, in the shape of `data/log.schema.json`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from backreef.aquarium.series import door_factor, series_of
from backreef.catalogue.entries import Catalogue
from backreef.logbook.entries import Entry, Reading
from backreef.logbook.plain import entry_fields
from backreef.logbook.words import what_words

SCHEMA = "backreef.log/1"


def log_document(entries: Sequence[Entry], catalogue: Catalogue, *, tank: str) -> dict[str, Any]:
    """Entries, or the revisions of one, with what they say in words and readings at the doors' units."""
    return {"schema": SCHEMA, "tank": tank, "entries": [_entry(entry, catalogue) for entry in entries]}


def _entry(entry: Entry, catalogue: Catalogue) -> dict[str, Any]:
    fields = entry_fields(entry) | {"words": what_words(entry.what, catalogue)}
    if isinstance(entry.what, Reading):
        series = series_of(entry.what.series)
        fields["shown"] = {
            "series": series.door_series,
            "value": entry.what.value * door_factor(series),
            "unit": series.door_unit,
        }
    return fields
