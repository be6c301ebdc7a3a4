"""A keeper asks for plans: the real simulation of a small tank over half a year, with eight members."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from backreef.cli.app import backreef
from backreef.company.engine import check_plan
from backreef.judgement.verdict import CrewSeason, CrewSize
from backreef.planning.plans import AIMS, Conflict, Given, Proposals, WhyNot
from backreef.planning.programme import violated
from backreef.planning.stock import stock_programme
from backreef.planning.ways import WayOut
from backreef.plots.frontier import frontier_chart
from backreef.reports.offers_html import offers_of
from backreef.reports.propose_document import propose_document, propose_json, propose_schema
from backreef.reports.propose_html import propose_html
from backreef.reports.propose_text import propose_page
from backreef.usecases.check import load_plan
from backreef.usecases.forecast import forecast_plan
from backreef.usecases.offers import asked_of_offer, offer_asked
from backreef.usecases.propose import propose_plans, written
from tests.e2e.conftest import Run
from tests.planning_world import SHORT_PLAN, a_short_plan, the_catalogue

MEMBERS = 8


@cache
def found() -> Proposals:
    return propose_plans(a_short_plan(), members=MEMBERS)


def test_three_plans_are_found_that_hold() -> None:
    plans = found().proposals
    assert [one.aim for one in plans] == list(AIMS)
    assert all(one.forecast.holds for one in plans)
    assert found().wishes_share(plans[0]) == 1.0
    assert plans[1].picked.minutes_per_month <= plans[0].picked.minutes_per_month
    assert plans[2].picked.margin_share >= plans[0].picked.margin_share


@pytest.mark.parametrize("number", range(3))
def test_the_forecast_of_the_file_is_the_judgement_that_was_reported(tmp_path: Path, number: int) -> None:
    each = written(found())[number]
    path = tmp_path / each.file
    path.write_text(each.text, encoding="utf-8")
    again = load_plan(path)
    assert replace(again, file="plan.toml") == each.proposal.plan
    forecast = forecast_plan(again, members=MEMBERS)
    reported = each.proposal.forecast
    assert (forecast.holds, forecast.first_breaks) == (reported.holds, reported.first_breaks)
    assert forecast.minutes.per_month_p50 == reported.minutes.per_month_p50


def test_every_plan_stands_before_the_rules_and_the_rows_without_the_solver() -> None:
    facts = found().facts
    assert facts is not None
    known = {one.id for one in check_plan(found().plan, the_catalogue()) if one.weight == "serious"}
    for one in found().proposals:
        assert violated(stock_programme(facts), one.picked.solved.chosen) == []
        serious = {f.id for f in check_plan(one.plan, the_catalogue()) if f.weight == "serious"}
        assert serious <= known


def test_it_can_be_asked_from_python_and_read_as_a_table() -> None:
    import backreef as door

    assert door.propose is propose_plans
    table = found().to_frame()
    assert list(table["aim"]) == list(AIMS)
    assert table["wishes_share"].max() == 1.0


def test_comments_say_why_and_for_which_wish() -> None:
    text = written(found())[0].text
    assert "# Proposed by backreef from Test tank: most of the wishes." in text
    assert "# Wish 'a little goby' (weight 2): met." in text
    assert 'why = "for the wish: a little goby"' in text
    assert max(len(line) for line in text.splitlines() if line.startswith("#")) <= 100


def test_the_document_has_the_shape_of_its_schema() -> None:
    document = propose_document(found(), written(found()), "plans")
    jsonschema.validate(document, propose_schema())
    assert json.loads(propose_json(found(), written(found()), "plans")) == json.loads(json.dumps(document))
    assert document["plans"][0]["file"] == "plans/plan-most-wishes.toml"
    assert "neon_goby" in document["responses"]


def test_what_was_asked_and_what_stands_in_the_way_is_told_everywhere() -> None:
    way = WayOut(words="12 more minutes a month", share_holding=1.0, holds=True)
    told = replace(
        found(),
        conflicts=(Conflict(wish="a whale", collides_with=("the glass",), ways_out=(way,), proved=True),),
        why_not=(
            WhyNot(
                species_id="firefish",
                name="Firefish",
                what="not needed",
                costs=("+2.0 minutes a month",),
                ways_in=(WayOut(words="a lid of glass"),),
                share_holding=0.5,
            ),
        ),
        given=(
            Given(minutes_per_month=10.0, proposal=None),
            Given(minutes_per_month=400.0, proposal=found().proposals[0]),
        ),
    )
    document = propose_document(told, written(told), None)
    jsonschema.validate(document, propose_schema())
    assert document["conflicts"][0]["ways"][0]["holds_after"] is True
    assert [one["wishes_met"] for one in document["for_minutes"]] == [None, 1.0]
    for page in (propose_page(told, written(told), 200), propose_html(told, written(told))):
        assert "12 more minutes a month (simulated: holds, in 100% of the members tried)" in page
        assert "Firefish: not needed; with it: +2.0 minutes a month; simulated with it: holds in 50%" in page
        assert "a lid of glass (not simulated)" in page
        assert "no plan holds" in page


def test_each_plan_says_how_many_cleaners_the_tank_feeds_when() -> None:
    fed = CrewSeason(
        first_on=date(2027, 4, 1),
        last_on=date(2027, 6, 30),
        held_count_p05=2.0,
        held_count_p50=3.4,
        held_count_p95=5.0,
        starving_share=0.0,
        lasting_count=3,
    )
    crew = CrewSize(
        animal_id="snails",
        common_name="Banded trochus snail",
        count=2,
        held_count_p05=1.6,
        held_count_p50=2.3,
        held_count_p95=3.2,
        starving_share_by_year=(0.0,),
        seasons=(fed, replace(fed, first_on=date(2027, 7, 1), last_on=date(2027, 9, 30), lasting_count=2)),
    )
    first, *others = found().proposals
    told = replace(
        found(),
        proposals=(replace(first, forecast=replace(first.forecast, crew_sizes=(crew,))), *others),
    )
    words = "So many find enough for a year from then on: 3 from Apr 2027 and 2 from Jul 2027."
    assert words in " ".join(propose_page(told, written(told), 200).split())
    assert words in propose_html(told, written(told))
    document = propose_document(told, written(told), None)
    jsonschema.validate(document, propose_schema())
    assert [one["lasting_count"] for one in document["plans"][0]["crew_sizes"][0]["seasons"]] == [3, 2]


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_page_keeps_to_its_width(width: int) -> None:
    page = propose_page(found(), written(found()), width)
    assert max(len(line) for line in page.splitlines()) <= width
    assert propose_page(found(), written(found()), width, ascii_only=True).isascii()


def test_the_page_shows_the_frontier_with_its_numbers_and_needs_nothing_else() -> None:
    page = propose_html(found(), written(found()))
    offers = offers_of(found(), written(found()))
    for place in range(len(offers.plans)):
        for figure in ("share_holding", "minutes.per_month"):
            asked = offer_asked(place, figure)
            assert f'href="../why/?of={asked}"' in offers.outcomes
            assert asked_of_offer(asked) == (place, figure)
    assert page.startswith("<!doctype html>")
    assert "<script" not in page
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")
    idents = [part.split('"')[0] for part in page.split(' id="')[1:]]
    assert len(set(idents)) == len(idents)
    assert "Wishes against minutes" in page
    drawn = frontier_chart(found())
    assert drawn is not None
    assert drawn.wide.count('class="reading"') == len(found().frontier) == len(drawn.table.rows)
    assert drawn.wide.count('class="dot"') == len(found().proposals)
    assert "<desc" in drawn.wide
    assert frontier_chart(replace(found(), frontier=())) is None


def test_the_command_writes_the_plans_and_the_document(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from backreef.usecases import propose as usecase

    monkeypatch.setattr(usecase, "propose_plans", lambda *_, **__: found())
    monkeypatch.chdir(tmp_path)
    Path("plan.toml").write_text(SHORT_PLAN.format(minutes=300, days="Mon-Sun"), encoding="utf-8")
    Path("out").mkdir()
    done = CliRunner().invoke(backreef, ["propose", "plan.toml", "--into", "out", "--json", "-"])
    assert done.exit_code == 0
    document = json.loads(done.stdout)
    assert [Path(plan["file"]).is_file() for plan in document["plans"]] == [True, True, True]
    page = CliRunner().invoke(backreef, ["propose", "plan.toml", "--into", "out"]).stdout
    assert "Test tank: 3 plans found, each simulated 8 times (seed 1)." in page
    CliRunner().invoke(backreef, ["propose", "plan.toml", "--into", "out", "--html", "p.html"])
    assert Path("p.html").is_file()
    none = replace(found(), status="none", proposals=(), as_it_is=found().proposals[0].forecast)
    monkeypatch.setattr(usecase, "propose_plans", lambda *_, **__: none)
    assert CliRunner().invoke(backreef, ["propose", "plan.toml", "--into", "out"]).exit_code == 1
    stopped = replace(found(), status="stopped")
    monkeypatch.setattr(usecase, "propose_plans", lambda *_, **__: stopped)
    assert CliRunner().invoke(backreef, ["propose", "plan.toml", "--into", "out"]).exit_code == 130


def test_what_is_missing_is_said_with_what_to_write(run: Run, folder: Path) -> None:
    done = run("propose", "plan.toml")
    assert (done.code, done.out) == (2, "")
    for key in ("keeper.minutes_per_month", "keeper.presence", "keeper.wishes"):
        assert key in done.err
    assert not list(folder.glob("plan-*.toml"))


def test_a_folder_that_is_not_there_is_said_before_any_time_is_spent(run: Run, folder: Path) -> None:
    done = run("propose", "plan.toml", "--into", "nowhere")
    assert done.code == 2
    assert "nowhere" in done.err
