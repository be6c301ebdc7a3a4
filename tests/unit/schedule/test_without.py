from __future__ import annotations

from backreef.schedule.without import without_animals, without_device, without_meal
from tests.unit.aquarium.plans import SHORTEST, plan_of

PLAN = """
[[animals]]
id = "pair"
species = "ocellaris_clown"
count = 2
[[animals]]
id = "goby"
species = "yellow_watchman"
[[meals]]
id = "for_both"
food = "pellet_small"
enough_for = "growth"
who = ["pair", "goby"]
by = "feeder"
times = ["9:00"]
[[meals]]
id = "for_the_goby"
food = "fz_mysid"
enough_for = "maintenance"
who = ["goby"]
times = ["18:00"]
[[meals]]
id = "for_all"
food = "pellet_micro"
amount = "0.1 g"
by = "feeder"
times = ["12:00"]
[[devices]]
id = "feeder"
kind = "feeder_auger"
[[devices]]
id = "skimmer"
kind = "skimmer_sump"
[[devices]]
id = "changer"
kind = "awc"
share_per_day = "1 %/day"
[[upkeep]]
id = "cup"
task = "skimmer_cup"
every = "week on Monday"
[[upkeep]]
id = "water"
task = "wc_do"
every = "2 weeks"
share = "10 %"
by = "changer"
[[upkeep]]
id = "glass"
task = "glass_inner"
every = "week on Monday"
"""


def test_a_meal_for_the_animals_that_go_is_not_given_and_others_lose_a_guest() -> None:
    plan = without_animals(plan_of(SHORTEST + PLAN), "goby")
    assert [entry.id for entry in plan.animals] == ["pair"]
    assert {meal.id: meal.who for meal in plan.meals} == {"for_both": ("pair",), "for_all": ()}


def test_a_meal_goes_alone() -> None:
    plan = plan_of(SHORTEST + PLAN)
    assert {meal.id for meal in plan.meals} - {meal.id for meal in without_meal(plan, "for_all").meals} == {
        "for_all"
    }


def test_a_feeder_s_meals_are_given_by_hand() -> None:
    plan = without_device(plan_of(SHORTEST + PLAN), "feeder")
    assert {meal.by for meal in plan.meals} == {"hand"}
    assert "feeder" not in {device.id for device in plan.devices}


def test_the_chores_of_a_device_go_with_it_and_no_others() -> None:
    plan = plan_of(SHORTEST + PLAN)
    assert {entry.id for entry in without_device(plan, "skimmer").upkeep} == {"water", "glass"}


def test_what_a_device_did_by_itself_is_done_by_hand() -> None:
    plan = without_device(plan_of(SHORTEST + PLAN), "changer")
    assert {entry.id: entry.by for entry in plan.upkeep}["water"] == "hand"


def test_a_second_device_of_the_kind_keeps_the_chores() -> None:
    second = PLAN + '[[devices]]\nid = "other"\nkind = "skimmer_hang"\n'
    plan = without_device(plan_of(SHORTEST + second), "skimmer")
    assert "cup" in {entry.id for entry in plan.upkeep}
