from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.aquarium.dump import dump_plan
from backreef.aquarium.load import load_plan_text
from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.errors import InputFaults
from backreef.planning.arrivals import months_of
from backreef.planning.problem import problem_of
from tests.planning_world import a_short_plan, the_catalogue

BARE = """\
start_on = 2027-01-04

[tank]
display = "300 L"
"""


def refused(plan: Plan, *pins: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        problem_of(plan, the_catalogue(), pinned=pins)
    return [fault.key for fault in caught.value.faults]


def test_what_is_missing_is_said_at_once_before_anything_is_solved() -> None:
    plan = load_plan_text(BARE, "plan.toml", the_catalogue())
    assert refused(plan) == [
        "keeper.minutes_per_month",
        "keeper.presence",
        "keeper.wishes",
    ]


def test_a_pin_has_to_be_a_line_of_the_plan() -> None:
    assert refused(a_short_plan(), "nobody") == ["--pin"]


def test_those_that_are_to_come_are_chosen_anew_unless_they_are_pinned() -> None:
    plan = a_short_plan()
    late = AnimalEntry(
        id="late",
        species="firefish",
        count=1,
        length_cm=None,
        arrives_on=months_of(plan)[0].on,
        gate=None,
    )
    plan = replace(plan, animals=(*plan.animals, late))
    assert [one.id for one in problem_of(plan, the_catalogue()).kept.animals] == ["gramma"]
    pinned = problem_of(plan, the_catalogue(), pinned=["late"])
    assert [one.id for one in pinned.kept.animals] == ["gramma", "late"]


def test_the_plan_itself_may_say_what_is_to_be_kept() -> None:
    plan = a_short_plan()
    kept = replace(plan, goals=replace(plan.goals, keep=("pellets",)))
    problem = problem_of(kept, the_catalogue(), pinned=["gramma"])
    assert problem.pinned == {"pellets", "gramma"}
    assert load_plan_text(dump_plan(kept), "plan.toml", the_catalogue()).goals.keep == ("pellets",)
    with pytest.raises(InputFaults) as raised:
        problem_of(replace(plan, goals=replace(plan.goals, keep=("nobody",))), the_catalogue())
    assert [fault.key for fault in raised.value.faults] == ["goals.keep"]
