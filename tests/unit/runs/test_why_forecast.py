from __future__ import annotations

from dataclasses import replace
from datetime import date

import jsonschema
import numpy as np
import pytest

from backreef.judgement.books import fluxes
from backreef.judgement.outcomes import alive
from backreef.judgement.outcomes_hands import minutes_of
from backreef.judgement.tornado import inputs_of, tornado
from backreef.reports.text_layout import Style, seen_width
from backreef.reports.why_document import why_document, why_schema
from backreef.reports.why_html import why_content
from backreef.reports.why_text import why_page
from backreef.units import DAYS_PER_MONTH
from backreef.usecases.asked import Asking
from backreef.usecases.asked_by_name import plan_figures
from backreef.usecases.why import Working, why, working_of
from backreef.working.tree import Tree

MEMBERS = 16
PLAN = """\
start_on = 2027-01-04

[tank]
display = "200 L"

[[animals]]
id = "clowns"
species = "ocellaris_clown"
count = 2

[[meals]]
food = "pellet_small"
amount = "0.1 g"
times = ["12:00"]

[[upkeep]]
task = "wc_do"
share = "10 %"
every = "14 days"

[[upkeep]]
task = "glass_inner"
every = "7 days"

[goals]
horizon = "1 years"
"""
NITRATE = "nitrate_mg_no3_per_l"


@pytest.fixture(scope="module")
def asking(tmp_path_factory: pytest.TempPathFactory) -> Asking:
    path = tmp_path_factory.mktemp("why") / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    return Asking(path, members=MEMBERS, seed=1)


ELSEWHERE = [
    ["condition_ratio_when_settled"],
    ["energy_met_ratio_when_settled"],
    ["eaten_g_dry_per_d"],
    ["held_count"],
    ["lasting_count"],
    ["days_outside_act"],
    ["days_outside_harm"],
]
"""Figures that test_why_animals.py or test_every_number.py of the use cases hold against the forecast."""


def check_tree(tree: Tree) -> None:
    assert tree.recomputed() == pytest.approx(tree.root.value, rel=1e-9, abs=1e-300)
    for node in tree.leaves():
        assert node.about.kind != "law", node.about
        assert node.about.place or node.about.source or node.about.status, node.about


def test_every_figure_of_the_forecast_is_the_shown_one_and_can_be_worked_out_again(asking: Asking) -> None:
    course = asking.course
    last = course.prepared.keeper.days - 1
    months = {
        line.task: line.minutes_per_month_p50 for line in minutes_of(course.prepared, course.work).by_chore
    }
    fed = {}
    for cohort, lived in zip(course.prepared.cohorts, course.courses, strict=True):
        fed[f"{cohort.entry.id}.condition_ratio"] = float(
            np.percentile(alive(lived.condition, lived)[last], 50)
        )
        fed[f"{cohort.entry.id}.energy_met_ratio"] = float(
            np.percentile(alive(lived.energy_met, lived)[last], 50)
        )
    asked = set()
    for figure in plan_figures(asking):
        if not figure.forecast or figure.away is not None or figure.name.split(".")[1:2] in ELSEWHERE:
            continue
        tree = figure.find(asking, None).tree
        check_tree(tree)
        task = figure.name.partition(".")[0]
        series = figure.name.removesuffix(".most").removesuffix("_p05").removesuffix("_p95")
        if figure.name.endswith(".most"):
            shown = float(np.percentile(course.series[series], 50, axis=1).max())
        elif series in course.series:
            percent = int(figure.name.removeprefix(series).removeprefix("_p") or 50)
            shown = float(np.percentile(course.series[series][last], percent))
        elif task == figure.name:  # of days together, which test_every_number.py holds against the pages
            continue
        else:
            shown = fed.get(figure.name, months.get(task, 0.0))
        digits = 1e-6 if figure.name in fed else 1e-9  # how an animal fares is kept in single precision
        assert tree.root.value == pytest.approx(shown, rel=digits, abs=1e-12), figure.name
        asked.add(figure.name)
    assert {NITRATE, "phosphate_mg_po4_per_l", "oxygen_mg_per_l", "wc_do.minutes_per_month"} <= asked
    assert set(fed) <= asked


def test_a_state_tells_its_day_its_band_and_what_came_and_left(asking: Asking) -> None:
    figure = next(one for one in plan_figures(asking) if one.name == NITRATE)
    on = date(2027, 9, 1)
    found = figure.find(asking, on)
    states = [node.about for node in found.tree.leaves() if node.about.kind == "simulated"]
    assert {about.on for about in states} == {on}
    assert all(about.low is not None and about.members == MEMBERS for about in states)
    assert {each.element for each in found.moved} == {"N"}
    assert {"food", "water changes"} <= {each.door for each in found.moved}


def test_what_came_by_the_last_day_is_what_the_fluxes_tell(asking: Asking) -> None:
    course = asking.course
    figure = next(one for one in plan_figures(asking) if one.name == "phosphate_mg_po4_per_l")
    moved = {each.door: each.g_p50 for each in figure.find(asking, None).moved}
    months = course.prepared.keeper.days / DAYS_PER_MONTH
    for line in fluxes(course.prepared, course.members):
        if line.element == "P" and abs(line.g_per_month_p50) > 1e-4:
            assert moved[line.door] / months == pytest.approx(line.g_per_month_p50, rel=1e-3)


def test_the_tornado_finds_what_a_figure_was_made_of(asking: Asking) -> None:
    drawn = inputs_of(asking.course)
    made = (
        drawn["model.mu_AOB"]
        if np.ptp(drawn.get("model.mu_AOB", np.zeros(1)))
        else next(row for row in drawn.values() if np.ptp(row) > 0)
    )
    found = tornado(np.exp(made), asking.course, unit="-")
    assert found is not None
    assert found.bars[0].rank_correlation_ratio == pytest.approx(1.0)
    assert found.bars[0].low < found.bars[0].high


def test_luck_is_seldom_taken_for_a_reason(asking: Asking) -> None:
    generator = np.random.default_rng(5)
    taken = [
        tornado(generator.random(MEMBERS), asking.course, unit="-").bars  # type: ignore[union-attr]
        for _ in range(20)
    ]
    assert sum(bool(bars) for bars in taken) <= 4


def test_few_members_have_no_tornado(asking: Asking) -> None:
    assert tornado(np.arange(8.0), asking.course, unit="-") is None


def test_a_figure_that_no_input_moves_is_told_so(asking: Asking) -> None:
    found = tornado(np.ones(MEMBERS), asking.course, unit="-")
    assert found is not None
    assert found.same_in_all
    assert not found.bars
    assert found.inputs > 100
    words = (
        f"None: it is the same in all {MEMBERS} members, whatever the {found.inputs} uncertain inputs are."
    )
    told = replace(working_of(asking, "mass_in_service_kg"), tornado=found)
    assert words in " ".join(why_page(told, Style(width=80)).split())
    assert words in str(why_content(told))
    jsonschema.validate(why_document(told), why_schema())


def test_its_document_and_page_tell_all_of_it(asking: Asking) -> None:
    found: Working = why(asking.file, f"{NITRATE}@2027-03-01", members=MEMBERS, seed=1)
    document = why_document(found)
    jsonschema.validate(document, why_schema(), format_checker=jsonschema.FormatChecker())
    assert (document["members"], document["seed"]) == (MEMBERS, 1)
    page = why_page(found, Style(width=80))
    assert max(seen_width(line) for line in page.splitlines()) <= 80
    assert "What came in and left since the first day, g N" in page
    assert "by luck alone" in page
