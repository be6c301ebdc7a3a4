"""A problem, its facts and its judges for tests of the search, made up."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import pytest

from backreef.aquarium.dump import dump_plan
from backreef.aquarium.load import load_plan_text
from backreef.aquarium.plan import Plan
from backreef.judgement.verdict import Finding, Forecast
from backreef.planning import propose as proposing
from backreef.planning.candidates import Candidate
from backreef.planning.facts import Facts
from backreef.planning.loop import Loop
from backreef.planning.plans import AIMS, Doors, Proposals
from backreef.planning.problem import Problem, problem_of
from backreef.planning.propose import propose
from tests.forecast_world import a_breaking_forecast, a_holding_forecast
from tests.planning_world import (
    a_response,
    a_short_plan,
    a_wish,
    measured_base,
    some_facts,
    the_catalogue,
)

Judged = Callable[[Plan], Forecast]


def real(species_id: str, *, most: int = 3) -> Candidate:
    species = the_catalogue().species[species_id]
    return Candidate(species=species, least_count=1, most_count=most, cautions=())


def the_facts(**changes: object) -> Facts:
    """A goby, a snail and a shrimp in the tank of the short plan, with made-up responses."""
    facts = some_facts(
        candidates=(real("neon_goby"), real("trochus"), real("skunk_cleaner")),
        wishes=(
            a_wish("goby", "neon_goby", weight=2.0),
            a_wish("grazer", "trochus"),
            a_wish("shrimp", "skunk_cleaner"),
        ),
        responses={
            "neon_goby": a_response(nitrate=1.0, minutes=3.0, eaten=0.02),
            "trochus": a_response(minutes=2.0),
            "skunk_cleaner": a_response(nitrate=0.5, minutes=2.0, eaten=0.01),
        },
        base=measured_base(nitrate=30.0, minutes=30.0),
        budget_min_per_month=90.0,
    )
    return replace(facts, **changes)  # type: ignore[arg-type]


def a_problem(*pins: str) -> Problem:
    return problem_of(a_short_plan(minutes=90), the_catalogue(), pinned=pins)


def doors(judge: Judged) -> Doors:
    return Doors(
        read=lambda text: load_plan_text(text, "plan.toml", the_catalogue()), write=dump_plan, judge=judge
    )


def holds(_: Plan) -> Forecast:
    return a_holding_forecast()


def breaks(*ids: str) -> Forecast:
    template = a_breaking_forecast().findings[0]
    findings: Sequence[Finding] = [replace(template, id=each, breaks=True, value=None) for each in ids]
    return replace(a_breaking_forecast(), findings=tuple(findings))


def ran(judge: Judged, facts: Facts | None = None) -> Loop:
    loop = Loop(problem=a_problem(), facts=facts or the_facts(), doors=doors(judge))
    loop.run(AIMS)
    return loop


@cache
def once() -> Loop:
    """A search in which every plan holds, for tests that only look at it."""
    return ran(holds)


def whole(judge: Judged, monkeypatch: pytest.MonkeyPatch) -> Proposals:
    monkeypatch.setattr(proposing, "facts_of", lambda *_: the_facts())
    return propose(a_problem(), doors=doors(judge), members=8)
