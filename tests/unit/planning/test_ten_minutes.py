"""A keeper of ten minutes a month, never there at weekends: a small plan, or an honest no with a way out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.aquarium.plan import Plan
from backreef.judgement.verdict import Forecast
from backreef.planning import propose as proposing
from backreef.planning.facts import Facts
from backreef.planning.plans import Proposals
from backreef.planning.problem import Problem, problem_of
from backreef.planning.propose import propose
from tests.forecast_world import a_holding_forecast
from tests.planning_world import a_short_plan, measured_base, the_catalogue
from tests.unit.planning.loop_parts import Judged, breaks, doors, the_facts

BUSY_MIN = 43.0
"""The busiest quarter of the slowest member, of a tank that takes 30 minutes on average."""


def keeper() -> Problem:
    return problem_of(a_short_plan(minutes=10, days="Mon-Fri"), the_catalogue())


def facts(*, chores_min: float) -> Facts:
    """Each kind that comes takes ten minutes on its day, once."""
    quick = {
        name: replace(one, minutes_per_month=0.4, arrival_min=9.6)
        for name, one in the_facts().responses.items()
    }
    return the_facts(
        base=measured_base(nitrate=20.0, minutes=chores_min), responses=quick, budget_min_per_month=10.0
    )


def asked(judge: Judged, made: Facts, monkeypatch: pytest.MonkeyPatch) -> Proposals:
    monkeypatch.setattr(proposing, "facts_of", lambda *_: made)
    return propose(keeper(), doors=doors(judge), members=8)


def busy(plan: Plan) -> Forecast:
    """Holds with the minutes of the slowest member; tells those of the middle one, as a finding does."""
    if plan.keeper.minutes_per_month >= BUSY_MIN:
        return a_holding_forecast()
    broken = breaks("hands.minutes.harm")
    return replace(broken, findings=tuple(replace(one, value=40.0) for one in broken.findings))


def test_a_tank_that_asks_for_little_gets_a_small_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    found = asked(lambda _: a_holding_forecast(), facts(chores_min=6.0), monkeypatch)
    first = found.proposals[0]
    assert 0 < len(first.picked.coming) < len(the_facts().candidates)
    assert first.picked.minutes_per_month <= 10.0
    assert all(each.on.weekday() < 5 for each in first.picked.coming)
    assert {one.wish for one in found.conflicts}, "what it had to do without is told"


def test_a_tank_that_asks_for_more_gets_a_no_with_minutes_that_suffice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = asked(busy, facts(chores_min=30.0), monkeypatch)
    assert (found.status, found.proposals) == ("none", ())
    assert found.as_it_is is not None
    assert not found.as_it_is.holds
    assert len(found.conflicts) == 3
    for conflict in found.conflicts:
        assert conflict.collides_with == ("the 10 minutes a month",)
        assert conflict.proved
    told = [way.told for one in found.conflicts for way in one.ways_out]
    assert told
    for words in told:
        more = float(words.split()[0])
        assert 10.0 + more >= BUSY_MIN
        assert "(simulated: holds, in" in words
