"""What the planner gives back, on made-up parts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from backreef.planning.plans import AIMS, Proposal, Proposals, aims_of, kept_frac
from tests.planning_parts import a_coming, a_picked, a_proposal, near, some_proposals
from tests.planning_world import a_short_plan, a_wish


def found(*proposals: Proposal, **changes: Any) -> Proposals:
    wishes = (a_wish("one", "neon_goby", weight=3.0), a_wish("words", weight=7.0))
    return some_proposals(*proposals, **{"wishes": wishes, **changes})


def test_wishes_are_sought_first_and_then_what_the_plan_calls_best() -> None:
    assert aims_of("most_wishes") == AIMS
    assert aims_of("fewest_hands") == AIMS
    assert aims_of("largest_margin") == ("most_wishes", "widest_margins", "fewest_minutes")
    assert (kept_frac("most_wishes"), kept_frac("fewest_minutes"), kept_frac("widest_margins")) == (
        0.0,
        0.5,
        0.66,
    )


def test_what_is_reached_is_measured_by_the_aim() -> None:
    picked = a_picked(wishes=(a_wish("one", weight=3.0),), minutes_per_month=45.0, margin_share=0.4)
    reached = {aim: a_proposal(picked, aim=aim).reached for aim in AIMS}
    assert reached == {"most_wishes": 3.0, "fewest_minutes": 45.0, "widest_margins": 0.4}


@pytest.mark.parametrize(
    ("bound", "gap"), [(3.0, 0.0), (4.0, 0.25), (2.0, 0.5), (-3.0, 2.0), (0.0, near(3e9))]
)
def test_a_gap_is_the_way_to_the_bound_over_the_bound(bound: float, gap: float) -> None:
    assert a_proposal(a_picked(wishes=(a_wish("one", weight=3.0),)), bound=bound).gap == gap


def test_wishes_that_cannot_be_measured_are_no_part_of_the_share() -> None:
    half = a_proposal(a_picked(wishes=(a_wish("one", weight=1.5),)))
    assert found(half).counted_weight == 3.0
    assert found(half).wishes_share(half) == 0.5
    assert found(half, wishes=()).wishes_share(half) == 0.0


def test_the_plan_that_is_best_at_what_the_goals_name_is_the_one_asked_for() -> None:
    wishes, minutes = a_proposal(a_picked()), a_proposal(a_picked(), aim="fewest_minutes")
    plan = a_short_plan()
    asked = replace(plan, goals=replace(plan.goals, optimise="fewest_hands"))
    assert found(wishes, minutes, plan=asked).asked_for is minutes
    assert found(wishes, plan=asked).asked_for is None


def test_plans_become_rows_of_a_table() -> None:
    one = a_proposal(
        a_picked(a_coming("neon_goby", 2), a_coming("trochus"), wishes=(a_wish("x", weight=1.5),))
    )
    frame = found(one).to_frame()
    (row,) = frame.to_dict("records")
    assert (row["newcomers"], row["wishes_share"], row["reached"]) == ("2 neon_goby, 1 trochus", 0.5, 1.5)
    assert (row["gap"], row["rounds"]) == (0.5, 1)
