from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

import backreef.usecases.rehearse as usecase
from backreef.judgement.rehearsal import Rehearsal
from backreef.reports.rehearsal_document import rehearsal_document, rehearsal_schema
from tests.e2e.conftest import Run
from tests.rehearsal_world import FEEDER, SMALL, august

WEEK = ("--from", "2027-02-01", "--to", "2027-02-08")


@pytest.fixture
def rehearsed(monkeypatch: pytest.MonkeyPatch) -> Rehearsal:
    """The reading room's August, whatever is asked."""
    found = august()
    monkeypatch.setattr(usecase, "rehearse", lambda *_, **__: found)
    return found


def test_it_prints_the_verdict_and_the_table(run: Run, folder: Path, rehearsed: Rehearsal) -> None:
    done = run("rehearse", "plan.toml", *WEEK)
    assert done.code == 0, done.err
    assert "With nothing going wrong it holds" in done.out
    assert all(mishap.what.split()[0].lower() in done.out.lower() for mishap in rehearsed.mishaps)
    assert done.out.count("nobody before the return") >= 5
    assert all(len(line) <= 80 for line in done.out.splitlines())


def test_its_document_fits_the_schema_and_keeps_the_keys_that_others_rely_on(rehearsed: Rehearsal) -> None:
    document = rehearsal_document(rehearsed)
    jsonschema.validate(document, rehearsal_schema())
    assert document["schema"] == "backreef.rehearse/1"
    for fault in document["faults"]:
        assert {"id", "hours_to_risk", "who", "mitigations"} <= fault.keys()


def test_the_document_stands_alone_on_standard_output(run: Run, folder: Path, rehearsed: Rehearsal) -> None:
    done = run("rehearse", "plan.toml", *WEEK, "--json", "-")
    assert json.loads(done.out) == json.loads(json.dumps(rehearsal_document(rehearsed)))


def test_a_real_rehearsal_that_leaves_work_undone_breaks(run: Run, folder: Path) -> None:
    (folder / "small.toml").write_text(SMALL + FEEDER, encoding="utf-8")
    done = run("rehearse", "small.toml", *WEEK, "--members", "1", "--json", "out.json")
    assert done.code == 1, done.err
    assert "chores fall where nobody can do them" in " ".join(done.out.split())
    assert json.loads((folder / "out.json").read_text(encoding="utf-8"))["holds"] is False


def test_it_refuses_an_absence_outside_the_plan(run: Run, folder: Path) -> None:
    done = run("rehearse", "plan.toml", "--from", "2020-01-01", "--to", "2020-01-05")
    assert done.code == 2
    assert "is before the plan begins" in done.err


def test_it_writes_a_page(run: Run, folder: Path, rehearsed: Rehearsal) -> None:
    done = run("rehearse", "plan.toml", *WEEK, "--html", "away.html")
    assert done.code == 0, done.err
    assert (folder / "away.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    alone = run("rehearse", "plan.toml", *WEEK, "--html", "-")
    assert alone.out.startswith("<!doctype html>")
