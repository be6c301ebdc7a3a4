"""A keeper sets the log against the plan."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import jsonschema
import pytest

from backreef.calibration.outcome import Reconciled
from backreef.logbook.entries import Reading
from backreef.reports.reconcile_document import reconcile_document, reconcile_schema
from backreef.reports.reconcile_html import reconcile_html
from backreef.usecases import kept_fits
from backreef.usecases.reconcile import reconcile
from tests.e2e.conftest import Run
from tests.reconcile_world import SMALL, small_plan, twin_log
from tests.unit.reports.test_html import Page

DAYS = [day + 0.8 for day in range(2, 60, 5)]
LANE, SLIPPED = 1, 6


@cache
def twin() -> Reconciled:
    """A tank logged for two months, with one nitrate ten times too high."""
    log = twin_log(LANE, DAYS)
    slipped = log[SLIPPED]
    assert isinstance(slipped.what, Reading)
    wrong = replace(slipped.what, value=10 * max(slipped.what.value, 1.0), written="ten times")
    log[SLIPPED] = replace(slipped, what=wrong)
    return reconcile(small_plan(), log, members=32)


@pytest.fixture
def logged(run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a small tank and three readings in its log."""
    for name in ("BACKREEF_LOG", "BACKREEF_WHO"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(kept_fits, "fits_folder", lambda: folder / "fits")
    (folder / "twin.toml").write_text(SMALL, encoding="utf-8")
    for line, at in (
        ("no3 10", "2026-01-12 19:00"),
        ("po4 0.1", "2026-01-12 19:05"),
        ("no3 15", "2026-01-20 19:00"),
    ):
        done = run("log", line, "--at", at, "--tank", "twin.toml", "--yes")
        assert done.code == 0, done.err
    return folder


def test_the_slip_is_questioned_and_named() -> None:
    doubts = twin().questioned
    assert [one.written for one in doubts] == ["ten times"]
    assert not twin().readings[[one.entry_id for one in twin().readings].index(doubts[0].entry_id)].used


def test_the_bands_are_narrower_than_before_where_readings_are() -> None:
    last = int(DAYS[-1])
    for outlook in twin().outlooks:
        before, after = (band.p95[last] / band.p05[last] for band in (outlook.planned, outlook.fitted))
        assert after < before, outlook.series


def test_numbers_move_and_say_what_that_means() -> None:
    moved = [one for one in twin().moved if one.meaning]
    assert moved
    assert all(0 <= one.told_frac <= 1 for one in twin().moved)


def test_its_document_fits_the_schema() -> None:
    schema = reconcile_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    document = json.loads(json.dumps(reconcile_document(twin()), allow_nan=False))
    jsonschema.validate(document, schema, format_checker=jsonschema.FormatChecker())
    assert document["schema"] == "backreef.reconcile/1"


def test_a_log_of_three_readings_gives_a_page_and_a_document(run: Run, logged: Path) -> None:
    done = run("reconcile", "twin.toml", "--members", "32", "--json", "out.json")
    assert done.code in (0, 1), done.err
    assert "nitrate" in done.out
    assert all(len(line) <= 80 for line in done.out.splitlines())
    document = json.loads((logged / "out.json").read_text(encoding="utf-8"))
    assert document["holds"] is (done.code == 0)
    assert len(document["readings"]) == 3
    assert "The tank was fitted afresh to all readings up to 20 Jan" in done.out
    again = run("reconcile", "twin.toml", "--members", "32", "--json", "again.json")
    assert "Nothing has changed since" in " ".join(again.out.split())
    kept = json.loads((logged / "again.json").read_text(encoding="utf-8"))
    assert kept["fit"].pop("kept") is True
    assert document["fit"].pop("kept") is False
    assert kept == document


def test_the_document_stands_alone_on_standard_output(run: Run, logged: Path) -> None:
    done = run("reconcile", "twin.toml", "--members", "32", "--json", "-")
    jsonschema.validate(json.loads(done.out), reconcile_schema())


def test_its_page_shows_each_quantity_with_its_readings_and_closes_every_element() -> None:
    page = Page(reconcile_html(twin()))
    assert page.complaints == []
    assert page.open == []
    classes = page.attributes("class")
    shown = sum(one == "reading" for one in classes)
    drawn_twice = 2 * sum(one.used for one in twin().readings)
    assert shown == drawn_twice + len(twin().outlooks)  # wide and narrow, and once in each key
    assert "doubted" in classes
    assert len(set(page.attributes("id"))) == len(page.attributes("id"))


def test_it_writes_the_page_to_a_file(run: Run, logged: Path) -> None:
    done = run("reconcile", "twin.toml", "--members", "32", "--html", "out.html")
    assert "Report: out.html" in done.out
    assert (logged / "out.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_it_asks_for_readings_where_there_are_none(run: Run, folder: Path) -> None:
    assert run("reconcile", "plan.toml").code == 2
    run("log", "fed double", "--tank", "plan.toml", "--yes")
    done = run("reconcile", "plan.toml")
    assert done.code == 2
    assert "holds no readings" in done.err


def test_it_refuses_a_plan_with_faults(run: Run, folder: Path) -> None:
    assert run("reconcile", "bad.toml").code == 2
