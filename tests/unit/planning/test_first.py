"""The first plan, before anything is measured: what it counts, and when it is taken up as it is."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Unknown, Value
from backreef.company.food import needed_g_per_d
from backreef.judgement.rules import rule
from backreef.planning import first as firsts
from backreef.planning.candidates import Candidate, Shortlist, newcomer
from backreef.planning.chores import minutes_of
from backreef.planning.facts import Facts, heads, some, steps, taken
from backreef.planning.feeding import main_food
from backreef.planning.first import _fixed, taken_up, unmeasured
from backreef.planning.gather import arrival_day
from backreef.planning.loop import Loop
from backreef.planning.plans import Proposal
from backreef.planning.problem import Problem, problem_of
from backreef.planning.responses import with_animals
from backreef.schedule.tables import workload
from backreef.simulation.prepared import lay_out
from backreef.units import DAYS_PER_MONTH
from tests.planning_parts import a_coming, a_picked, a_proposal, near
from tests.planning_world import a_choice, a_response, a_short_plan, a_wish, measured_base, the_catalogue
from tests.unit.planning.loop_parts import a_problem, doors, holds, real, the_facts

GOBY, SNAIL = "neon_goby", "trochus"


def listed(*found: Candidate) -> Shortlist:
    return Shortlist(candidates=found, quarrels=(), refused=(), asked_only=frozenset({SNAIL}))


def counted(problem: Problem | None = None, *found: Candidate) -> Facts:
    return unmeasured(problem or a_problem(), (a_wish("goby", GOBY),), listed(*found))


def test_minutes_are_those_of_a_slow_keeper_and_of_the_busiest_quarter(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # a minute a day for 200 days and two for the last 100, of one who takes 1.2 times as long
    per_day = np.where(np.arange(300) < 200, 1.0, 2.0)
    monkeypatch.setattr(firsts, "minutes_of", lambda *_, **__: per_day)
    facts = counted()
    assert facts.base.minutes_per_month == near(1.2 * 400.0 / 300.0 * DAYS_PER_MONTH)
    assert rule("quarter_d") < 100
    assert facts.base.quarter_min_per_month == near(1.2 * 2.0 * DAYS_PER_MONTH)
    assert facts.base.slowest_per_day == near(1.2 * per_day)
    short = np.ones(30)
    monkeypatch.setattr(firsts, "minutes_of", lambda *_, **__: short)
    assert counted().base.quarter_min_per_month == near(1.2 * DAYS_PER_MONTH)


def day_minutes(plan: Plan) -> float:
    """Minutes of the tasks that a day of arrival brings."""
    keeper = lay_out(plan, the_catalogue()).keeper
    return float(minutes_of(keeper.chores, keeper.days, group="newcomers").sum())


def test_an_animal_takes_the_minutes_of_its_day_and_what_grown_fish_of_its_size_need() -> None:
    problem = a_problem()
    goby = replace(real(GOBY), least_count=2)
    facts = counted(problem, goby, real(SNAIL))
    kept = problem.kept
    comes = with_animals(kept, [newcomer(GOBY, 2, arrival_day(kept))])
    day, nothing = (day_minutes(plan) for plan in (comes, kept))
    assert day > nothing == 0.0
    told = facts.responses[GOBY]
    assert told.arrival_min == near(1.5 * day)
    assert told.minutes_per_month == near(1.5 * day / len(facts.base.slowest_per_day) * DAYS_PER_MONTH / 2.0)
    assert facts.responses[SNAIL].arrival_min == told.arrival_min
    species = the_catalogue().species[GOBY]
    food = main_food(the_catalogue()).gross_energy_kj_per_g
    assert isinstance(species.adult_length_cm, Value)
    assert isinstance(food, Value)
    need = needed_g_per_d(species, species.adult_length_cm.value, energy_kj_per_g=food.value)
    assert need is not None
    assert told.eaten_g_per_d == need > 0.0


def test_what_eats_there_already_is_what_its_heads_need() -> None:
    plan = a_short_plan(minutes=90)
    (gramma,) = plan.animals
    one, three = (
        counted(problem_of(replace(plan, animals=(replace(gramma, count=number),)), the_catalogue())).base
        for number in (1, 3)
    )
    assert one.eaten_by_all_g_per_d > 0.0
    assert three.eaten_by_all_g_per_d == near(3.0 * one.eaten_by_all_g_per_d)


def test_an_animal_of_unknown_size_is_counted_with_no_need() -> None:
    catalogue = the_catalogue()
    unknown = replace(catalogue.species["royal_gramma"], adult_length_cm=Unknown(reason=""))
    catalogue = replace(catalogue, species={**catalogue.species, "royal_gramma": unknown})
    problem = replace(a_problem(), catalogue=catalogue)
    assert counted(problem).base.eaten_by_all_g_per_d == 0.0


def test_it_is_fed_as_planned_and_has_what_the_keeper_gives() -> None:
    problem = replace(a_problem(), prices={GOBY: 5.0})
    facts = counted(problem, real(GOBY), real(SNAIL))
    assert (facts.least_steps, facts.most_steps, facts.fed_by_need) == (20, 20, True)
    assert [one.id for one in facts.feedings] == ["as_planned"]
    assert (facts.choices, facts.limits, facts.eaten_frac) == ((), (), 1.0)
    assert (facts.budget_min_per_month, facts.prices, facts.asked_only) == (
        90.0,
        {GOBY: 5.0},
        frozenset({SNAIL}),
    )
    assert facts.further_frac == workload().numbers["further_newcomers_frac"].value
    assert facts.responses[GOBY].water == {}
    assert counted(problem).responses == {}


# --- taken up ---


def a_first(*species: str, count: int = 1) -> Proposal:
    coming = tuple(a_coming(one, count, a_wish("old", one), candidate=real(one)) for one in species)
    return a_proposal(a_picked(*coming), text="first")


def measured(**changes: Any) -> Loop:
    return Loop(problem=a_problem(), facts=the_facts(**changes), doors=doors(holds))


def test_a_first_plan_as_good_as_any_is_taken_up_with_the_numbers_that_were_measured() -> None:
    loop = measured()
    first = a_first(GOBY, SNAIL, "skunk_cleaner")
    found = taken_up(loop, first)
    assert found is not None
    assert (found.text, found.bound, found.plan) == ("first", 4.0, first.plan)
    assert [one.on for one in found.picked.coming] == [one.on for one in first.picked.coming]
    assert [[wish.id for wish in one.wishes] for one in found.picked.coming] == [
        ["goby"],
        ["grazer"],
        ["shrimp"],
    ]
    assert found.picked.ration_ratio == 1.0
    # 30 with the ample ration, one goby and half as much of a shrimp
    assert list(found.picked.levels.values()) == [near(31.5)]


def test_a_first_plan_that_the_measured_programme_betters_or_forbids_is_left() -> None:
    assert taken_up(measured(), a_first(GOBY, SNAIL)) is None, "a shrimp more meets more"
    three = a_first(GOBY, SNAIL, "skunk_cleaner")
    assert taken_up(measured(base=measured_base(nitrate=49.0)), three) is None, "too much nitrate"
    assert taken_up(measured(candidates=the_facts().candidates[:2]), three) is None, "nobody knows a shrimp"
    with pytest.raises(StopIteration):
        next(one for one in [taken_up(measured(base=measured_base(nitrate=99.0)), three)] if one)


def test_it_is_held_to_its_animals_its_ration_and_no_choice() -> None:
    loop = measured(choices=(a_choice("lamp"),), responses={**the_facts().responses, "lamp": a_response()})
    rows = {row.about: (row.low, row.high) for row in _fixed(loop, a_first(GOBY, count=2))}
    assert rows == {
        heads(GOBY): (2.0, 2.0),
        some(GOBY): (1.0, 1.0),
        heads(SNAIL): (0.0, 0.0),
        some(SNAIL): (0.0, 0.0),
        heads("skunk_cleaner"): (0.0, 0.0),
        some("skunk_cleaner"): (0.0, 0.0),
        taken("lamp"): (0.0, 0.0),
        taken("as_planned"): (1.0, 1.0),
        steps("as_planned"): (20.0, 20.0),
    }
