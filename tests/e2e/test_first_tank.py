"""Whoever follows docs/first-tank.md sees what it says: its commands are run, its answers are looked for."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli_world import Done, process
from tests.docs_world import blocks, page

PROMPT = "$ python3 go.py "


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("first-tank")


def squeezed(text: str) -> str:
    return " ".join(text.split())


def run(block: str, folder: Path) -> Done:
    command, *said = block.splitlines()
    assert command.startswith(PROMPT)
    done = process(*command.removeprefix(PROMPT).split(), folder=folder, judge="real", COLUMNS="500")
    heard = squeezed(done.out + done.err)
    assert [line for line in said if squeezed(line) not in heard] == []
    return done


def test_its_commands_do_what_it_says(folder: Path) -> None:
    plan, feeder = blocks("first-tank.md", "toml")
    wrong, right, forecast, work, with_feeder, rehearsal = blocks("first-tank.md", "console")
    file = folder / "my_tank.toml"
    file.write_text(plan, encoding="utf-8")
    assert run(wrong, folder).code == 2
    mended = plan.replace("ocelaris_clown", "ocellaris_clown").replace('share = "10 gal"', 'share = "10 %"')
    file.write_text(mended, encoding="utf-8")
    assert run(right, folder).code == 0
    assert run(forecast, folder).code == 1
    costs = run(work, folder).out.partition("What each part costs or saves")[2]
    dearest = re.findall(r"^  (?:Meals|Animals|Devices) .*$", costs, re.MULTILINE)
    assert dearest[0].startswith("  Meals")
    file.write_text(mended.replace('by = "hand"', 'by = "feeder"') + "\n" + feeder, encoding="utf-8")
    assert run(with_feeder, folder).code == 0
    assert (folder / "my_tank.html").stat().st_size > 10_000
    assert run(rehearsal, folder).code in (0, 1)


def test_it_says_what_to_change_in_words_that_the_plan_holds() -> None:
    plan, _ = blocks("first-tank.md", "toml")
    for old, new in (
        ("ocelaris_clown", "ocellaris_clown"),
        ('"10 gal"', '"10 %"'),
        ('by = "hand"', 'by = "feeder"'),
    ):
        assert old in plan
        assert new in page("first-tank.md")
