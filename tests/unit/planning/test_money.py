"""Money: a row of the programme, complete or refused, and what more of it would buy."""

from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.aquarium.dump import dump_plan
from backreef.aquarium.load import load_plan_text
from backreef.aquarium.plan import Plan
from backreef.errors import InputFaults
from backreef.planning.candidates import NOBODY, Shortlist
from backreef.planning.choices import choices_of
from backreef.planning.collisions import conflicts_of
from backreef.planning.facts import PINNED, Facts, heads
from backreef.planning.gather import fed, listed
from backreef.planning.money import priced
from backreef.planning.problem import Problem, problem_of
from backreef.planning.solver import solve
from backreef.planning.stock import money_fits, stock_programme, wish_terms
from backreef.planning.wishes import read_wishes
from tests.planning_world import a_candidate, a_response, a_short_plan, a_wish, some_facts, the_catalogue


def rich(money: float | None, **prices: float) -> Plan:
    plan = a_short_plan()
    return replace(plan, keeper=replace(plan.keeper, money=money, prices=prices))


def shortlist(problem: Problem) -> Shortlist:
    base, _ = fed(problem)
    return listed(base, the_catalogue(), read_wishes(problem.kept, the_catalogue()))


def a_shop(money: float) -> Facts:
    """A goby for 18, a wish for two of it, a snail for 4, and 12 for what comes in any case."""
    return some_facts(
        candidates=(a_candidate("goby"), a_candidate("snail", kind="snail")),
        wishes=(a_wish("a pair", "goby", weight=2.0, least=2), a_wish("a grazer", "snail")),
        responses={"goby": a_response(), "snail": a_response()},
        money=money,
        prices={"goby": 18.0, "snail": 4.0, PINNED: 12.0},
    )


def test_what_is_bought_costs_no_more_than_is_given() -> None:
    (row,) = money_fits(a_shop(50.0))
    assert row.terms == {heads("goby"): 18.0, heads("snail"): 4.0}
    assert row.high == 38.0
    assert list(money_fits(some_facts())) == [], "no matter"


@pytest.mark.parametrize(("money", "weight"), [(52.0, 3.0), (51.0, 2.0), (47.0, 1.0), (15.0, 0.0)])
def test_the_most_that_can_be_had_for_the_money_is_had(money: float, weight: float) -> None:
    # 12 are spent in any case; 36 more buy the pair, 4 the snail
    facts = a_shop(money)
    assert solve(stock_programme(facts).aiming(wish_terms(facts)), seed=1).value == pytest.approx(weight)


def test_a_wish_that_costs_too_much_is_told_with_what_it_would_take() -> None:
    (conflict,) = conflicts_of(a_shop(51.0), NOBODY, frozenset({"a pair"}), 1)
    assert conflict.wish == "a grazer"
    assert set(conflict.collides_with) == {"the wish 'a pair'", "the 51 that may be spent"}
    assert conflict.proved
    assert "1 more to spend" in {way.words for way in conflict.ways_out}


def test_with_money_every_price_is_asked_for_at_once_and_before_anything_is_solved() -> None:
    problem = problem_of(rich(100.0, neon_goby=18.0), the_catalogue())
    found = shortlist(problem)
    with pytest.raises(InputFaults) as refusal:
        priced(problem, found)
    keys = {fault.key for fault in refusal.value.faults}
    wanted = {f"keeper.prices.{one.id}" for one in found.candidates} - {"keeper.prices.neon_goby"}
    assert wanted
    assert wanted < keys, "and devices that a choice adds"
    assert all("or leave money out" in fault.message for fault in refusal.value.faults)
    prices = {key.rpartition(".")[2]: 7.0 for key in keys} | {"neon_goby": 18.0}
    complete = priced(problem_of(rich(100.0, **prices), the_catalogue()), found)
    assert complete.prices["neon_goby"] == 18.0
    added = [each.id for each in choices_of(fed(complete)[0], frozenset()) if complete.prices[each.id]]
    assert added, "a device that a choice adds costs"
    free = problem_of(rich(None), the_catalogue())
    assert priced(free, found) is free


def test_money_and_prices_are_read_and_written() -> None:
    plan = rich(120.0, neon_goby=18.5, refugium=60.0)
    again = load_plan_text(dump_plan(plan), "plan.toml", the_catalogue())
    assert (again.keeper.money, again.keeper.prices) == (120.0, {"neon_goby": 18.5, "refugium": 60.0})
    text = dump_plan(plan).replace("neon_goby = 18.5", 'neon_gobi = "18"')
    with pytest.raises(InputFaults) as refusal:
        load_plan_text(text, "plan.toml", the_catalogue())
    told = " ".join(fault.message for fault in refusal.value.faults)
    assert "is no sum of money" in told
    assert "neon_goby" in told
