"""What is forced: an animal somebody asked about, and ways out, with a stand-in for the simulation."""

from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.aquarium.plan import Plan
from backreef.errors import InputFaults
from backreef.judgement.verdict import Forecast
from backreef.planning.candidates import Quarrel
from backreef.planning.collisions import conflicts_of
from backreef.planning.facts import Facts
from backreef.planning.forcing import simulated, why_not, with_simulated_ways
from backreef.planning.gather import listed
from backreef.planning.loop import Loop
from backreef.planning.plans import AIMS, Conflict
from backreef.planning.problem import problem_of
from backreef.planning.ways import WayOut
from backreef.planning.wishes import read_wishes
from tests.forecast_world import a_breaking_forecast, a_holding_forecast
from tests.planning_world import a_response, a_short_plan, a_wish, measured_base, the_catalogue
from tests.unit.planning.loop_parts import Judged, a_problem, breaks, doors, holds, real, the_facts


def ran(judge: Judged, facts: Facts) -> Loop:
    loop = Loop(problem=a_problem(), facts=facts, doors=doors(judge))
    loop.run(AIMS)
    return loop


def asked_about(**changes: object) -> Facts:
    """The facts with a gramma that no wish asks for, only somebody."""
    facts = the_facts()
    return replace(
        facts,
        candidates=(*facts.candidates, real("firefish")),
        responses={**facts.responses, "firefish": a_response(nitrate=1.0, minutes=4.0, eaten=0.02)},
        asked_only=frozenset({"firefish"}),
        **changes,  # type: ignore[arg-type]
    )


def test_an_animal_that_is_only_asked_about_comes_in_no_plan() -> None:
    loop = ran(holds, asked_about())
    assert all(each.candidate.id != "firefish" for one in loop.proposals for each in one.picked.coming)


def test_what_is_in_a_plan_is_said_to_be_in_it() -> None:
    assert why_not("neon_goby", ran(holds, the_facts())).what.startswith("it is in: most of the wishes")


def test_an_animal_that_would_fit_is_not_needed_and_its_costs_are_told() -> None:
    found = why_not("firefish", ran(holds, asked_about()))
    assert found.what.startswith("not needed")
    assert found.share_holding == a_holding_forecast().share_holding
    minutes, nitrate = found.costs
    # its own day of arrival is shared with the others: 4 x 24 minutes over 24 months, a third of the first
    assert minutes.endswith("minutes a month")
    assert float(minutes.split()[0]) > 0.0
    assert nitrate == "+1.0 mg/L NO3 at most"


def test_an_animal_that_costs_a_wish_is_left_out_for_that_wish() -> None:
    quarrel = Quarrel(first="firefish", second="neon_goby", what="they fight", rule="fights")
    found = why_not("firefish", ran(holds, asked_about(quarrels=(quarrel,))))
    assert found.what == "it costs other wishes: 'goby'"
    assert found.costs[-1] == "1 wish less"


def test_an_animal_that_does_not_fit_collides_with_the_limit_that_keeps_it_out() -> None:
    # 30 minutes of chores and 80 for the care of this animal, with nobody else, are 20 more than the 90 given
    facts = asked_about(base=measured_base(minutes=30.0))
    care = replace(a_response(), minutes_per_month=80.0)
    facts = replace(facts, responses={**facts.responses, "firefish": care})
    found = why_not("firefish", ran(holds, facts))
    assert found.what == "it does not go with: the 90 minutes a month"
    assert [way.words for way in found.ways_in] == ["20 more minutes a month"]


def test_an_animal_that_breaks_the_simulation_is_left_out_for_that() -> None:
    def judge(plan: Plan) -> Forecast:
        there = any(one.species == "firefish" for one in plan.animals)
        return breaks("mouths.proposed_firefish.harm") if there else a_holding_forecast()

    found = why_not("firefish", ran(judge, asked_about()))
    assert found.what.startswith("with it the simulation breaks")
    assert found.share_holding == a_breaking_forecast().share_holding


def test_an_animal_that_the_rules_refuse_is_told_what_would_let_it_in() -> None:
    # a firefish jumps, and this tank stands open
    plan = a_short_plan()
    plan = replace(plan, tank=replace(plan.tank, lid="open"))
    found = listed(plan, the_catalogue(), read_wishes(plan, the_catalogue()), ("firefish",))
    loop = Loop(
        problem=problem_of(plan, the_catalogue()), facts=the_facts(), doors=doors(holds), shortlist=found
    )
    told = why_not("firefish", loop)
    assert "a lid of glass" in [way.words for way in told.ways_in]
    assert told.costs == ()


def test_a_way_out_is_simulated_and_more_minutes_are_asked_for_until_they_suffice() -> None:
    asked: list[float] = []

    def judge(plan: Plan) -> Forecast:
        asked.append(plan.keeper.minutes_per_month)
        if plan.keeper.minutes_per_month >= 110.0:
            return a_holding_forecast()
        broken = breaks("hands.minutes.harm")
        return replace(broken, findings=tuple(replace(one, value=109.5) for one in broken.findings))

    loop = Loop(problem=a_problem(), facts=the_facts(), doors=doors(judge))
    way = simulated(WayOut(words="5 more minutes a month", budget_min_per_month=95.0), loop)
    assert asked == [95.0, 110.0]
    assert (way.words, way.holds) == ("20 more minutes a month", True)
    share = f"{a_holding_forecast().share_holding:.0%}"
    assert way.told == f"20 more minutes a month (simulated: holds, in {share} of the members tried)"


def test_a_wish_given_up_for_another_is_simulated_with_the_other_met() -> None:
    seen: list[set[str]] = []

    def judge(plan: Plan) -> Forecast:
        seen.append({one.species for one in plan.animals})
        return a_holding_forecast()

    quarrel = Quarrel(first="neon_goby", second="trochus", what="they fight", rule="fights")
    loop = Loop(problem=a_problem(), facts=the_facts(quarrels=(quarrel,)), doors=doors(judge))
    conflicts = conflicts_of(loop.facts, loop.shortlist, frozenset({"goby", "shrimp"}), 1)
    (conflict,) = with_simulated_ways(conflicts, loop)
    ways = {way.words: way for way in conflict.ways_out}
    assert ways["give up 'goby'"].holds
    assert all("neon_goby" not in one and {"trochus", "skunk_cleaner"} <= one for one in seen)
    assert ways["only one of Neon cleaner goby and Banded trochus snail"].share_holding is None


def test_no_more_ways_are_simulated_than_a_search_affords() -> None:
    plans: list[Plan] = []

    def judge(plan: Plan) -> Forecast:
        plans.append(plan)
        return a_holding_forecast()

    ways = tuple(WayOut(words=f"way {number}", plan=a_short_plan()) for number in range(9))
    conflict = Conflict(wish="all", collides_with=(), ways_out=ways)
    loop = Loop(problem=a_problem(), facts=the_facts(), doors=doors(judge))
    (told,) = with_simulated_ways([conflict], loop)
    assert len(plans) == sum(way.share_holding is not None for way in told.ways_out) == 4


def test_a_tank_that_stays_too_young_is_told_how_long_to_wait() -> None:
    plan, catalogue = a_short_plan(), the_catalogue()
    assert plan.tank.start.age_months == 12.0
    goby = catalogue.species["neon_goby"]
    old = replace(goby, min_tank_age_months=replace(goby.min_tank_age_months, value=20.0))  # type: ignore[arg-type]
    older = replace(catalogue, species={**catalogue.species, goby.id: old})
    found = listed(plan, older, (a_wish("a goby", goby.id),))
    (refused,) = (one for one in found.refused if one.species_id == goby.id)
    # the last newcomers may come on 1 July, 5.8 months on: of 20 months 2.2 are missing then
    assert refused.rule == "tank_age"
    assert [way.words for way in refused.ways_in] == ["wait 3 months longer before you plan it"]
    assert all(one.id != goby.id for one in found.candidates)


def test_an_unknown_animal_is_a_fault_with_a_near_name() -> None:
    with pytest.raises(InputFaults) as raised:
        problem_of(a_short_plan(), the_catalogue(), asked=["firefsh"])
    (fault,) = raised.value.faults
    assert (fault.key, "firefish" in fault.message) == ("--why-not", True)
    assert problem_of(a_short_plan(), the_catalogue(), asked=["Firefish"]).asked == ("firefish",)
