"""From file to answer with the real simulation: a short horizon and one block of members."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

import backreef
from backreef.reports.document import forecast_schema
from tests.cli_world import Done, environment

PLAN = """\
start_on = 2027-01-04

[tank]
name = "Kitchen reef"
display = "200 L"
start = { kind = "established", age = "12 months" }

[[animals]]
species = "ocellaris_clown"
count = 2

[[meals]]
food = "pellet_small"
enough_for = "growth"
times = ["08:00", "18:00"]

[goals]
horizon = "0.1 years"
"""
DAYS = 37
RUN = "import sys\nfrom backreef.cli.main import main\nsys.exit(main())"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("kitchen")
    (place / "kitchen.toml").write_text(PLAN, encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def done(folder: Path) -> Done:
    arguments = (
        "forecast",
        "kitchen.toml",
        "--members",
        "8",
        "--json",
        "kitchen.json",
        "--html",
        "kitchen.html",
    )
    ran = subprocess.run(
        [sys.executable, "-P", "-c", RUN, *arguments],
        cwd=folder,
        env=environment(),
        capture_output=True,
        check=False,
        text=True,
    )
    return Done(code=ran.returncode, out=ran.stdout, err=ran.stderr)


def test_it_judges_and_writes_everything(done: Done, folder: Path) -> None:
    assert done.err == ""
    document = json.loads((folder / "kitchen.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, forecast_schema())
    assert done.code == (0 if document["holds"] else 1)
    assert document["plan"]["members"] == 8
    assert len(document["series"]["date"]) == DAYS
    assert "Kitchen reef" in done.out
    assert (folder / "kitchen.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_the_same_seed_gives_the_same_answer_in_python(done: Done, folder: Path) -> None:
    document = json.loads((folder / "kitchen.json").read_text(encoding="utf-8"))
    found = backreef.forecast(folder / "kitchen.toml", members=8)
    frame = found.to_frame()
    told = document["series"]["nitrate_mg_no3_per_l"]["p50"]
    assert [float(f"{x:.6g}") for x in frame["nitrate_mg_no3_per_l", "p50"]] == told
    assert found.holds == document["holds"]
