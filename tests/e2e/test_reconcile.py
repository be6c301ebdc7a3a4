"""A keeper sets the log against the plan."""

from __future__ import annotations

import atexit
import json
import re
import shutil
import tempfile
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from unittest import mock

import jsonschema
import pytest

from backreef.calibration.outcome import Reconciled
from backreef.calibration.telling import reconciled_of
from backreef.logbook.entries import Reading
from backreef.plots.markup import element
from backreef.reports.html_parts import WhyPage
from backreef.reports.reconcile_document import reconcile_document, reconcile_schema
from backreef.reports.reconcile_html import reconcile_content, reconcile_html
from backreef.reports.reconcile_text import reconcile_page
from backreef.reports.text_layout import Style
from backreef.usecases import kept_fits
from backreef.usecases.asked_by_name import known_figures
from backreef.usecases.asked_fit import AskingFit
from backreef.usecases.reconcile import WEEKS_AHEAD
from backreef.usecases.told_numbers import numbers_of
from backreef.usecases.why import working_of
from backreef.working.number import Worked
from backreef.working.steps import About
from backreef.working.tree import literals_of, tree_of
from tests.e2e.conftest import Run
from tests.number_census import check_tree, faults_of, groups, named_numbers, shown_numbers, untraced
from tests.reconcile_world import SMALL, twin_log
from tests.text_census import faults_of_text
from tests.unit.reports.test_html import Page

DAYS = [day + 0.8 for day in range(2, 60, 5)]
LANE, SLIPPED = 1, 6


@cache
def asked() -> AskingFit:
    """A tank logged for two months, one nitrate ten times too high, fitted once for all that is asked."""
    log = twin_log(LANE, DAYS)
    slipped = log[SLIPPED]
    assert isinstance(slipped.what, Reading)
    wrong = replace(slipped.what, value=10 * max(slipped.what.value, 1.0), written="ten times")
    log[SLIPPED] = replace(slipped, what=wrong)
    folder = Path(tempfile.mkdtemp())
    atexit.register(shutil.rmtree, folder)
    plan = folder / "twin.toml"
    plan.write_text(SMALL, encoding="utf-8")
    with mock.patch.object(kept_fits, "fits_folder", return_value=folder / "fits"):
        found = AskingFit(plan, log, asked=(32, 1, WEEKS_AHEAD))
        assert kept_fits.reconcile_again(plan, log, asked=(32, 1, WEEKS_AHEAD)).origin.kept
    return found


@cache
def twin() -> Reconciled:
    """What is told of that tank."""
    return reconciled_of(asked().plain_run)


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


def test_every_number_of_its_page_leads_to_its_working_or_is_named() -> None:
    known, used = known_figures(asked()), Counter[str]()
    read = Counter((one.series, one.used) for one in twin().readings)
    faults = []
    shown = shown_numbers(element("main", reconcile_content(twin(), WhyPage("/why/"))))
    for _, pieces in groups([one for one in shown if one.figure]):
        for one in {id(piece): piece for piece in (pieces[0], pieces[-1])}.values():
            faults += faults_of(asked(), known, one, *read.values())
    assert {one.figure.partition("@")[0] for one in shown if one.figure} <= set(known)
    for one in [each for each in shown if not each.figure]:
        rules = [rule["where"] for rule in named_numbers("fit") if re.fullmatch(rule["where"], one.where)]
        used.update(rules)
        faults += [] if rules else [f"{one.where}: {one.text}"]
    assert not faults, "\n".join(faults)
    assert not [rule["where"] for rule in named_numbers("fit") if not used[rule["where"]]], "no longer needed"
    assert sum(len(one.numbers) for one in shown if one.figure) > 200


def test_every_number_of_its_page_for_a_terminal_is_a_figure_or_is_named() -> None:
    def draw() -> str:
        return reconcile_page(asked().reconciled, Style(width=10_000))

    def values(pattern: str) -> list[float]:
        on = twin().dates[int(twin().readings[-1].at_d)]
        found = (one for name, one in known_figures(asked()).items() if re.fullmatch(pattern, name))
        return [one.find(asked(), on).tree.root.value for one in found]

    faults, figures = faults_of_text(draw, asked().told_of_fit, "text_of_fit", (), values)
    assert not faults, "\n".join(faults)
    assert figures > 50


def test_every_number_of_a_fit_carries_its_working_down_to_the_log() -> None:
    names, faults, used = Counter[str](), [], Counter[str]()
    known = [rule["name"] for rule in named_numbers("field_of_fit")]
    for number in numbers_of(asked().reconciled):
        names[number.name] += 1
        if isinstance(number.value, Worked) and number.title:
            tree = tree_of(number.value, About(symbol="value", key=number.name, kind="law"))
            check_tree(tree)
            faults += untraced(tree, asked(), asked().run.entries)
            odd = {one for one in literals_of(number.value) if not one.is_integer()}
            faults += [f"{number.name} has numbers without a name: {odd}"] if odd else []
            continue
        rules = [rule for rule in known if re.fullmatch(rule, number.field)]
        used.update(rules)
        faults += [] if rules else [f"{number.field} ({number.name}) cannot be asked"]
    assert not faults, "\n".join(faults)
    assert not [one["name"] for one in named_numbers("field_of_fit") if not used[one["name"]]], (
        "no longer needed"
    )
    assert max(names.values()) == 1, [name for name, times in names.items() if times > 1]


def test_what_is_asked_is_what_was_told() -> None:
    """Recording changes nothing, and what the steps of the fit say makes the numbers that it learned."""
    told = {number.name: float(number.value) for number in numbers_of(twin())}
    asked_for = {number.name: float(number.value) for number in numbers_of(asked().reconciled)}
    assert asked_for == pytest.approx(told, rel=1e-9)
    outlook = working_of(asked(), "fit.outlook.nitrate_mg_no3_per_l.ahead_fitted.p50")
    assert outlook.tornado is not None
    assert (outlook.tornado.members, outlook.tornado.same_in_all) == (32, False)
    assert outlook.tornado.inputs > 100
    learned = known_figures(asked())["fit.moved.hand_ration.after.p50"].find(asked(), None).tree
    read = {node.about.key for node in learned.leaves() if node.about.kind == "log"}
    assert read == {f"log.{one.entry_id}.value" for one in twin().readings if one.used}


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
    alone = run("reconcile", "twin.toml", "--members", "32", "--json", "-")
    jsonschema.validate(json.loads(alone.out), reconcile_schema())
    page = run("reconcile", "twin.toml", "--members", "32", "--html", "out.html")
    assert "Report: out.html" in page.out
    assert (logged / "out.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    series = "nitrate_mg_no3_per_l"
    figure = f"fit.outlook.{series}.ahead_fitted.p50"
    asked_for = run("why", "twin.toml", figure, "--members", "32", "--json", "-")
    why = json.loads(asked_for.out)
    assert why["value"] == pytest.approx(document["ahead"][series]["fitted"]["p50"], rel=1e-9)
    assert "name a figure of the fit" in run("why", "twin.toml", "fit", "--json", "-").err
    assert "is of no figure of a fit" in run("why", "twin.toml", figure, "--one-by-one").err
    assert "32 members or more" in run("why", "twin.toml", figure, "--members", "8").err
    assert figure in run("why", "twin.toml", "fit", "--members", "32").out


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


def test_it_asks_for_readings_where_there_are_none(run: Run, folder: Path) -> None:
    assert run("reconcile", "plan.toml").code == 2
    run("log", "fed double", "--tank", "plan.toml", "--yes")
    done = run("reconcile", "plan.toml")
    assert done.code == 2
    assert "holds no readings" in done.err


def test_it_refuses_a_plan_with_faults(run: Run, folder: Path) -> None:
    assert run("reconcile", "bad.toml").code == 2
