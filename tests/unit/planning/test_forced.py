"""Plans that are forced, round by round, with a stand-in for the simulation that a test can count."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from backreef.aquarium.plan import Plan
from backreef.judgement.verdict import Forecast
from backreef.planning import forcing
from backreef.planning.candidates import Quarrel
from backreef.planning.facts import Facts, some
from backreef.planning.forcing import (
    _costs,
    _nearest,
    forced_plan,
    over_minutes,
    simulated,
    why_not,
    with_simulated_ways,
)
from backreef.planning.loop import Loop
from backreef.planning.plans import Conflict
from backreef.planning.programme import Row
from backreef.planning.ways import WayOut
from tests.forecast_world import a_breaking_forecast, a_holding_forecast
from tests.planning_parts import a_coming, a_picked, a_proposal
from tests.planning_world import a_short_plan, a_wish, measured_base
from tests.unit.planning.loop_parts import Judged, a_problem, breaks, doors, holds, the_facts
from tests.unit.planning.test_forcing import asked_about

MUST = Row(rule="forced", about="trochus", terms={some("trochus"): 1.0}, low=1.0)
SALT = "water.salinity_psu.high.harm"


def a_loop(judge: Judged = holds, facts: Facts | None = None, **changes: Any) -> Loop:
    return replace(Loop(problem=a_problem(), facts=facts or the_facts(), doors=doors(judge)), **changes)


def species(plan: Plan) -> set[str]:
    return {one.species for one in plan.animals} - {"royal_gramma"}


class Judge:
    """Says one thing after the other, and then that all is well; remembers what it was asked."""

    def __init__(self, *said: Forecast) -> None:
        self.said, self.asked = list(said), list[Plan]()

    def __call__(self, plan: Plan) -> Forecast:
        self.asked.append(plan)
        return self.said.pop(0) if self.said else a_holding_forecast()


def test_what_is_forced_comes_and_nobody_else() -> None:
    judge = Judge()
    loop = a_loop(judge)
    found = forced_plan(loop, (MUST,))
    assert found is not None
    assert [species(plan) for plan in judge.asked] == [{"trochus"}]
    assert [one.candidate.id for one in found.picked.coming] == ["trochus"]
    again = forced_plan(loop, (MUST,))
    assert again is not None
    assert len(judge.asked) == 1, "no plan is judged twice"


def test_a_plan_that_breaks_teaches_and_is_tried_four_times() -> None:
    judge = Judge(*[breaks(SALT)] * 9)
    loop = a_loop(judge)
    found = forced_plan(loop, (MUST,))
    assert found is not None
    assert not found.forecast.holds
    assert len(judge.asked) == 4
    assert all("trochus" in species(plan) for plan in judge.asked)
    assert loop.facts.cuts == (), "what was learned stays there"


def test_minutes_that_do_not_suffice_end_it_at_once() -> None:
    judge = Judge(breaks("hands.minutes.harm"))
    found = forced_plan(a_loop(judge), (MUST,))
    assert found is not None
    assert len(judge.asked) == 1


def test_where_nothing_can_be_there_is_no_plan() -> None:
    never = replace(MUST, low=2.0)
    assert forced_plan(a_loop(), (never,)) is None
    late = the_facts(base=measured_base(minutes=89.9), budget_min_per_month=1000.0)
    full = replace(late, budget_min_per_month=95.0)
    assert forced_plan(a_loop(facts=full), (MUST,)) is None, "no month has the minutes"


def test_minutes_are_told_where_they_break_the_plan() -> None:
    broken = breaks("hands.minutes.harm", "hands.minutes.harm")
    one, other = broken.findings
    told = replace(broken, findings=(replace(one, value=61.0), replace(other, value=64.0)))
    assert over_minutes(told) == 64.0
    assert over_minutes(broken) == 0.0
    assert over_minutes(replace(broken, findings=(replace(one, breaks=False),))) is None
    assert over_minutes(breaks(SALT)) is None
    assert over_minutes(a_holding_forecast()) is None


def test_a_way_that_is_a_plan_is_judged_as_it_is() -> None:
    judge = Judge(a_breaking_forecast())
    plan = a_short_plan()
    way = simulated(WayOut(words="a lid", plan=plan), a_loop(judge))
    assert judge.asked == [plan]
    assert (way.holds, way.share_holding) == (False, a_breaking_forecast().share_holding)


def test_a_way_of_rows_is_judged_with_them() -> None:
    judge = Judge()
    way = simulated(WayOut(words="x", rows=(MUST,)), a_loop(judge))
    assert [species(plan) for plan in judge.asked] == [{"trochus"}]
    assert way.holds
    never = WayOut(words="x", rows=(replace(MUST, low=2.0),))
    assert simulated(never, a_loop()) is never
    more = replace(never, budget_min_per_month=99.0)
    assert simulated(more, a_loop()) is more


def minutes_judge(enough: float, told: float) -> tuple[list[float], Judged]:
    asked: list[float] = []

    def judge(plan: Plan) -> Forecast:
        asked.append(plan.keeper.minutes_per_month)
        if plan.keeper.minutes_per_month >= enough:
            return a_holding_forecast()
        broken = breaks("hands.minutes.harm")
        return replace(broken, findings=tuple(replace(one, value=told) for one in broken.findings))

    return asked, judge


def test_budgets_grow_by_what_is_missing_and_by_a_twentieth_more_each_time() -> None:
    # the finding always tells 90.5: first that, up to a whole minute; then 5, 10, 15 % more than was tried
    asked, judge = minutes_judge(1e9, 90.5)
    way = simulated(WayOut(words="", rows=(MUST,), budget_min_per_month=90.0), a_loop(judge))
    assert asked == [90.0, 91.0, 96.0, 106.0, 122.0, 147.0]
    assert (way.holds, way.budget_min_per_month, way.words) == (False, 147.0, "57 more minutes a month")


def test_a_way_of_minutes_that_breaks_for_another_reason_is_told_so() -> None:
    judge = Judge(*[breaks(SALT)] * 9)
    way = simulated(WayOut(words="", rows=(MUST,), budget_min_per_month=95.0), a_loop(judge))
    assert (way.words, way.holds, len(judge.asked)) == ("5 more minutes a month", False, 4)


def test_minutes_are_added_one_by_one_until_all_who_come_find_a_month() -> None:
    # a snail's day takes 48 minutes, of three months in which 90 are taken by chores
    facts = the_facts(base=measured_base(minutes=30.4), budget_min_per_month=20.0)
    asked, judge = minutes_judge(0.0, 0.0)
    way = simulated(WayOut(words="", rows=(MUST,), budget_min_per_month=40.0), a_loop(judge, facts))
    # 90 + 48 are 46 a month
    assert asked == [46.0]
    assert (way.budget_min_per_month, way.words) == (46.0, "26 more minutes a month")
    assert forcing._with_days(30.0, (replace(MUST, low=2.0),), a_loop(facts=facts)) == 30.0  # noqa: SLF001


def test_each_way_is_simulated_once_and_what_is_not_simulable_never() -> None:
    judge = Judge()
    same = WayOut(words="a lid", plan=a_short_plan())
    other = WayOut(words="wait", simulable=False)
    conflicts = [Conflict(wish=one, collides_with=(), ways_out=(same, other)) for one in ("a", "b")]
    found = with_simulated_ways(conflicts, a_loop(judge))
    assert len(judge.asked) == 1
    assert [[way.holds for way in one.ways_out] for one in found] == [[True, False]] * 2


# --- why not ---


def test_an_animal_is_said_to_be_in_each_plan_that_has_it() -> None:
    loop = a_loop()
    loop.proposals += [
        a_proposal(a_picked(a_coming("trochus"))),
        a_proposal(a_picked(a_coming("neon_goby")), aim="fewest_minutes"),
        a_proposal(a_picked(a_coming("trochus"), a_coming("neon_goby")), aim="widest_margins"),
    ]
    found = why_not("trochus", loop)
    assert found.what == "it is in: most of the wishes, widest margins"
    assert (found.name, found.costs, found.share_holding) == ("Banded trochus snail", (), None)


def test_a_plan_with_it_keeps_every_wish_that_can_be_kept() -> None:
    judge = Judge()
    found = why_not("firefish", a_loop(judge, asked_about()))
    assert species(judge.asked[0]) == {"neon_goby", "trochus", "skunk_cleaner", "firefish"}
    assert found.share_holding == a_holding_forecast().share_holding


def test_wishes_that_it_costs_are_named_and_counted() -> None:
    quarrels = tuple(
        Quarrel(first="firefish", second=one, what="they fight", rule="fights")
        for one in ("trochus", "skunk_cleaner")
    )
    found = why_not("firefish", a_loop(facts=asked_about(quarrels=quarrels)))
    assert found.what == "it costs other wishes: 'grazer', 'shrimp'"
    assert found.costs[-1] == "2 wishes less"
    assert found.share_holding is not None, "a plan with it and the wishes that are left was simulated"
    # a firefish of 4 minutes in place of two of 2, each less 0.7 of its day of 96 and 48 minutes, and
    # instead of 48 the first day costs 0.7 of the goby's 72
    months = 730.0 / 30.4375
    minutes = 4.0 - 0.7 * 96.0 / months - 2.0 * (2.0 - 0.7 * 48.0 / months)
    assert found.costs[0] == f"{minutes + 0.7 * (48.0 - 48.0) / months:+.1f} minutes a month"
    assert found.costs[1] == "+0.5 mg/L NO3 at most"


def test_the_nearest_reason_is_a_wish_then_the_calendar_then_the_simulation() -> None:
    forced = forcing.Forced(picked=a_picked(), forecast=a_breaking_forecast())
    assert _nearest(["a"], forced) == "it costs other wishes: 'a'"
    assert _nearest([], None) == "no month is left in which it could come"
    assert _nearest([], forced).startswith("with it the simulation breaks: ")
    assert _nearest([], replace(forced, forecast=a_holding_forecast())).startswith("not needed")


def test_costs_count_a_wish_or_wishes() -> None:
    loop = a_loop()
    solved = loop.solved("most_wishes")
    assert solved is not None
    assert _costs(solved, solved, [], loop) == ["+0.0 minutes a month", "+0.0 mg/L NO3 at most"]
    assert _costs(solved, solved, ["a"], loop)[2:] == ["1 wish less"]
    assert _costs(solved, solved, ["a", "b"], loop)[2:] == ["2 wishes less"]


@pytest.mark.parametrize("words", [True, False])
def test_who_collides_with_what_words_mean_is_told_so(words: bool) -> None:
    # more of it would have to come than live here
    facts = asked_about()
    firefish = replace(facts.candidates[-1], least_count=4, most_count=3)
    facts = replace(facts, candidates=(*facts.candidates[:-1], firefish))
    if words:
        facts = replace(facts, wishes=(a_wish("words"),))
    found = why_not("firefish", a_loop(facts=facts))
    assert found.what == "it does not go with: what the rules ask for"
    assert found.ways_in == ()
