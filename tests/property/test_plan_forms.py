"""Whatever a plan file can say survives its forms: every key of the schema, in any company."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from backreef.aquarium.edits import read_value
from backreef.aquarium.limits import Key, all_keys
from backreef.usecases.plan_form import LISTS, SINGLES, Section, document_of, fields_of, with_fields
from backreef.usecases.plan_rows import as_toml
from tests.searching import tries

BARE = """\
# a remark that stays
start_on = 2027-01-04

[tank]
display = "300 L"  # and this one

[[animals]]
species = "ocellaris_clown"

[[meals]]
food = "pellet_small"

[[foods]]
id = "mine"
like = "pellet_small"

[[upkeep]]
task = "wc_do"

[[devices]]
kind = "skimmer_hob"
"""
SECTIONS: tuple[Section, ...] = (*SINGLES, *((name, 0) for name in LISTS))
INSIDE = ("tank.display.", "upkeep[].amount.", "keeper.stops_after[]", "keeper.prices[]")
"""Said within the field of their table."""
ROWS = ("keeper.closed", "keeper.helpers", "keeper.wishes")


def keys() -> list[Key]:
    """Every key that is a field or a cell of its own."""
    tables = {"tank", "tank.start", "keeper", "goals", "goals.bands", *LISTS}
    return [one for one in all_keys().values() if one.key not in tables and not one.key.startswith(INSIDE)]


def field_name(key: Key) -> str:
    """What the field of a key is called in the forms."""
    if key.key.startswith("goals.bands[]"):
        return key.key.replace("bands[]", "bands.nitrate")
    return key.key.replace("[]", "[0]")


def as_filled_in(value: Any, *, cell: bool) -> str:
    """A value as somebody would fill it in."""
    if isinstance(value, bool):
        return ("yes" if value else "no") if cell else str(value).lower()
    if isinstance(value, dict):
        return as_toml(value)
    if isinstance(value, list):
        return (", " if cell else "\n").join(value)
    return str(value)


def through(text: str, said: dict[str, str]) -> str:
    """The text after every form of it was sent with these words."""
    for section in SECTIONS:
        changed = with_fields(text, section, said)
        assert changed.faults == ()
        text = changed.text
    return text


def at(document: Any, name: str) -> Any:
    """What a document holds under a name such as animals[0].count; None where it holds nothing."""
    for part in name.replace("[", ".").replace("]", "").split("."):
        try:
            document = document[int(part)] if part.isdigit() else document[part]
        except (KeyError, IndexError):
            return None
    return document


def untouched(text: str) -> dict[str, str]:
    """Every form as it comes."""
    said: dict[str, str] = {}
    for section in SECTIONS:
        for field in fields_of(text, section):
            if field.rows:
                said |= {cell.name: cell.written for row in field.rows for cell in row.cells}
            else:
                said[field.name] = field.written
    return said


def test_no_key_is_left_out() -> None:
    shown = untouched(BARE)
    assert {field_name(key) for key in keys()} - set(shown) - set(ROWS) == set()


@given(st.sets(st.sampled_from(keys()), max_size=14))
@tries(60)
def test_every_key_of_the_schema_comes_through_the_forms(chosen: set[Key]) -> None:
    chosen = {key for key in chosen if key.key not in ROWS and key.example}
    wanted = {field_name(key): read_value(key.example) for key in chosen}
    cells = {name: name.startswith(ROWS) for name in wanted}
    said = {name: as_filled_in(value, cell=cells[name]) for name, value in wanted.items()}
    filled = through(BARE, said)
    document = document_of(filled)
    for name, value in wanted.items():
        found = at(document, name)
        assert found == value or (isinstance(value, str) and found == value.strip()), name
    assert "# a remark that stays" in filled
    assert "# and this one" in filled or "tank.display" in wanted
    assert through(filled, untouched(filled)) == filled
    fixed = ("tank.display", "start_on", "animals[0].species", "meals[0].food", "upkeep[0].task")
    emptied = through(filled, {name: "" for name in wanted if name not in (*fixed, "devices[0].kind")})
    for name in wanted:
        if name not in (*fixed, "devices[0].kind"):
            assert at(document_of(emptied), name) is None, name
