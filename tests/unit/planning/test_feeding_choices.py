"""How the animals may be fed, and how much, each plan worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from backreef.aquarium.plan import Meal, Plan
from backreef.planning import feeding
from backreef.planning.choices import a_device
from backreef.planning.feeding import (
    BY_HAND_TASK,
    feedings,
    least_ratio,
    main_food,
    ration_g_per_d,
    ration_words,
    with_ration,
)
from backreef.planning.numbers import table
from tests.planning_world import a_short_plan, the_catalogue

USUAL = table("planning")["feeding"]


def unfed(**changes: Any) -> Plan:
    return a_short_plan(meals=(), devices=(), **changes)


def by_id(plan: Plan) -> dict[str, Plan]:
    return {way.id: way.applied(plan) for way in feedings(plan, the_catalogue())}


@pytest.fixture
def needs_three_quarters_of_a_gram(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feeding, "needed_by_all_g_per_d", lambda *_, **__: 0.777)


@pytest.mark.usefixtures("needs_three_quarters_of_a_gram")
def test_a_plan_without_meals_gets_half_as_much_again_as_its_grown_fish_need_by_two_feeders() -> None:
    plan = by_id(unfed())["two_feeders"]
    each_g = round(1.5 * 0.777 / len(USUAL["hours"]) / 2, 3)
    assert len(USUAL["hours"]) > 1
    assert [(meal.id, meal.food, meal.by, meal.grams_as_fed) for meal in plan.meals] == [
        ("proposed_left", USUAL["coarse_food"], "proposed_feeder_left", each_g),
        ("proposed_right", USUAL["fine_food"], "proposed_feeder_right", each_g),
    ]
    assert {meal.times for meal in plan.meals} == {tuple(USUAL["hours"])}
    assert {(meal.weekdays, meal.only_when_present, meal.pump_pause_min) for meal in plan.meals} == {
        (tuple(range(7)), False, 10.0)
    }
    kinds = {one.id: (one.kind, dict(one.numbers)) for one in plan.devices}
    assert kinds == {
        "proposed_feeder_left": (USUAL["feeder"], {"portion_g": each_g}),
        "proposed_feeder_right": (USUAL["feeder"], {"portion_g": each_g}),
        "proposed_pause": (USUAL["pause"], {}),
    }
    assert ration_g_per_d(plan) == pytest.approx(1.5 * 0.777, abs=0.01)


@pytest.mark.usefixtures("needs_three_quarters_of_a_gram")
def test_or_one_meal_by_hand_when_the_last_of_the_days_windows_opens() -> None:
    plan = by_id(unfed())["by_hand"]
    (meal,) = plan.meals
    assert (meal.food, meal.grams_as_fed, meal.by, meal.times) == (
        USUAL["coarse_food"],
        round(1.5 * 0.777, 3),
        "hand",
        (8.0,),
    )
    assert (meal.only_when_present, meal.pump_pause_min, plan.devices) == (True, 0.0, ())
    later = replace(a_short_plan().keeper.presence[0], from_hour=17.0)
    keeper = replace(unfed().keeper, presence=(*unfed().keeper.presence, later))
    assert by_id(unfed(keeper=keeper))["by_hand"].meals[0].times == (17.0,)


def test_nobody_feeds_by_hand_who_refuses_or_is_never_there() -> None:
    keeper = unfed().keeper
    for changed in (replace(keeper, refuses=(BY_HAND_TASK,)), replace(keeper, presence=())):
        assert list(by_id(unfed(keeper=changed))) == ["two_feeders"]


def test_a_tank_without_fish_is_fed_a_little() -> None:
    plan = by_id(unfed(animals=()))["by_hand"]
    assert plan.meals[0].grams_as_fed == 0.2


def test_only_dry_food_comes_from_a_feeder() -> None:
    (meal,) = a_short_plan().meals
    wet = next(one.id for one in the_catalogue().foods.values() if one.feeder_ok == "no")
    by_hand = replace(meal, by="hand", only_when_present=True, weekdays=(1, 3))
    frozen = replace(by_hand, id="frozen", food=wet)
    plan = a_short_plan(meals=(by_hand, frozen))
    after = by_id(plan)["feeder"]
    assert [(one.by, one.only_when_present, one.weekdays) for one in after.meals] == [
        ("proposed_feeder", False, tuple(range(7))),
        ("hand", True, (1, 3)),
    ]
    assert list(by_id(a_short_plan(meals=(frozen,)))) == ["as_planned"]
    assert main_food(the_catalogue()).id == USUAL["coarse_food"]


def meals(*grams: float | None, by: str = "feeder") -> tuple[Meal, ...]:
    (meal,) = a_short_plan().meals
    return tuple(
        replace(meal, id=f"m{number}", grams_as_fed=one, by=by, enough_for="growth" if one is None else None)
        for number, one in enumerate(grams)
    )


def test_a_ration_grows_with_its_feeders_portion_but_for_what_is_pinned() -> None:
    devices = (
        a_device("feeder", "feeder_auger", {"portion_g": 0.2, "hopper_g": 9.0}),
        a_device("other", "feeder_auger", {"portion_g": 0.25}),
        a_device("idle", "feeder_auger", {"portion_g": 0.2}),
    )
    plan = a_short_plan(meals=(*meals(0.2), *meals(0.3, by="other")), devices=devices)
    after = with_ration(plan, 1.234)
    assert [meal.grams_as_fed for meal in after.meals] == [0.247, 0.37]
    assert [one.numbers["portion_g"] for one in after.devices] == [0.247, 0.25, 0.2]
    assert after.devices[0].numbers["hopper_g"] == 9.0
    pinned = with_ration(plan, 2.0, frozenset({"m0"}))
    assert pinned.meals[0].grams_as_fed == 0.2
    assert pinned.devices[0].numbers["portion_g"] == 0.2


def test_meals_sized_to_the_animals_have_no_ration() -> None:
    plan = a_short_plan(meals=meals(None, 0.2))
    after = with_ration(plan, 2.0)
    assert [meal.grams_as_fed for meal in after.meals] == [None, 0.4]
    assert ration_words(plan) == "as they need"
    assert ration_words(a_short_plan()) == "0.6 g", "0.3 g at two times"
    assert ration_g_per_d(a_short_plan()) == pytest.approx(0.6)


def test_a_feeder_gives_no_less_than_its_smallest_portion() -> None:
    smallest = the_catalogue().devices["feeder_auger"].portion_min_g
    assert smallest is not None
    value = smallest.value  # type: ignore[union-attr]
    plan = a_short_plan(meals=meals(value * 4.0, value * 2.0, None))
    assert least_ratio(plan, the_catalogue()) == pytest.approx(0.5)
    assert least_ratio(a_short_plan(meals=meals(0.3, by="hand")), the_catalogue()) == 0.0
