"""What docs/log.md says a line may say, a line may say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from backreef.aquarium.load import load_plan
from backreef.catalogue.load import load_catalogue
from backreef.logbook.line import read_line
from backreef.logbook.vocabulary import Vocabulary
from backreef.usecases.examples import example_plan
from backreef.usecases.log_desk import desk_of, settle
from backreef.usecases.log_table import draft_table, layout_of
from tests.cli_world import ROOT
from tests.logbook_world import HAND

GUIDE = (ROOT / "docs" / "log.md").read_text(encoding="utf-8")
KINDS = {"arrival, death": {"addition", "death"}}


def examples() -> list[tuple[str, str]]:
    """Kind and example of each row of the table."""
    rows = re.findall(r"^\| ([a-z, ]+) \| (`.+`)[^|]* \|", GUIDE, re.MULTILINE)
    return [(kind, line) for kind, cell in rows for line in re.findall(r"`([^`]+)`", cell)]


@pytest.mark.parametrize(("kind", "line"), examples())
def test_its_examples_are_understood(kind: str, line: str) -> None:
    catalogue = load_catalogue()
    words = Vocabulary(catalogue=catalogue, animals=load_plan(example_plan(), catalogue).animals)
    (what,) = read_line(line, words)
    assert what.kind in KINDS.get(kind, {kind})


def test_it_shows_an_example_of_every_kind_that_a_line_can_say() -> None:
    assert {kind for kind, _ in examples()} == {
        "reading",
        "feeding",
        "chore",
        "arrival, death",
        "sighting",
        "note",
    }


def test_its_table_can_be_read(tmp_path: Path) -> None:
    text = re.search(r"^    (date;.+?)\n\n", GUIDE, re.MULTILINE | re.DOTALL)
    assert text is not None
    file = tmp_path / "table.csv"
    file.write_text(re.sub(r"^    ", "", text[1], flags=re.MULTILINE), encoding="utf-8")
    draft = draft_table(file, layout_of([], []), tank="Hall", plan=None, dates=None, hand=HAND)
    assert [entry.what.kind for entry in draft.entries] == ["reading", "reading", "reading", "note"]


def test_a_desk_knows_its_plan(tmp_path: Path) -> None:
    (tmp_path / "reading_room.toml").write_bytes(example_plan().read_bytes())
    desk = settle(desk_of(tank=None, place=None, folder=tmp_path), ())
    assert desk.plan == tmp_path / "reading_room.toml"
    assert desk.tank == "Reading-room reef, Harbour Street library"
