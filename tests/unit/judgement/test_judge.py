from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest

from backreef.judgement.course import run_course
from backreef.judgement.judge import judge_plan
from backreef.judgement.sieve import Sieve
from backreef.judgement.spans import earliest, wilson_interval
from backreef.judgement.telling import beforehand, forecast_of, share_that_holds
from backreef.judgement.verdict import BalanceVerdict, Forecast, Remedy
from backreef.reports.document import to_json
from backreef.reports.html import drawn_sections, report_html
from backreef.simulation.draws import Draws
from backreef.working.record import recording
from backreef.working.steps import About
from backreef.working.tree import tree_of
from tests.number_census import check_tree
from tests.unit.aquarium.plans import catalogue
from tests.unit.judgement.courses import FED, MEMBERS, PAIR, SHORT, a_finding, course, small_plan

MONDAYS = '[keeper]\npresence = ["Mon"]\n'
STRICT = '[goals.bands.ph]\nact_low = "9.0"\nharm_low = "8.9"\n'
"""Bounds that no reef holds."""
REFUGIUM = '[[devices]]\nkind = "refugium"\n[[upkeep]]\ntask = "harvest_macro"\nevery = "7 days"\n'


UNTRIED: list[Forecast] = []
"""The forecasts as they were before their remedies were tried."""


@cache
def forecast(lines: str, *, thorough: bool = False, seed: int = 1) -> Forecast:
    plan = small_plan(lines, horizon=SHORT)
    return judge_plan(
        plan,
        catalogue(),
        members=MEMBERS,
        seed=seed,
        remedies="all" if thorough else "worst",
        untried=UNTRIED.append,
    )


def balance(found: Forecast, name: str) -> BalanceVerdict:
    return next(verdict for verdict in found.balances if verdict.name == name)


def remedies(found: Forecast) -> list[Remedy]:
    return [remedy for finding in found.findings for remedy in finding.remedies]


def test_a_plan_that_feeds_its_fish_holds() -> None:
    found = forecast(PAIR + FED)
    assert found.holds
    assert (found.share_holding, found.first_break, found.first_break_cause) == (1.0, None, "")
    assert all(verdict.holds and verdict.cause == "" for verdict in found.balances)
    assert not any(finding.breaks for finding in found.findings)


def test_its_twin_without_meals_breaks_in_mouths_and_says_why() -> None:
    found = forecast(PAIR)
    assert not found.holds
    assert found.share_holding == 0.0
    assert found.first_break_cause == "Ocellaris clownfish starves"
    assert [verdict.name for verdict in found.balances if not verdict.holds] == ["mouths"]
    first = min(course(PAIR).broken_on["mouths"].tolist())
    assert found.first_break == date(2027, 1, 4 + first), "one of eight is more than one in twenty"
    assert found.first_break == balance(found, "mouths").first_break


def test_only_what_is_said_of_remedies_changes_once_they_are_tried() -> None:
    found = forecast(PAIR + FED + STRICT)
    before = next(one for one in UNTRIED if one.first_break_cause == found.first_break_cause)
    assert any(remedy.checked for remedy in remedies(found))
    assert not any(remedy.checked for remedy in remedies(before))
    assert to_json(replace(before, findings=found.findings)) == to_json(found)
    assert report_html(found, drawn=drawn_sections(before)) == report_html(found)


def sifted(lines: str, sieve: Sieve, members: int = 24) -> Forecast:
    plan = small_plan(lines, horizon=SHORT)
    return judge_plan(plan, catalogue(), members=members, remedies="none", sieve=sieve)


def test_a_plan_that_breaks_is_left_as_soon_as_that_is_sure() -> None:
    # one of 24 may break: in the first block of eight all starve
    sieve = Sieve()
    found = sifted(PAIR, sieve)
    assert sieve.broke == {0: 8}
    assert (found.members, found.holds, found.share_holding) == (8, False, 0.0)
    whole = forecast(PAIR)
    assert (found.first_break, found.first_break_cause) == (whole.first_break, whole.first_break_cause)
    assert {one.id for one in found.findings} == {one.id for one in whole.findings}


def test_members_that_broke_before_are_marched_first() -> None:
    # of twelve members none may break; the second block has four of them, and those are the weaker ones here
    assert Sieve(broke={0: 1, 1: 3, 2: 0, 3: 1}).weakest_first == (1, 0, 3)
    assert Sieve(broke={1: 2}, steps={0: 30, 1: 10, 2: 40, 3: 40}).order == (1, 2, 3, 0)
    sieve = Sieve(broke={1: 3})
    found = sifted(PAIR, sieve, members=12)
    assert (found.members, found.share_holding) == (4, 0.0)
    assert sieve.broke == {1: 7}
    whole = course(PAIR, members=12)
    fewer = [None if day < 0 else date(2027, 1, 4 + day) for day in whole.broken_on["mouths"][8:].tolist()]
    assert list(found.first_breaks) == fewer


def test_a_plan_that_holds_is_marched_for_all_and_judged_as_ever() -> None:
    plan = small_plan(PAIR + FED, horizon=SHORT)
    whole = judge_plan(plan, catalogue(), members=12, remedies="none")
    found = sifted(PAIR + FED, Sieve(broke={1: 1}), members=12)
    assert all(np.array_equal(found.series[name].p95, band.p95) for name, band in whole.series.items())
    assert (found.members, found.holds, found.first_breaks) == (12, True, whole.first_breaks)
    assert found.findings == whole.findings


def test_a_plan_that_nobody_can_keep_breaks_in_hands() -> None:
    found = forecast(PAIR + FED + MONDAYS)
    hands = balance(found, "hands")
    assert (hands.holds, hands.share_holding) == (False, 0.0)
    assert "nobody is there" in hands.cause
    assert found.first_break == hands.first_break, "nobody fills it up before anybody starves"
    assert found.first_break_cause == hands.cause


def test_the_same_seed_gives_the_same_answer_and_another_seed_another_one() -> None:
    plan = small_plan(PAIR + FED)
    again = judge_plan(plan, catalogue(), members=MEMBERS, seed=1)
    other = forecast(PAIR + FED, seed=2)
    first = forecast(PAIR + FED)
    name = "nitrate_mg_no3_per_l"
    assert np.array_equal(again.series[name].p50, first.series[name].p50)
    assert again.findings == first.findings
    assert not np.array_equal(other.series[name].p50, first.series[name].p50)


def test_a_single_member_is_the_deterministic_run_of_any_seed() -> None:
    plan = small_plan(PAIR + FED)
    first, second = (judge_plan(plan, catalogue(), members=1, seed=seed) for seed in (1, 2))
    for name, band in first.series.items():
        assert np.array_equal(band.p50, second.series[name].p50), name


def test_it_gives_one_value_a_day_and_its_band_in_order() -> None:
    found = forecast(PAIR + FED)
    assert (found.days, len(found.dates), found.dates[0]) == (37, 37, date(2027, 1, 4))
    for name, band in found.series.items():
        assert band.p50.shape == (37,), name
        assert (band.p05 <= band.p50).all(), name
        assert (band.p50 <= band.p95).all(), name
    assert "volume_l" not in found.series
    assert found.present.shape == (37,)


def test_it_prints_how_sure_its_share_is() -> None:
    found = forecast(PAIR + FED)
    assert (found.share_low, found.share_high) == wilson_interval(MEMBERS, MEMBERS)


def test_matter_is_conserved() -> None:
    found = forecast(PAIR + FED)
    assert found.conservation_residual == max(found.conservation_by_element.values()) < 1e-9


def test_the_gravest_finding_comes_first() -> None:
    harms = [finding.harm for finding in forecast(PAIR).findings]
    assert harms == sorted(harms, reverse=True)
    assert forecast(PAIR).findings[0].id == "mouths.pair.harm"


def test_a_remedy_says_what_it_did_only_where_it_was_tried() -> None:
    found = forecast(PAIR + FED + STRICT)
    assert any(remedy.checked for remedy in remedies(found))
    assert not all(remedy.checked for remedy in remedies(found))
    for remedy in remedies(found):
        assert remedy.checked == (remedy.effect != "")
        assert remedy.checked == (remedy.holds_after is not None)
        assert remedy.effect != remedy.what
        assert "_" not in remedy.effect


def test_a_remedy_that_cannot_be_simulated_stays_untried() -> None:
    found = forecast(PAIR + FED + MONDAYS, thorough=True)
    missed = next(finding for finding in found.findings if finding.id == "hands.missed.ato_refill")
    assert [(remedy.checked, remedy.effect) for remedy in missed.remedies] == [(False, "")]


def test_being_thorough_tries_every_remedy_that_can_be() -> None:
    busy = PAIR + FED.replace("growth", "maintenance") + REFUGIUM
    few, all_of_them = forecast(busy), forecast(busy, thorough=True)
    assert sum(remedy.checked for remedy in remedies(few)) < sum(
        remedy.checked for remedy in remedies(all_of_them)
    )


def test_it_tells_how_far_it_is() -> None:
    told: list[tuple[str, int, int]] = []
    judge_plan(
        small_plan(PAIR + FED),
        catalogue(),
        members=16,
        progress=lambda phrase, done, total: told.append((phrase, done, total)),
    )
    marching = [step[1:] for step in told if step[0] == told[0][0]]
    assert marching == [(1, 2), (2, 2)], "two blocks of eight members"
    assert told[-1][1] == told[-1][2]


def test_many_small_harms_break_a_plan_that_no_single_one_breaks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three of 40 members each suffer something else: more than one in twenty, though each alone is less."""
    marched = course(PAIR + FED, members=40)
    days = np.full((3, 40), -1)
    for row in range(3):
        days[row, row] = 10 * (row + 1)
    found = tuple(a_finding(f"water.{row}.harm", share=1 / 40) for row in range(3))
    broken = {"mouths": days[0], "water": days[1], "hands": days[2]}
    monkeypatch.setattr(type(marched), "broken_on", property(lambda _self: broken))
    hit = {one.id: first for one, first in zip(found, days, strict=True)}
    monkeypatch.setattr("backreef.judgement.telling.first_days", lambda _course: hit)
    answer = forecast_of(marched, found, beforehand(marched.prepared))
    assert not answer.holds
    assert answer.first_break == date(2027, 2, 3)
    assert answer.first_break_cause == "water.0.harm"
    assert all(verdict.holds for verdict in answer.balances)


def test_a_nominal_ensemble_has_no_spread() -> None:
    marched = run_course(small_plan(PAIR + FED), catalogue(), Draws(1, MEMBERS, nominal=True))
    nitrate = marched.series["nitrate_mg_no3_per_l"]
    assert np.ptp(nitrate, axis=1).max() == 0.0


def test_each_member_is_counted_with_what_breaks_it_first() -> None:
    by = [("mouths.pair", np.array([3, -1, 5, -1])), ("hands.minutes", np.array([2, 4, 5, -1]))]
    first = earliest([days for _, days in by], 4)
    assert share_that_holds(by, first) == 0.25
    with recording():
        tree = tree_of(share_that_holds(by, first), About(symbol="share", key="share", kind="law"))
    check_tree(tree)
    assert {node.about.symbol: node.value for node in tree.leaves()} == {
        "all_members": 4.0,
        "mouths_pair_first": 1.0,
        "hands_minutes_first": 2.0,
    }
