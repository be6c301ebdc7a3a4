"""Parts of a proposal that were not solved for: what came out of stage 1 and 2, and a plan that holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from backreef.catalogue.entries import Value
from backreef.planning.candidates import NOBODY, Candidate
from backreef.planning.plans import Picked, Proposal, Proposals
from backreef.planning.programme import Solved
from backreef.planning.wishes import ReadWish
from backreef.planning.writing import Coming
from tests.forecast_world import a_holding_forecast
from tests.planning_world import NITRATE, a_candidate, a_choice, a_short_plan

ON = date(2027, 3, 2)


def near(value: Any) -> Any:
    """What is as good as equal, wherever it stands in what is compared."""
    return pytest.approx(value)


def a_value(number: float) -> Value:
    return Value(value=number, unit="", source="practice", status="practice")


def a_coming(
    species_id: str = "neon_goby",
    number: int = 1,
    *wishes: ReadWish,
    on: date = ON,
    candidate: Candidate | None = None,
) -> Coming:
    return Coming(candidate=candidate or a_candidate(species_id), count=number, on=on, wishes=wishes)


def a_solution(chosen: Mapping[str, float], **changes: Any) -> Solved:
    return replace(Solved(status="optimal", value=1.0, bound=1.0, chosen=chosen), **changes)


def a_picked(*coming: Coming, **changes: Any) -> Picked:
    """The ration as it is, 45 minutes a month, 40 mg/L of nitrate, no choice and no wish."""
    picked = Picked(
        solved=a_solution({}),
        coming=coming,
        feeding=a_choice("as_planned", "feeding"),
        choices=(),
        ration_ratio=1.0,
        wishes=(),
        minutes_per_month=45.0,
        margin_share=0.5,
        levels={NITRATE.name: 40.0},
    )
    return replace(picked, **changes)


def a_proposal(picked: Picked, **changes: Any) -> Proposal:
    proposal = Proposal(
        aim="most_wishes",
        picked=picked,
        plan=a_short_plan(),
        text="",
        forecast=a_holding_forecast(),
        rounds=1,
        bound=1.0,
    )
    return replace(proposal, **changes)


def some_proposals(*proposals: Proposal, wishes: tuple[ReadWish, ...], **changes: Any) -> Proposals:
    """What a search gave back that tried and refused nothing."""
    whole = Proposals(
        plan=a_short_plan(),
        seed=1,
        members=8,
        status="found",
        proposals=proposals,
        wishes=wishes,
        shortlist=NOBODY,
        facts=None,
        tries=(),
        conflicts=(),
        frontier=(),
        why_not=(),
        given=(),
        as_it_is=None,
    )
    return replace(whole, **changes)
