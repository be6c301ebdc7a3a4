"""Workings of what comes out of a forecast or a rehearsal give the numbers that these show."""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from pathlib import Path
from urllib.parse import quote

import numpy as np
import pytest

from backreef.errors import InputFaults
from backreef.judgement.crew import crew_sizes
from backreef.judgement.outcomes import animal_outcomes
from backreef.judgement.rehearsal import Rehearsal
from backreef.judgement.verdict import AnimalOutcome, CrewSize
from backreef.reports.html import figures_of, report_html
from backreef.reports.html_parts import WhyPage, why_ident
from backreef.reports.rehearsal_html import figures_of as hours_of
from backreef.reports.rehearsal_html import rehearsal_content, rehearsal_html
from backreef.schedule.away import Absence
from backreef.usecases.asked import Asking
from backreef.usecases.asked_by_name import plan_figures
from backreef.usecases.rehearse import rehearse
from backreef.usecases.why import Working, working_of, workings
from tests.number_census import agrees, check_tree, forecast_of_asked

PLAN = """\
start_on = 2027-01-04

[tank]
display = "200 L"
sump = "40 L"
rock = "20 kg"
start = { kind = "established", age = "12 months" }

[[animals]]
id = "clowns"
species = "ocellaris_clown"
count = 2

[[animals]]
id = "snails"
species = "trochus"
count = 4

[[animals]]
id = "late"
species = "trochus"
count = 2
arrives_on = 2027-05-01

[[devices]]
id = "feeder"
kind = "feeder_auger"
hopper = "40 g"
portion = "0.05 g"

[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.2 g"
by = "feeder"
times = ["9:00", "17:00"]

[keeper]
presence = ["Mon-Sun 8:00-20:00"]

[[keeper.closed]]
label = "away"
first = 2027-02-01
last = 2027-02-10

[goals]
horizon = "1.1 years"
"""
MEMBERS = 8
SINGLE = 2e-6
"""A forecast keeps its days in single precision."""
DAY = date(2027, 5, 20)


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("why") / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path


@cache
def asked(plan: Path) -> Asking:
    return Asking(plan, members=MEMBERS, seed=1)


@pytest.fixture(scope="module")
def asking(plan: Path) -> Asking:
    return asked(plan)


@cache
def outcomes(plan: Path) -> dict[str, AnimalOutcome]:
    course = asked(plan).course
    found = animal_outcomes(course.prepared, course.courses, course.series)
    return {one.id: one for one in found}


@cache
def crews(plan: Path) -> dict[str, CrewSize]:
    course = asked(plan).course
    return {one.animal_id: one for one in crew_sizes(course.prepared, course.courses, course.series)}


def told(asking: Asking, figure: str) -> Working:
    found = working_of(asking, figure)
    check_tree(found.tree)
    return found


def test_every_figure_of_a_forecast_is_worked_out_from_what_was_read_or_simulated(asking: Asking) -> None:
    figures = [one for one in plan_figures(asking) if one.forecast and one.away is None]
    assert len(figures) > 40
    for figure in figures:
        check_tree(figure.find(asking, None).tree)


@pytest.mark.parametrize("entry", ["clowns", "snails", "late"])
def test_condition_and_share_of_need_are_those_of_the_forecast(
    asking: Asking, plan: Path, entry: str
) -> None:
    shown = outcomes(plan)[entry]
    day = (DAY - asking.plan.start_on).days
    for name, band, middle in (
        ("condition_ratio", shown.condition, shown.condition_p50),
        ("energy_met_ratio", shown.energy_met, shown.energy_met_share_p50),
    ):
        assert told(asking, f"{entry}.{name}@{DAY}").value == pytest.approx(band.p50[day], rel=SINGLE)
        assert told(asking, f"{entry}.{name}_when_settled").value == pytest.approx(middle, rel=SINGLE)


@pytest.mark.parametrize("entry", ["clowns", "snails"])
def test_what_was_eaten_is_that_of_the_forecast(asking: Asking, plan: Path, entry: str) -> None:
    whole = told(asking, f"{entry}.eaten_g_dry_per_d")
    assert whole.value == pytest.approx(outcomes(plan)[entry].ration_g_dry_per_d_p50, rel=1e-12)
    parts = [one.name for one in plan_figures(asking) if one.name.startswith(f"{entry}.eaten_g_dry_per_d.")]
    assert sum(told(asking, part).value for part in parts) == pytest.approx(whole.value, rel=1e-9)
    assert {node.about.kind for node in whole.tree.leaves()} == {"simulated", "constant"}


def test_the_number_of_a_crew_is_that_of_the_forecast(asking: Asking, plan: Path) -> None:
    shown = crews(plan)["snails"]
    assert told(asking, "snails.held_count").value == pytest.approx(shown.held_count_p50, rel=SINGLE)
    season = next(one for one in shown.seasons if one.first_on <= DAY <= one.last_on)
    assert told(asking, f"snails.held_count@{DAY}").value == pytest.approx(season.held_count_p50, rel=SINGLE)
    lasting = told(asking, "snails.lasting_count")
    assert int(lasting.value) == shown.seasons[0].lasting_count
    assert "judgement.rules.crew_fed_frac" in {node.about.key for node in lasting.tree.leaves()}


@pytest.mark.parametrize(
    ("figure", "words"),
    [
        ("snails.lasting_count@2028-01-20", "fewer than 4 quarters"),
        ("late.held_count@2027-01-10", "ask a later day"),
        ("mains_off_8h.hours_to_risk@2027-02-01", "is no absence; write first day and day of return as"),
        ("mains_off_8h.hours_to_risk@2027-02-01..2027-02-08+Funday", "is no absence"),
        ("mains_off_8h.hours_to_risk@2027-02-01..2037-02-08", "after the plan's last day"),
        ("sitter_skips.hours_to_risk@2027-02-20..2027-02-27", "cannot happen in the absence of"),
    ],
)
def test_it_says_why_it_cannot_tell(asking: Asking, figure: str, words: str) -> None:
    with pytest.raises(InputFaults) as refusal:
        working_of(asking, figure)
    assert words in refusal.value.faults[0].message


@pytest.fixture(scope="module")
def whole(plan: Path) -> Rehearsal:
    away = Absence(first_on=date(2027, 2, 14), until_on=date(2027, 2, 21), sitter_weekdays=(1, 4))
    return rehearse(plan, away, members=MEMBERS, seed=1)


def test_the_hours_to_harm_are_those_of_the_rehearsal(asking: Asking, whole: Rehearsal) -> None:
    named = [f"{one.id}.hours_to_risk@2027-02-14..2027-02-21+Tue, Fri" for one in whole.mishaps]
    hours = {one for one in hours_of(whole) if ".hours_to_risk@" in one}
    assert hours
    assert hours < set(named)
    harmed = 0
    for mishap in [*whole.mishaps[:2], whole.mishaps[-1]]:
        asked_for = f"{mishap.id}.hours_to_risk@2027-02-14..2027-02-21+Tue, Fri"
        found = told(asking, asked_for)
        assert found.figure == asked_for
        beside = {one.figure: one.value for one in found.beside}
        for name, number in (
            ("share_at_risk", mishap.outcome.share_at_risk),
            ("chance", mishap.chance.value),
            *mishap.outcome.extremes.items(),
        ):
            if number is not None:
                assert beside[asked_for.replace("hours_to_risk", name)] == pytest.approx(number, rel=SINGLE)
        check_tree(told(asking, asked_for.replace("hours_to_risk", "oxygen_mg_per_l.low")).tree)
        if mishap.outcome.hours_to_risk is None:
            assert "nobody comes to risk" in found.shown
        else:
            assert found.value == mishap.outcome.hours_to_risk
            assert mishap.outcome.who in found.shown
            harmed += 1
            page = rehearsal_html(whole, {asked_for: found})
            assert page.count(f'href="#{why_ident(asked_for)}"') == 1
            assert page.count(f'id="{why_ident(asked_for)}"') == 1
    assert harmed


def test_what_helps_and_what_is_found_are_those_of_the_rehearsal(asking: Asking, whole: Rehearsal) -> None:
    mishap = next(one for one in whole.mishaps if one.mitigations)
    for one in mishap.mitigations[:2]:
        asked_for = f"{mishap.id}.with.{one.id}.spared_heads@2027-02-14..2027-02-21+Tue, Fri"
        found = told(asking, asked_for)
        check_tree(found.tree)
        assert found.figure == asked_for
        assert found.value == pytest.approx(one.harm_avoided_heads, rel=SINGLE)
        beside = {each.figure.rpartition("@")[0].rpartition(".")[2]: each.value for each in found.beside}
        assert beside["minutes"] == one.minutes
        assert beside["share_at_risk"] == pytest.approx(one.share_at_risk_after, rel=SINGLE)
        if one.hours_to_risk_after is not None:
            assert beside["hours_to_risk"] == one.hours_to_risk_after
    mishap = next(one for one in whole.mishaps[:2] if one.outcome.found)
    asked_for = f"{mishap.id}.on_return.{mishap.outcome.found_as[0]}.now@2027-02-14..2027-02-21+Tue, Fri"
    found = told(asking, asked_for)
    check_tree(found.tree)
    others = {each.figure.rpartition("@")[0].partition(".on_return.")[2] for each in found.beside}
    assert {f"{name}.now" for name in mishap.outcome.found_as[1:]} < others
    numbers = re.findall(r"[\d.]+", mishap.outcome.found[0])
    usual = told(asking, asked_for.replace(".now@", ".usual@"))
    assert len(numbers) == 2
    assert all(map(agrees, numbers, (found.value, usual.value)))
    best = whole.advice[-1]
    asked_for = f"advice.{best.id}.spared_heads@2027-02-14..2027-02-21+Tue, Fri"
    found = told(asking, asked_for)
    check_tree(found.tree)
    assert found.value == pytest.approx(best.spared_heads, rel=SINGLE)
    assert [each.value for each in found.beside] == [best.minutes]
    page = str(rehearsal_content(whole, WhyPage("/why/")))
    assert f"?of={quote(asked_for)}" in page


def test_without_dates_the_longest_absence_of_the_plan_is_rehearsed(asking: Asking) -> None:
    assert told(asking, "nothing_wrong.hours_to_risk").figure.endswith("@2027-02-01..2027-02-11")


def test_numbers_of_the_report_lead_to_their_workings(plan: Path) -> None:
    forecast = forecast_of_asked(asked(plan))
    told = workings(plan, figures_of(forecast), members=MEMBERS, seed=1)
    kinds = {name.partition("@")[0].rpartition(".")[2] for name in told}
    assert {
        "condition_ratio",
        "energy_met_ratio_when_settled",
        "eaten_g_dry_per_d",
        "held_count",
        "lasting_count",
        "minutes_per_month",
        "nitrate_mg_no3_per_l",
    } <= kinds
    page = report_html(forecast, workings=told)
    leading = re.findall(r'<a href="#(why-[^"]+)" class="why">([^<]+)</a>', page)
    assert {ident for ident, _ in leading} == {why_ident(name) for name in told}
    for ident, _ in leading:
        assert page.count(f'id="{ident}"') == 1
    shown = dict(leading)
    condition = told[f"clowns.condition_ratio@{forecast.dates[-1]}"]
    ident = why_ident(f"clowns.condition_ratio@{forecast.dates[-1]}")
    assert shown[ident].endswith(f"{condition.value:.2f}".rstrip("0").rstrip("."))
    assert "<script" not in page
    assert 'class="why"' not in report_html(forecast)


def test_nothing_is_shown_of_an_animal_after_all_are_gone() -> None:
    from types import SimpleNamespace

    from backreef.judgement.outcomes import days_shown

    living = np.array([[True, False], [True, True], [False, True], [False, False]])
    lost = np.array([[0, 0], [0, 0], [1, 0], [1, 1]])
    found = days_shown(SimpleNamespace(living=living, lost=lost))  # type: ignore[arg-type]
    assert found.tolist() == [[0, 0], [1, 1], [1, 2], [1, 2]]
