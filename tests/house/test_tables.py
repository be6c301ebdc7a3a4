"""Tables and values that ship with the program: well formed, sourced, and never changed unnoticed.

`tests/data/column_sums.toml` holds the sum of every column of numbers. To write it anew after a change that
was meant: BACKREEF_RECORD_SUMS=1 python3 go.py test tests/house/test_tables.py
"""

from __future__ import annotations

import csv
import math
import os
import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from backreef.catalogue.sources import STATUSES
from tests.house.repository import PACKAGE, ROOT

SUMS = ROOT / "tests" / "data" / "column_sums.toml"
TABLES = {path.relative_to(PACKAGE).as_posix(): path for path in sorted(PACKAGE.rglob("data/**/*.csv"))}
TOMLS = {path.relative_to(PACKAGE).as_posix(): path for path in sorted(PACKAGE.rglob("data/**/*.toml"))}


def rows(path: Path) -> list[list[str]]:
    """The cells of a table, header first."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file, strict=True))


def entries(path: Path) -> list[dict[str, str]]:
    """The rows of a table under the names of their columns."""
    header, *body = rows(path)
    return [dict(zip(header, row, strict=True)) for row in body]


def number(cell: str) -> float | None:
    """The cell as a number, or None where it is not one."""
    try:
        return float(cell)
    except ValueError:
        return None


def column_sums(path: Path) -> dict[str, float]:
    """Column -> sum, for the columns that hold numbers and nothing else; and how many rows there are."""
    header, *body = rows(path)
    sums = {"rows": float(len(body))}
    for name, *cells in zip(header, *body, strict=True):
        values = [number(cell) for cell in cells if cell]
        if values and None not in values:
            sums[name] = math.fsum(value for value in values if value is not None)
    return sums


def tables_within(content: object, key: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table of a TOML file with its key."""
    if isinstance(content, dict):
        yield key, content
        for name, inner in content.items():
            yield from tables_within(inner, f"{key}.{name}" if key else name)
    elif isinstance(content, list):
        for index, inner in enumerate(content):
            yield from tables_within(inner, f"{key}[{index}]")


def all_values() -> Iterator[tuple[str, dict[str, Any]]]:
    """Place and entry of everything that has a value with a source or a status, from tables and files."""
    for name, path in TABLES.items():
        for line, entry in enumerate(entries(path), start=2):
            yield f"{name}:{line}", {key: cell for key, cell in entry.items() if cell}
    for name, path in TOMLS.items():
        for key, entry in tables_within(tomllib.loads(path.read_text(encoding="utf-8"))):
            yield f"{name}: {key}", entry


def known_sources() -> set[str]:
    """The keys of every list of sources."""
    listed = [path for name, path in TABLES.items() if name.endswith("sources.csv")]
    keys = {entry["key"] for path in listed for entry in entries(path)}
    for name, path in TOMLS.items():
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        keys |= set(content if name.endswith("sources.toml") else content.get("sources", {}))
    return keys


@pytest.mark.parametrize("name", TABLES)
def test_a_table_is_rectangular_and_tidy(name: str) -> None:
    header, *body = rows(TABLES[name])
    assert all(header)
    assert [column for column, count in Counter(header).items() if count > 1] == []
    assert [line for line, row in enumerate(body, start=2) if len(row) != len(header)] == []
    assert [cell for row in body for cell in row if cell != cell.strip()] == []
    assert [cell for row in body for cell in row if not math.isfinite(number(cell) or 0.0)] == []


def test_no_column_of_numbers_changed_unnoticed() -> None:
    found = {name: column_sums(path) for name, path in TABLES.items()}
    if os.environ.get("BACKREEF_RECORD_SUMS"):
        record(found)
    recorded = tomllib.loads(SUMS.read_text(encoding="utf-8")) if SUMS.exists() else {}
    changed = [
        f"{name}: {column} was {recorded.get(name, {}).get(column)}, is {found.get(name, {}).get(column)}"
        for name in sorted(found.keys() | recorded.keys())
        for column in sorted(found.get(name, {}).keys() | recorded.get(name, {}).keys())
        if found.get(name, {}).get(column) != recorded.get(name, {}).get(column)
    ]
    assert not changed, "\n".join([*changed, "If all of this was meant, see the first lines of this file."])


def record(sums: dict[str, dict[str, float]]) -> None:
    """Write the sums down."""
    lines = ["# Sums of the columns of the tables that ship; written by tests/house/test_tables.py."]
    for name, columns in sums.items():
        lines += ["", f'["{name}"]', *(f'"{column}" = {value!r}' for column, value in columns.items())]
    SUMS.write_text("\n".join(lines) + "\n", encoding="utf-8")


def test_every_value_lies_within_its_range() -> None:
    outside = []
    for place, entry in all_values():
        low, value, high = (number(str(entry.get(key, ""))) for key in ("low", "value", "high"))
        bounds = [one for one in (low, value, high) if one is not None]
        if bounds != sorted(bounds):
            outside.append(f"{place}: {low} {value} {high}")
    assert not outside, "\n".join(outside)


def test_every_status_is_one_of_four() -> None:
    odd = [f"{place}: {entry['status']}" for place, entry in all_values() if "status" in entry]
    assert not [line for line in odd if line.rsplit(": ", 1)[-1] not in STATUSES], odd


def test_every_value_says_on_whose_word_it_stands() -> None:
    values = [(place, entry) for place, entry in all_values() if "value" in entry and ".toml" in place]
    silent = [place for place, entry in values if not {"source", "status"} <= entry.keys()]
    assert not silent, "\n".join(silent)


def test_every_source_named_is_a_source_known() -> None:
    known = known_sources()
    named = [(place, str(entry["source"])) for place, entry in all_values() if "source" in entry]
    unknown = [f"{place}: {source}" for place, source in named if not known.issuperset(keys_of(source))]
    assert not unknown, "\n".join(unknown)


def keys_of(source: str) -> list[str]:
    """The keys in a source: one, or several with blanks or semicolons between."""
    return [key for key in re.split(r"[;\s]+", source) if key]
