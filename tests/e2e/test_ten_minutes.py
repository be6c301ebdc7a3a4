"""A keeper of ten minutes a month, never there at weekends: the real search in a plan file of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from backreef.aquarium.load import load_plan_text
from backreef.aquarium.plan import Plan
from backreef.planning.plans import Proposals
from backreef.planning.reasons import animal_words
from backreef.usecases.check import load_plan
from backreef.usecases.propose import propose_plans
from tests.planning_world import the_catalogue

LOBBY = Path(__file__).parents[1] / "data" / "ten_minutes.toml"
WEEKEND = 5
CLEANER = (1, 3)


def the_lobby(horizon: str) -> Plan:
    text = LOBBY.read_text(encoding="utf-8")
    assert text.count('horizon = "3 years"') == 1
    return load_plan_text(text.replace("3 years", horizon), LOBBY.name, the_catalogue())


def is_small_and_honest(found: Proposals) -> None:
    """What is claimed of every plan for this keeper."""
    assert found.proposals
    best = found.proposals[0]
    assert 0 < sum(each.count for each in best.picked.coming) <= 6, "a few animals, not a fish soup"
    for plan in found.proposals:
        assert plan.forecast.holds
        assert plan.forecast.minutes.per_month_p50 <= plan.forecast.minutes.budget_per_month == 10.0
        days = [each.on for each in plan.picked.coming]
        assert len(set(days)) == len(days), "the cleaner has no time for two kinds on one day"
        assert {day.weekday() for day in days} <= {*CLEANER}, "the cleaner receives them, on her days"
        present = zip(plan.forecast.dates, plan.forecast.present, strict=False)
        assert all(day.weekday() < WEEKEND for day, there in present if there)


def test_ten_minutes_and_a_cleaner_get_a_small_plan() -> None:
    found = propose_plans(the_lobby("0.3 years"), members=8)
    is_small_and_honest(found)
    assert found.facts is not None
    words = [animal_words(each, found.facts) for each in found.proposals[0].picked.coming]
    assert all("its arrival takes none of the keeper's minutes" in each for each in words)


@pytest.mark.long(50)
def test_ten_minutes_are_kept_for_three_years_by_64_members() -> None:
    found = propose_plans(load_plan(LOBBY))
    is_small_and_honest(found)
    assert [one.forecast.members for one in found.proposals] == [64] * len(found.proposals)
