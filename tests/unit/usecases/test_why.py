from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

import backreef
from backreef.company.engine import check_plan
from backreef.company.place import floor_load_kn_per_m2
from backreef.errors import InputFaults
from backreef.judgement.least_food import with_least_food
from backreef.reports.text_layout import Style, seen_width
from backreef.reports.why_document import why_document, why_schema
from backreef.reports.why_html import why_content
from backreef.reports.why_text import figures_page, why_page
from backreef.simulation.prepared import lay_out
from backreef.usecases.asked import Asking
from backreef.usecases.asked_by_name import plan_figures
from backreef.usecases.check import catalogue_of, load_plan
from backreef.usecases.why import askable_figures, why
from backreef.working.formula import value_of
from backreef.working.tree import Tree, literals_of
from tests.cli_world import EXAMPLES
from tests.number_census import check_tree, untraced

PLANS = sorted(EXAMPLES.glob("*.toml"))
READING_ROOM = EXAMPLES / "reading_room.toml"
OUTGROWN = """\
start_on = 2027-01-04

[tank]
display = "200 L"

[[animals]]
id = "tang"
species = "yellow_tang"
length = "8 cm"

[[meals]]
id = "sheet"
food = "nori"
enough_for = "maintenance"
who = ["tang"]
times = ["12:00"]

[[upkeep]]
task = "wc_do"
share = "10 %"
every = "14 days"
"""
UNNAMED = {0.5, 1.0 / 3.0}
"""Numbers that are not whole and stand in formulas without a name: the roots of a volume."""


@pytest.fixture
def outgrown(tmp_path: Path) -> Path:
    path = tmp_path / "plan.toml"
    path.write_text(OUTGROWN, encoding="utf-8")
    return path


@cache
def asking_of(plan: Path) -> Asking:
    """A plan of the examples that is read once for all that is asked of it before it is marched."""
    return Asking(plan, members=1, seed=1)


@pytest.mark.parametrize("plan", PLANS, ids=lambda path: path.stem)
def test_every_figure_that_needs_no_forecast_is_worked_out_from_what_was_read(plan: Path) -> None:
    asking = asking_of(plan)
    asked = 0
    for figure in plan_figures(asking):
        if not figure.forecast:
            tree = figure.find(asking, None).tree
            check_tree(tree)
            assert not untraced(tree, asking), figure.name
            asked += 1
    assert asked > 30


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"kind": "law"}, "no kind of leaf"),
        ({"kind": "log", "key": "log.abc.value"}, "the log says None"),
        ({"kind": "parameter", "key": "models.parameters.mu_F"}, "in the table"),
        ({"kind": "catalogue", "key": "catalogue.species.yellow_tang.adult_length_cm"}, "in the catalogue"),
        ({"kind": "constant", "key": "aquarium.geometry.CM2_PER_M2"}, "in aquarium"),
        ({"kind": "constant", "source": "", "place": ""}, "stands nowhere"),
        ({"given": {"written": "121 cm"}}, "is not in line"),
    ],
)
def test_a_leaf_that_stands_nowhere_is_found(changed: dict[str, Any], why: str) -> None:
    asking = asking_of(READING_ROOM)
    figure = next(one for one in plan_figures(asking) if one.name == "mass_in_service_kg")
    tree = figure.find(asking, None).tree
    leaf = next(node for node in tree.leaves() if node.about.kind == "plan")
    about = replace(leaf.about, **changed)
    (fault,) = untraced(Tree(nodes=(replace(leaf, about=about, value=-1.0),)), asking)
    assert why in fault


def test_no_number_in_a_formula_lacks_a_name(outgrown: Path) -> None:
    from backreef.simulation.rations import needed_mmol_per_d, warmth_of
    from backreef.working.record import recording

    asking = Asking(outgrown, members=1, seed=1)
    with recording():
        need = needed_mmol_per_d(asking.laid_out.cohorts[0], 40, warmth_of(asking.plan), growth=True)
    found = [need, asking.laid_out.keeper.meals.occasions[0].food_g]
    found += [chore.minutes for chore in asking.laid_out.keeper.chores]
    for value in found:
        assert {one for one in literals_of(value) if not one.is_integer()} <= UNNAMED


@pytest.mark.parametrize("plan", PLANS, ids=lambda path: path.stem)
def test_the_plan_that_is_asked_is_the_plan_that_is_forecast(plan: Path) -> None:
    plain = load_plan(plan)
    usual = lay_out(with_least_food(plain, catalogue_of(plain)), catalogue_of(plain))
    asked = asking_of(plan).laid_out
    assert usual.keeper.meals.occasions == asked.keeper.meals.occasions
    assert usual.keeper.chores == asked.keeper.chores
    assert [cohort.nature for cohort in usual.cohorts] == [cohort.nature for cohort in asked.cohorts]
    assert [cohort.kept for cohort in usual.cohorts] == [cohort.kept for cohort in asked.cohorts]


def test_the_load_is_the_one_that_the_check_tells() -> None:
    found = why(READING_ROOM, "floor_load_kn_per_m2")
    assert found.value == floor_load_kn_per_m2(load_plan(READING_ROOM))
    lines = {node.about.place for node in found.tree.leaves() if node.about.kind == "plan"}
    text = READING_ROOM.read_text(encoding="utf-8").splitlines()
    rock = next(number for number, line in enumerate(text, 1) if line.startswith("rock ="))
    assert f"{READING_ROOM}:{rock}" in lines


def test_the_day_is_the_one_that_the_check_tells(outgrown: Path) -> None:
    plan = load_plan(outgrown)
    finding = next(one for one in check_plan(plan, catalogue_of(plan)) if one.rule == "outgrown")
    found = why(outgrown, "tang.outgrown_on")
    assert found.on == finding.from_on
    assert found.value == (found.on - date(2027, 1, 4)).days  # type: ignore[operator]
    keys = {node.about.key for node in found.tree.leaves()}
    assert {
        "animals[0].length",
        "tank.display.volume",
        "catalogue.species.yellow_tang.adult_length_cm",
        "catalogue.species.yellow_tang.growth_kmax_per_y",
        "company.rules.full_need_frac",
    } <= keys


def test_a_document_alone_is_enough_to_work_it_out_again(outgrown: Path) -> None:
    document = why_document(why(outgrown, "tang.ration_g_per_d.nori@2027-06-01"))
    jsonschema.validate(document, why_schema(), format_checker=jsonschema.FormatChecker())
    known: dict[str, float] = {}
    for node in reversed(order(document["nodes"])):
        inputs = {symbol: known[one] for symbol, one in node["inputs"].items()}
        known[node["id"]] = value_of(node["formula"], inputs) if node["formula"] else node["value"]
    assert known["n1"] == pytest.approx(document["value"], rel=1e-12)
    assert document["on"] == "2027-06-01"


def order(nodes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The nodes, each before what it is made from."""
    by_id = {node["id"]: node for node in nodes}
    depth: dict[str, int] = {}

    def lay(node_id: str, level: int) -> None:
        if depth.get(node_id, -1) < level:
            depth[node_id] = level
            for one in by_id[node_id]["inputs"].values():
                lay(one, level + 1)

    lay("n1", 0)
    return sorted(nodes, key=lambda node: depth[node["id"]])


@pytest.mark.parametrize(
    ("figure", "words"),
    [
        ("floor_lod", "did you mean floor_load_kn_per_m2"),
        ("tang.mass", "tang.mass_g"),
        ("qqqq", "; 'why PLAN' lists all that can"),
        ("advice.battery_air.minutes", "ask as advice.battery_air.minutes@2027-08-02..2027-08-16"),
        ("floor_load_kn_per_m2@2027-03-01", "of no single day"),
        ("tang.mass_g@soon", "'soon' is no date; write it as tang.mass_g@2028-03-01"),
        ("tang.mass_g@2026-01-01", "it runs from 2027-01-04 to"),
    ],
)
def test_it_says_what_can_be_asked(outgrown: Path, figure: str, words: str) -> None:
    with pytest.raises(InputFaults) as refusal:
        why(outgrown, figure)
    assert words in refusal.value.faults[0].message


def test_it_can_be_asked_from_python(outgrown: Path) -> None:
    names = {one.name for one in backreef.askable_figures(outgrown)}
    assert {"floor_load_kn_per_m2", "tang.outgrown_on", "wc_do.minutes_each_time"} <= names
    frame = backreef.why(outgrown, "mass_in_service_kg").to_frame()
    assert frame.loc[0, "symbol"] == "mass_in_service_kg"


def test_its_pages_fit_a_terminal(outgrown: Path) -> None:
    found, figures = why(outgrown, "tang.ration_g_per_d.nori"), askable_figures(outgrown)
    for width in (60, 80):
        style = Style(width=width)
        page = why_page(found, style)
        page += figures_page(figures, style, program="backreef", plan="plan.toml")
        assert max(seen_width(line) for line in page.splitlines()) <= width
        assert "plan; '8 cm'" in page
        assert "On whose word" in page


def test_a_plan_whose_horizon_is_part_of_a_year_can_be_asked(tmp_path: Path) -> None:
    path = tmp_path / "short.toml"
    path.write_text(OUTGROWN + '\n[goals]\nhorizon = "0.3 years"\n', encoding="utf-8")
    assert why(path, "tang.mass_g@2027-02-01").value > 0


@pytest.mark.parametrize("name", ["condition_ratio", "energy_met_ratio"])
def test_how_an_animal_is_fed_is_worked_out_as_the_forecast_shows_it(asking: Asking, name: str) -> None:
    figure = next(one for one in plan_figures(asking) if one.name == f"tang.{name}")
    course = asking.course.courses[0]
    kept = course.condition if name == "condition_ratio" else course.energy_met
    for day in (1, 4, 12):
        found = figure.find(asking, asking.on(day))
        check_tree(found.tree)
        assert found.tree.root.value == pytest.approx(float(np.median(kept[day])), rel=1e-5)
    asked = {node.about.symbol for node in found.tree.nodes}
    assert {"condition_ratio": "well_fed_reserve", "energy_met_ratio": "need_in_seven_days"}[name] in asked


@pytest.fixture(scope="module")
def asking(tmp_path_factory: pytest.TempPathFactory) -> Asking:
    """A plan of three weeks that is marched once for all that is asked of it."""
    path = tmp_path_factory.mktemp("marched") / "plan.toml"
    path.write_text(OUTGROWN + '\n[goals]\nhorizon = "0.06 years"\n', encoding="utf-8")
    return Asking(path, members=3, seed=1)


def test_each_number_can_be_moved_alone(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(OUTGROWN + '[goals]\nhorizon = "20 days"\n', encoding="utf-8")
    found = why(path, "nitrate_mg_no3_per_l@2027-01-20", members=8, one_by_one=True)
    moved = found.elasticities
    assert moved is not None
    assert moved.moved > 200
    assert {"yellow_tang weight_a", "mu_F"} <= {one.key for one in moved.found}
    jsonschema.validate(why_document(found), why_schema())
    words = f"{moved.moved} numbers, each by 1 % while all others stay at their middle"
    assert words in " ".join(why_page(found, Style(width=80)).split())
    assert words in str(why_content(found))
    assert why(path, "floor_load_kn_per_m2", one_by_one=True).elasticities is None, "nothing is simulated"
