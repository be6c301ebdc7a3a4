from __future__ import annotations

import json
import tomllib
from datetime import date
from pathlib import Path

import jsonschema
import pytest

from backreef.aquarium.limits import all_keys
from backreef.aquarium.manual import KEYS_BEGIN, KEYS_END, keys_table, plan_schema, schema_paths
from backreef.units import all_units
from tests.unit.aquarium.plans import EXAMPLES

MANUAL = Path(__file__).resolve().parents[3] / "docs" / "plan-file.md"
READ_BESIDE = {"upkeep[].amount.mass", "upkeep[].amount.volume", "keeper.stops_after[]", "keeper.prices[]"}
"""Rows of the table for values that have no key of their own."""


def plain(document: object) -> object:
    """The document with dates as editors of TOML hand them to a schema."""
    return json.loads(json.dumps(document, default=lambda found: found.isoformat()))


def test_it_describes_every_key_and_no_other() -> None:
    assert set(schema_paths(plan_schema())) == set(all_keys()) - READ_BESIDE


def test_it_is_a_schema_of_the_named_draft() -> None:
    jsonschema.Draft202012Validator.check_schema(plan_schema())


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_it_accepts_every_example(path: Path) -> None:
    document = plain(tomllib.loads(path.read_text(encoding="utf-8")))
    jsonschema.Draft202012Validator(plan_schema()).validate(document)


@pytest.mark.parametrize(
    "document",
    [
        {"tank": {"display": "300 L"}},
        {"start_on": "2027-01-04", "tank": {"display": "300 L", "colour": "blue"}},
        {"start_on": "2027-01-04", "tank": {"display": "300 L", "lid": "wood"}},
        {"start_on": "2027-01-04", "tank": {"display": "300 L"}, "animals": [{"count": 1}]},
        {
            "start_on": "2027-01-04",
            "tank": {"display": "300 L"},
            "animals": [{"species": "trochus", "count": 0}],
        },
    ],
)
def test_it_refuses_what_the_loader_refuses(document: object) -> None:
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(plan_schema()).validate(document)


def test_it_gives_examples_that_the_loader_reads() -> None:
    for key in all_keys().values():
        if key.example:
            tomllib.loads(f"x = {key.example}")
    assert tomllib.loads(f"x = {all_keys()['start_on'].example}")["x"] == date(2027, 1, 4)


def test_the_manual_holds_the_table_of_all_keys() -> None:
    text = MANUAL.read_text(encoding="utf-8")
    between = text.partition(KEYS_BEGIN)[2].partition(KEYS_END)[0]
    assert between.strip() == keys_table().strip()


def test_the_manual_names_every_key() -> None:
    text = MANUAL.read_text(encoding="utf-8")
    names = {key: key.rpartition(".")[2] for key in set(all_keys()) - READ_BESIDE}
    assert [key for key, name in names.items() if f"`{name}`" not in text and f"[{key}]" not in text] == []


def test_the_manual_names_every_unit() -> None:
    text = MANUAL.read_text(encoding="utf-8")
    assert [unit.written[0] for unit in all_units() if f"`{unit.written[0]}`" not in text] == []
