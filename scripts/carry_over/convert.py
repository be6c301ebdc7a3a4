"""Carries old sheets over into the catalogue's files; ran once, kept so that every number can be traced.

    python scripts/carry_over/convert.py FOLDER_OF_SHEETS [FOLDER_OF_CATALOGUE_DATA]

The folder holds practice/species.csv, foods.csv, devices.csv, tasks.csv and animals/growth.csv. From now on
the files in the catalogue are the truth: running this again overwrites what was put right there by hand.
"""

from __future__ import annotations

import dataclasses
import re
import sys
from pathlib import Path
from typing import Any

from animals import (
    WORD_FIELDS,
    body,
    choices,
    eaten_by,
    guild_map,
    lengths,
    names,
    override,
    practice,
    says,
    source_keys,
)
from growth import Relatives, names_of
from sheets import HERE, Row, own_rows, rows, selects, toml
from things import device, food, task

from backreef.catalogue.entries import Device, Food, Species, Task


def main(arguments: list[str]) -> int:
    """Write every file."""
    sheets = Path(arguments[0])
    target = Path(arguments[1]) if arguments[1:] else HERE.parents[1] / "src/backreef/catalogue/data"
    species = rows(sheets / "practice" / "species.csv")
    relatives = Relatives(rows(sheets / "animals" / "growth.csv"), species)
    write(target / "species", [animal(row, relatives) for row in species], Species)
    for kind, make, entry in (("foods", food, Food), ("devices", device, Device), ("tasks", task, Task)):
        write(target / kind, [make(row) for row in rows(sheets / "practice" / f"{kind}.csv")], entry)
    return 0


def animal(row: Row, relatives: Relatives) -> dict[str, Any]:
    """One animal."""
    entry = names(row) | lengths(row) | body(row, relatives) | practice(row) | choices(row)
    entry |= {field: says(field, row) for field in WORD_FIELDS}
    entry["eaten_by"] = eaten_by(row)
    entry["tags"] = tags(row, entry)
    entry["sources"] = [
        source_keys()[code] for code in re.findall(r"S\d\d", row["sources"]) if code in source_keys()
    ]
    override(entry)
    return entry


def tags(row: Row, entry: dict[str, Any]) -> list[str]:
    """Groups an animal belongs to."""
    length = float(row["adult_tank_cm"] or 0)
    about = {
        "ident": row["key"],
        "guild": guild_map()[row["key"]],
        "kind": row["kind"],
        "family": entry["family"],
    }
    found: list[str] = []
    for line in own_rows("tags.csv"):
        if selects(line["who"], **about) and float(line["from_cm"]) <= length <= float(line["to_cm"]):
            found += [token for token in line["tokens"].split() if token not in found]
    genus = names_of({"scientific_name": entry["scientific_name"]})[0].split()[0].lower()
    related = [f"genus_{genus}"] + ([f"family_{entry['family'].lower()}"] if entry["family"] else [])
    return sorted({*found, row["kind"]}) + related


def write(folder: Path, entries: list[dict[str, Any]], kind: type) -> None:
    """One file to an entry, fields in the order of the class."""
    folder.mkdir(parents=True, exist_ok=True)
    order = [field.name for field in dataclasses.fields(kind)]
    for entry in entries:
        strange = entry.keys() - set(order)
        if strange:
            raise KeyError(f"{entry['id']}: {sorted(strange)}")
        (folder / f"{entry['id']}.toml").write_text(toml(entry, order), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
