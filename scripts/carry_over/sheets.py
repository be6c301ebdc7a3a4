"""Reads the tables beside this script and writes TOML, one value to a line."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
Row = dict[str, str]
Cell = str | float | int | bool | list[str] | dict[str, Any]


def rows(path: Path) -> list[Row]:
    """The rows of a CSV table."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def own_rows(name: str) -> list[Row]:
    """The rows of a table of this folder."""
    return rows(HERE / name)


def words(*names: str) -> dict[str, dict[str, str]]:
    """Field -> selector -> words, of several files."""
    merged: dict[str, dict[str, str]] = {}
    for name in names:
        merged |= tomllib.loads((HERE / name).read_text(encoding="utf-8"))
    return merged


def selects(selector: str, *, ident: str, guild: str, kind: str, family: str) -> bool:
    """Whether a selector means this animal."""
    names = {ident, "*", f"guild:{guild}", f"kind:{kind}", f"family:{family}"}
    return any(part in names for part in selector.split())


def number(text: str) -> float | int:
    """A number as it would be written by hand."""
    value = float(text)
    return int(value) if value.is_integer() else value


def rounded(value: float) -> float | int:
    """The value to three figures."""
    return number(f"{value:.3g}")


def value(  # noqa: PLR0913  the parts of a value
    number_is: float | str,
    *,
    low: float | str | None = None,
    high: float | str | None = None,
    source: str = "practice",
    place: str = "",
    status: str = "practice",
    note: str = "",
) -> dict[str, Any]:
    """One value as it stands in a file."""
    entry: dict[str, Any] = {"value": number(str(number_is))}
    if low not in {None, ""} and high not in {None, ""}:
        entry |= {"low": number(str(low)), "high": number(str(high))}
    entry |= {"source": source} | ({"place": place} if place else {}) | {"status": status}
    return entry | ({"note": note} if note else {})


def middle(low: str, high: str, **what: str) -> dict[str, Any]:
    """A range with its middle, or a single number, or unknown."""
    if not low and not high:
        return unknown(what.get("why", "not found"))
    what.pop("why", "")
    if not high or low == high:
        return value(low, **what)  # type: ignore[arg-type]
    return value(rounded((float(low) + float(high)) / 2), low=low, high=high, **what)  # type: ignore[arg-type]


def unknown(why: str) -> dict[str, Any]:
    """A value nobody here knows."""
    return {"unknown": why}


def _cell(entry: Cell) -> str:
    if isinstance(entry, bool):
        return "true" if entry else "false"
    if isinstance(entry, int | float):
        return repr(entry)
    if isinstance(entry, str):
        return '"' + entry.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(entry, list):
        return "[" + ", ".join(_cell(one) for one in entry) + "]"
    return "{ " + ", ".join(f"{key} = {_cell(one)}" for key, one in entry.items()) + " }" if entry else "{}"


def toml(entries: Mapping[str, Cell], order: Iterable[str]) -> str:
    """The entries as TOML in the order of the fields."""
    return "".join(f"{key} = {_cell(entries[key])}\n" for key in order if key in entries)
