"""Writes entries as a table for spreadsheets, in which no cell can be taken for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from backreef.aquarium.series import door_factor, series_of
from backreef.catalogue.entries import Catalogue
from backreef.logbook.entries import Entry, Note, Photograph, Reading, What
from backreef.logbook.words import what_words

COLUMNS = ("when", "tank", "kind", "line", "words", "quantity", "value", "unit", "who", "withdrawn", "id")
_BEGINS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def table_of(entries: Sequence[Entry], catalogue: Catalogue) -> str:
    """Entries as comma-separated values; `line` says each as it could be logged again.

    Lines end as RFC 4180 has it, which also makes the writer quote a cell with either kind of line break.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for entry in entries:
        quantity, value, unit = _amount(entry.what)
        when = entry.at.date().isoformat() if entry.whole_day else entry.at.isoformat(sep=" ")
        words = what_words(entry.what, catalogue)
        texts = [when, entry.tank, entry.what.kind, line_of(entry.what), words, quantity]
        after = [unit, entry.who, "yes" if entry.withdrawn else "", entry.id]
        writer.writerow([*map(safe, texts), value, *map(safe, after)])
    return out.getvalue()


def safe(cell: str) -> str:
    """The cell with a sign before it that keeps a spreadsheet from taking it for a formula."""
    return f"'{cell}" if cell.lstrip(" ").startswith(_BEGINS_A_FORMULA) or cell.startswith("'") else cell


def line_of(what: What) -> str:
    """The thing as a line of the log; empty for a photograph, which no line can say."""
    if isinstance(what, Photograph):
        return ""
    if isinstance(what, Note):
        return f"note: {what.text}"
    if not isinstance(what, Reading):
        return what.written
    sign = "" if what.sign == "=" else f"{what.sign} "
    series = series_of(what.series)
    by = f" by {what.kit.replace('_', ' ')}" if what.kit else ""
    unit = f" {series.door_unit}" if series.door_unit else ""
    return f"{series.word} {sign}{what.value * door_factor(series)!r}{unit}{by}"


def _amount(what: What) -> tuple[str, str, str]:
    """Quantity, number and unit of a reading as the doors have them."""
    if not isinstance(what, Reading):
        return "", "", ""
    series = series_of(what.series)
    return series.word, repr(what.value * door_factor(series)), series.door_unit
