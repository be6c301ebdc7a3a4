"""Meals that are 'enough for' somebody: the least food with which no mouth is short, as simulated."""

from __future__ import annotations

from dataclasses import replace

import backreef
from backreef.aquarium.plan import Plan
from backreef.judgement.least_food import with_least_food
from backreef.judgement.verdict import Forecast
from tests.unit.aquarium.plans import catalogue, plan_of

PLAN = """\
start_on = 2027-01-04
[tank]
display = "{litres} L"
[tank.start]
kind = "established"
age = "12 months"
[keeper]
presence = ["Mon-Sun 7:00-22:00"]
[goals]
horizon = "0.12 years"
[[meals]]
id = "pellets"
food = "pellet_small"
enough_for = "{what}"
times = ["12:00", "17:00"]
"""
PAIR = '[[animals]]\nspecies = "ocellaris_clown"\ncount = 2\nlength = "4 cm"\n'
SHY = '[[animals]]\nspecies = "firefish"\nlength = "6 cm"\n'
BULLY = '[[animals]]\nspecies = "domino_damsel"\nlength = "7 cm"\n'


def tried(animals: str, what: str = "maintenance", litres: int = 200) -> Plan:
    return with_least_food(plan_of(PLAN.format(litres=litres, what=what) + animals), catalogue())


def ratio(plan: Plan) -> float:
    return dict(plan.ration_ratios)["pellets"]


def met(found: Forecast) -> list[float]:
    return [float(animal.energy_met.p50[21:35].mean()) for animal in found.animals]


def test_the_least_food_feeds_and_a_third_less_does_not() -> None:
    plan = tried(PAIR)
    enough = backreef.forecast(plan, members=8, seed=3)
    assert min(met(enough)) >= 0.95
    less = replace(plan, ration_ratios=(("pellets", ratio(plan) / 1.5),))
    assert min(met(backreef.forecast(less, members=8, seed=3))) < 0.95


def test_who_is_kept_off_needs_more_of_the_same_food_for_all() -> None:
    assert ratio(tried(SHY + BULLY)) > 1.2 * ratio(tried(BULLY))
    assert min(met(backreef.forecast(tried(SHY + BULLY), members=8, seed=3))) >= 0.95


def test_growing_takes_more_than_holding() -> None:
    held, grown = (backreef.forecast(tried(PAIR, what), members=1) for what in ("maintenance", "growth"))
    grams = [float(found.meals[0].grams_as_fed_per_day.mean()) for found in (held, grown)]
    assert grams[1] > 1.2 * grams[0]


def test_a_plan_without_such_meals_and_one_that_was_tried_stay_as_they_are() -> None:
    plain = plan_of(
        PLAN.format(litres=200, what="growth").replace('enough_for = "growth"', 'amount = "0.1 g"')
    )
    assert with_least_food(plain, catalogue()) is plain
    plan = tried(PAIR)
    assert with_least_food(plan, catalogue()) is plan


def test_a_mouth_that_no_ration_helps_does_not_swell_it() -> None:
    # a seahorse takes no pellets: the meal is for the pair alone, whoever is named
    seahorse = '[[animals]]\nspecies = "lined_seahorse"\nlength = "12 cm"\n'
    text = PLAN.format(litres=60, what="maintenance") + 'who = ["ocellaris_clown", "lined_seahorse"]\n'
    found = with_least_food(plan_of(text + PAIR + seahorse), catalogue())
    assert ratio(found) < 2.0


def test_who_does_not_live_with_plenty_either_is_left_out() -> None:
    assert tried(PAIR.replace("count = 2", "count = 60"), litres=20).ration_ratios == ()
