from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from backreef.reports.compare_document import compare_schema
from tests.e2e.conftest import Run


def test_plans_stand_side_by_side_whatever_becomes_of_them(run: Run, folder: Path) -> None:
    done = run("compare", "plan.toml", "breaks.toml", "--members", "64")
    assert (done.code, done.err) == (0, "")
    assert "A: " in done.out
    assert "B beside A" in done.out
    assert "breaks 29 Jul" in " ".join(done.out.split())
    assert max(len(line) for line in done.out.splitlines()) <= 80


def test_the_document_stands_alone_and_fits_its_schema(run: Run, folder: Path) -> None:
    done = run("compare", "plan.toml", "breaks.toml", "--members", "64", "--json", "-", "--html", "both.html")
    assert (done.code, done.err) == (0, "")
    document = json.loads(done.out)
    jsonschema.validate(document, compare_schema())
    assert [plan["plan"]["file"] for plan in document["plans"]] == ["plan.toml", "breaks.toml"]
    assert (folder / "both.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_faults_of_any_plan_end_it_before_it_begins(run: Run, folder: Path) -> None:
    done = run("compare", "plan.toml", "bad.toml", "--html", "both.html")
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith("bad.toml:4: tank.displai")
    assert not (folder / "both.html").exists()


def test_it_writes_over_none_of_its_plans(run: Run, folder: Path) -> None:
    before = (folder / "breaks.toml").read_text(encoding="utf-8")
    done = run("compare", "plan.toml", "breaks.toml", "--json", "breaks.toml")
    assert done.code == 2
    assert "breaks.toml" in done.err
    assert (folder / "breaks.toml").read_text(encoding="utf-8") == before
