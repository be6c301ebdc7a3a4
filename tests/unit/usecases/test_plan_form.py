from __future__ import annotations

import pytest

from backreef.aquarium.limits import all_keys
from backreef.usecases.plan_desk import check_text
from backreef.usecases.plan_form import (
    LISTS,
    SINGLES,
    Section,
    document_of,
    fields_of,
    with_entry,
    with_fields,
)
from tests.cli_world import EXAMPLES

PLANS = sorted(EXAMPLES.glob("*.toml"))
BANDS = "\n[goals.bands.nitrate]\nact_high = '20 mg/L NO3'\n"


def sections(text: str) -> list[Section]:
    document = document_of(text)
    return [*SINGLES, *((name, number) for name in LISTS for number in range(len(document.get(name, []))))]


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_sending_every_form_back_as_it_came_changes_nothing(path: object) -> None:
    text = path.read_text(encoding="utf-8")  # type: ignore[attr-defined]
    for section in sections(text):
        said = {field.name: field.written.replace("\n", "\r\n") for field in fields_of(text, section)}
        changed = with_fields(text, section, said)
        assert changed.text == text
        assert changed.faults == ()


def test_there_is_a_field_for_every_key_that_a_plan_file_may_hold() -> None:
    label = '[[foods]]\nid = "mine"\nlike = "pellet_small"\n'
    text = (EXAMPLES / "reading_room.toml").read_text(encoding="utf-8") + BANDS + label
    shown = set()
    for section in sections(text):
        for field in fields_of(text, section):
            parts = ["[]" if isinstance(part, int) else f".{part}" for part in field.path]
            shown.add("".join(parts).removeprefix(".").replace("goals.bands.nitrate", "goals.bands[]"))
    inside = (
        "tank.display.",
        "keeper.closed[].",
        "keeper.helpers[].",
        "keeper.wishes[].",
        "keeper.stops_after[]",
        "keeper.prices[]",
    )
    tables = {"tank", "tank.start", "keeper", "goals", "goals.bands", *LISTS}
    wanted = {
        key
        for key in all_keys()
        if key not in tables and not key.startswith(inside) and not key.startswith("upkeep[].amount.")
    }
    assert wanted - shown == set()


def test_an_emptied_field_leaves_the_file() -> None:
    text = (EXAMPLES / "reading_room.toml").read_text(encoding="utf-8")
    changed = with_fields(text, ("tank",), {"tank.rock": " "})
    assert changed.text == text.replace('rock = "22 kg"\n', "")


@pytest.mark.parametrize(
    ("section", "name", "said", "key"),
    [
        (("animals", 0), "animals[0].count", "many", "animals[0].count"),
        (("animals", 5), "animals[5].arrives_on", "2027-02-30", "animals[5].arrives_on"),
        (("tank",), "tank.rock", '34" kg', "tank.rock"),
        (("keeper",), "keeper.presence", "sometimes", "keeper.presence"),
    ],
)
def test_nonsense_is_a_fault_of_its_own_field(section: Section, name: str, said: str, key: str) -> None:
    path = EXAMPLES / "reading_room.toml"
    changed = with_fields(path.read_text(encoding="utf-8"), section, {name: said})
    faults = (*changed.faults, *check_text(changed.text, path).faults)
    assert faults
    assert all(fault.key.startswith(key) for fault in faults)


def test_broken_tables_are_a_fault_and_the_text_stays() -> None:
    text = (EXAMPLES / "reading_room.toml").read_text(encoding="utf-8")
    changed = with_fields(text, ("keeper",), {"keeper.closed": "[{ country = ]"})
    assert changed.text == text
    assert [fault.key for fault in changed.faults] == ["keeper.closed"]


def test_a_further_entry_gets_a_name_of_its_own() -> None:
    text = (EXAMPLES / "reading_room.toml").read_text(encoding="utf-8")
    longer = with_entry(with_entry(text, "animals", "cerith"), "animals", "cerith")
    names = [entry["id"] for entry in document_of(longer)["animals"][-2:]]
    assert names == ["cerith", "cerith_2"]
    assert check_text(longer, EXAMPLES / "reading_room.toml").ok
