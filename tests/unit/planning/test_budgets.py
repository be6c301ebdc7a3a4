"""More minutes never give a worse best plan: every budget begins with the plans of smaller ones."""

from __future__ import annotations

from dataclasses import replace
from zlib import crc32

import pytest

from backreef.aquarium.plan import Plan
from backreef.judgement.verdict import Forecast
from backreef.planning.budgets import by_minutes
from backreef.planning.facts import some
from backreef.planning.loop import Loop
from backreef.planning.programme import Row
from tests.forecast_world import a_holding_forecast
from tests.unit.planning.loop_parts import a_problem, breaks, doors, holds, the_facts

BUDGETS = (56.0, 33.0, 47.0, 90.0)


def reached(loop: Loop) -> list[float]:
    """Weight of the wishes met for each budget, 0 where no plan holds."""
    return [one.proposal.reached if one.proposal else 0.0 for one in by_minutes(loop, BUDGETS)]


def test_each_budget_has_its_plan_and_the_least_comes_first() -> None:
    loop = Loop(problem=a_problem(), facts=the_facts(), doors=doors(holds))
    found = list(by_minutes(loop, BUDGETS))
    assert [one.minutes_per_month for one in found] == sorted(BUDGETS)
    for one in found:
        assert one.proposal is not None
        assert one.proposal.plan.keeper.minutes_per_month == one.minutes_per_month
    assert found[-1].proposal is not None
    assert found[-1].proposal.reached == 4.0


@pytest.mark.parametrize("salt", range(6))
def test_a_judge_of_many_moods_never_makes_more_minutes_worse(salt: int) -> None:
    def judge(plan: Plan) -> Forecast:
        who = ",".join(sorted(f"{one.species}{one.count}" for one in plan.animals))
        bad = crc32(f"{salt}{who}".encode()) % 3 > 0
        return breaks("water.salinity_psu.high.harm") if bad else a_holding_forecast()

    values = reached(Loop(problem=a_problem(), facts=the_facts(), doors=doors(judge)))
    assert values == sorted(values)


def test_what_fewer_minutes_reached_is_not_lost_when_the_search_finds_less() -> None:
    # a goby's day takes 72 minutes, those of the others 48: with 47 a month a quarter has 51 minutes left, so
    # the others come, in quarters of their own; then every search is forbidden all three
    loop = Loop(problem=a_problem(), facts=the_facts(), doors=doors(holds))
    (small,) = by_minutes(loop, (47.0,))
    assert small.proposal is not None
    assert small.proposal.reached == 2.0
    names = ("neon_goby", "trochus", "skunk_cleaner")
    cuts = tuple(Row(rule="not_again", about=each, terms={some(each): 1.0}, high=0.0) for each in names)
    large = loop.with_budget(90.0, [small.proposal])
    large.facts = replace(large.facts, cuts=cuts)
    large.run(("most_wishes",))
    (found,) = large.proposals
    assert (found.reached, found.rounds, found.holds) == (2.0, 0, True)
    assert found.plan.keeper.minutes_per_month == 90.0
    assert found.bound >= found.reached


def test_a_search_of_the_plans_own_budget_begins_with_the_plans_that_were_found() -> None:
    loop = Loop(problem=a_problem(), facts=the_facts(), doors=doors(holds))
    loop.run(("most_wishes",))
    (found,) = loop.proposals
    own = loop.facts.budget_min_per_month
    cut = Row(rule="not_again", about="0", terms={some("neon_goby"): 1.0}, high=0.0)
    wary = replace(loop, facts=replace(loop.facts, cuts=(cut,)))
    (given,) = by_minutes(wary, [own])
    assert given.proposal is not None
    assert given.proposal.reached == found.reached, "by itself it would leave the goby out"
    (less,) = by_minutes(wary, [own - 1.0])
    assert less.proposal is not None
    assert less.proposal.reached < found.reached, "that plan takes more minutes than these"
