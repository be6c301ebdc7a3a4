"""How much of the catalogue is known, and on whose word: a table by field and status."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterable

from backreef.catalogue.entries import Catalogue, Unknown, Value
from backreef.catalogue.sources import STATUS_MEANING, STATUSES

HEAD = """# What the catalogue knows

Made by `scripts/carry_over/write_coverage.py`; do not edit. A number is *published*, *calc*, *memory* or
*practice*:
"""
ASSUMED = "range assumed"


def coverage_page(catalogue: Catalogue) -> str:
    """Give the page that says, for each field, how many values are known and on whose word."""
    lines = [HEAD, *(f"- *{status}*: {meaning}" for status, meaning in STATUS_MEANING.items()), ""]
    for title, entries in (
        ("Fish", [one for one in catalogue.species.values() if one.kind == "fish"]),
        ("Other animals", [one for one in catalogue.species.values() if one.kind != "fish"]),
        ("Foods", list(catalogue.foods.values())),
        ("Devices", list(catalogue.devices.values())),
        ("Tasks", list(catalogue.tasks.values())),
    ):
        lines += [f"## {title} ({len(entries)})", "", *_table(entries), ""]
    lines += _guilds(catalogue)
    return "\n".join(lines).rstrip() + "\n"


def _table(entries: Iterable[object]) -> list[str]:
    """One row to a field that holds a number."""
    counted: dict[str, Counter[str]] = {}
    for entry in entries:
        for field in dataclasses.fields(entry):  # type: ignore[arg-type]
            number = getattr(entry, field.name)
            if isinstance(number, Value):
                counts = counted.setdefault(field.name, Counter())
                counts[number.status] += 1
                counts[ASSUMED] += ASSUMED in number.note
            elif isinstance(number, Unknown):
                counted.setdefault(field.name, Counter())["unknown"] += 1
    columns = [*STATUSES, "unknown", ASSUMED]
    head = ["field", *columns]
    rows = [
        [f"`{name}`", *(str(counts[column] or "") for column in columns)] for name, counts in counted.items()
    ]
    return [_row(head), _row(["---", *("---:" for _ in columns)]), *(_row(row) for row in rows)]


def _row(cells: list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _guilds(catalogue: Catalogue) -> list[str]:
    """Which animals feed how."""
    counts = Counter(animal.guild for animal in catalogue.species.values())
    rows = [[f"`{guild.id}`", guild.name, str(counts[guild.id])] for guild in catalogue.guilds.values()]
    head = [
        f"## Guilds ({len(catalogue.guilds)})",
        "",
        _row(["guild", "name", "animals"]),
        _row(["---", "---", "---:"]),
    ]
    return [*head, *(_row(row) for row in rows), ""]
