from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import jsonschema
import pytest

from backreef.reports.document import forecast_schema
from tests.e2e.conftest import Run


def test_a_plan_that_holds_ends_with_0(run: Run, folder: Path) -> None:
    done = run("forecast", "plan.toml")
    assert done.code == 0, done.err
    assert "The plan holds for 3 years." in done.out
    assert done.err == ""
    assert max(len(line) for line in done.out.splitlines()) <= 80


def test_a_plan_that_breaks_ends_with_1(run: Run, folder: Path) -> None:
    done = run("forecast", "breaks.toml")
    assert done.code == 1
    assert "The plan breaks on" in done.out


def test_a_plan_with_faults_ends_with_2_and_is_not_forecast(run: Run, folder: Path) -> None:
    done = run("forecast", "bad.toml", "--json", "-", "--html", "bad.html")
    assert done.code == 2
    assert done.out == ""
    assert done.err.startswith("bad.toml:4: tank.displai")
    assert not (folder / "bad.html").exists()


def test_the_json_document_stands_alone_and_fits_its_schema(run: Run, folder: Path) -> None:
    done = run("forecast", "breaks.toml", "--json", "-", "--members", "16", "--seed", "7")
    assert done.code == 1
    assert done.err == ""
    document = json.loads(done.out)
    jsonschema.validate(document, forecast_schema())
    assert document["schema"] == "backreef.forecast/1"
    assert (document["plan"]["members"], document["plan"]["seed"]) == (16, 7)


def test_it_writes_page_report_and_document_at_once(run: Run, folder: Path) -> None:
    done = run("forecast", "plan.toml", "--html", "plan.html", "--json", "plan.json")
    assert done.code == 0
    assert done.out.rstrip().endswith("Report: plan.html")
    assert (folder / "plan.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    assert json.loads((folder / "plan.json").read_text(encoding="utf-8"))["holds"] is True
    assert sorted(path.suffix for path in folder.iterdir()) == [".html", ".json", ".toml", ".toml", ".toml"]


def test_quiet_prints_nothing(run: Run, folder: Path) -> None:
    done = run("forecast", "breaks.toml", "--quiet", "--html", "plan.html")
    assert (done.code, done.out, done.err) == (1, "", "")
    assert (folder / "plan.html").exists()


def test_fluxes_follow_the_page(run: Run, folder: Path) -> None:
    without, done = run("forecast", "plan.toml"), run("forecast", "plan.toml", "--fluxes")
    assert done.out.startswith(without.out)
    assert "g a month" in done.out[len(without.out) :]


def test_it_prints_the_equations_without_a_plan(run: Run, folder: Path) -> None:
    done = run("forecast", "--explain-kernel")
    assert done.code == 0, done.err
    assert "d S_O2 / dt =" in done.out


@pytest.mark.parametrize("option", ["--html", "--json"])
@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("missing/out.html", "the folder missing is not there"),
        (".", "is a directory"),
        ("plan.toml", "is the plan itself and would be lost"),
        ("--members", "looks like an option"),
        ("closed/out.html", "may not be written by this user"),
    ],
)
def test_it_refuses_a_file_that_cannot_be_written_before_it_works(
    run: Run, folder: Path, option: str, target: str, words: str
) -> None:
    closed = folder / "closed"
    closed.mkdir(mode=stat.S_IRUSR | stat.S_IXUSR)
    if target.startswith("closed") and os.access(closed, os.W_OK):
        pytest.skip("this user may write everywhere")
    before = (folder / "plan.toml").read_bytes()
    done = run("forecast", "plan.toml", option, target)
    assert done.code == 2
    assert done.out == ""
    assert words in done.err
    assert "Traceback" not in done.err
    assert (folder / "plan.toml").read_bytes() == before


def test_it_refuses_two_documents_in_one_place(run: Run, folder: Path) -> None:
    done = run("forecast", "plan.toml", "--html", "-", "--json", "-")
    assert (done.code, done.out) == (2, "")
    assert "two documents cannot both go to -" in done.err


def test_the_report_may_go_to_standard_output(run: Run, folder: Path) -> None:
    done = run("forecast", "plan.toml", "--html", "-")
    assert done.code == 0
    assert done.out.startswith("<!doctype html>")
    assert done.out.rstrip().endswith("</html>")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--members", "0"), "--members"),
        (("--members", "many"), "--members"),
        (("--seed", "-1"), "--seed"),
        (("--membrs", "3"), "there is no option --membrs; did you mean --members?"),
        (("--html",), "--html"),
    ],
)
def test_it_refuses_options_that_make_no_sense(
    run: Run, folder: Path, arguments: tuple[str, ...], words: str
) -> None:
    done = run("forecast", "plan.toml", *arguments)
    assert (done.code, done.out) == (2, "")
    assert words in done.err
    assert "'backreef forecast --help' shows what it takes." in done.err


def test_it_asks_for_a_plan(run: Run, folder: Path) -> None:
    done = run("forecast")
    assert done.code == 2
    assert "PLAN" in done.err
