from __future__ import annotations

from functools import cache

import pytest

from backreef.judgement.marginal import marginal_minutes
from backreef.judgement.verdict_hands import MarginalMinutes
from tests.unit.aquarium.plans import catalogue
from tests.unit.judgement.courses import PAIR, course, small_plan

DAILY = '[keeper]\npresence = ["Mon-Sun 7-22"]\n'
FEEDER = """
[[devices]]
id = "feeder"
kind = "feeder_auger"
hopper = "40 g"
[[devices]]
id = "sock"
kind = "sock"
[[meals]]
id = "meal"
food = "pellet_small"
amount = "0.1 g"
by = "feeder"
times = ["08:00", "12:00", "18:00"]
"""


@cache
def found() -> dict[str, MarginalMinutes]:
    lines = marginal_minutes(small_plan(DAILY + PAIR + FEEDER), catalogue(), seed=1)
    return {line.id: line for line in lines}


def test_each_animal_meal_and_device_has_its_line() -> None:
    assert {line.id: line.kind for line in found().values()} == {
        "pair": "animals",
        "meal": "meal",
        "feeder": "device",
        "sock": "device",
    }


def test_a_sock_costs_what_its_changes_take() -> None:
    months = small_plan("").horizon_days / (365.25 / 12)
    work = course(DAILY + PAIR + FEEDER).work.by_task["sock_change"]
    cost = found()["sock"]
    assert cost.minutes_per_month_p50 == pytest.approx(sorted(work / months)[4], rel=0.15)
    assert cost.minutes_per_month_p05 > 0


def test_a_feeder_that_gives_three_meals_a_day_saves_more_than_its_upkeep() -> None:
    # common practice, no source: dry food from a feeder covers weekends, holidays and vacations
    assert found()["feeder"].minutes_per_month_p95 < -20


def test_the_dearest_comes_first() -> None:
    costs = [line.minutes_per_month_p50 for line in found().values()]
    assert costs == sorted(costs, reverse=True)
