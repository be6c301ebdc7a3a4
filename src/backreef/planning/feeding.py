"""How the animals may be fed, and how much: as the plan says, or as is usual where it says nothing."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from backreef.aquarium.plan import BY_HAND, DeviceEntry, Meal, Plan
from backreef.catalogue.entries import Catalogue, Food, known
from backreef.company.engine import setting_of
from backreef.company.food import given_g_per_d, needed_by_all_g_per_d
from backreef.planning.choices import OWN_PREFIX, Choice, a_device
from backreef.planning.numbers import number, table
from backreef.simulation.tables import InItsUnit

BY_HAND_TASK = "feed_dry_hand"


def feedings(plan: Plan, catalogue: Catalogue) -> tuple[Choice, ...]:
    """How the animals may be fed: as the plan has it, else by two feeders or by hand."""
    if plan.meals:
        found = [Choice(id="as_planned", kind="feeding", words="meals as planned", change=_unchanged)]
        by_feeder = partial(_hand_meals_by_feeder, catalogue=catalogue)
        if by_feeder(plan) is not None:
            words = "dry food that was given by hand comes from a feeder"
            found.append(Choice(id="feeder", kind="feeding", words=words, change=by_feeder))
        return tuple(found)
    first_g = _first_ration_g_per_d(plan, catalogue)
    found = [
        Choice(
            id="two_feeders",
            kind="feeding",
            words="two feeders with half of the food each",
            change=lambda one: _two_feeders(one, first_g),
        )
    ]
    if plan.keeper.presence and BY_HAND_TASK not in plan.keeper.refuses:
        found.append(
            Choice(
                id="by_hand",
                kind="feeding",
                words="a meal by hand on each day somebody is there",
                change=lambda one: _by_hand(one, first_g),
            )
        )
    return tuple(found)


def _unchanged(plan: Plan) -> Plan:
    return plan


def _hand_meals_by_feeder(plan: Plan, *, catalogue: Catalogue) -> Plan | None:
    """The plan with a feeder for dry meals given by hand; None where there are none."""
    feeder = f"{OWN_PREFIX}feeder"
    meals = tuple(
        replace(meal, by=feeder, only_when_present=False, weekdays=tuple(range(7)))
        if meal.by == BY_HAND and catalogue.foods[meal.food].feeder_ok == "yes"
        else meal
        for meal in plan.meals
    )
    if meals == plan.meals:
        return None
    kind = table("planning")["feeding"]["feeder"]
    return replace(plan, meals=meals, devices=(*plan.devices, a_device(feeder, kind, {})))


def main_food(catalogue: Catalogue) -> Food:
    """The food that is taken where the plan names none."""
    return catalogue.foods[table("planning")["feeding"]["coarse_food"]]


def _first_ration_g_per_d(plan: Plan, catalogue: Catalogue) -> InItsUnit:
    need = needed_by_all_g_per_d(setting_of(plan, catalogue), main_food(catalogue), grown=True)
    return max(number("grown_ration_ratio") * need, number("least_ration_g_per_d"))


def _two_feeders(plan: Plan, grams_per_d: InItsUnit) -> Plan:
    usual = table("planning")["feeding"]
    times, pause_min = tuple(usual["hours"]), number("pause_min")
    each_g = round(grams_per_d / len(times) / 2, 3)
    meals = []
    devices = []
    for side, food in (("left", usual["coarse_food"]), ("right", usual["fine_food"])):
        feeder = f"{OWN_PREFIX}feeder_{side}"
        devices.append(a_device(feeder, usual["feeder"], {"portion_g": each_g}))
        meals.append(_meal(f"{OWN_PREFIX}{side}", food, each_g, by=feeder, times=times, pause_min=pause_min))
    devices.append(a_device(f"{OWN_PREFIX}pause", usual["pause"], {}))
    return replace(plan, meals=tuple(meals), devices=(*plan.devices, *devices))


def _meal(
    meal_id: str, food: str, grams: InItsUnit, *, by: str, times: tuple[float, ...], pause_min: float
) -> Meal:
    return Meal(
        id=meal_id,
        food=food,
        grams_as_fed=grams,
        enough_for=None,
        who=(),
        by=by,
        times=times,
        weekdays=tuple(range(7)),
        only_when_present=False,
        pump_pause_min=pause_min,
    )


def _by_hand(plan: Plan, grams_per_d: InItsUnit) -> Plan:
    opens = max(window.from_hour for window in plan.keeper.presence)
    meal = _meal(
        f"{OWN_PREFIX}by_hand",
        table("planning")["feeding"]["coarse_food"],
        round(grams_per_d, 3),
        by=BY_HAND,
        times=(opens,),
        pause_min=0.0,
    )
    return replace(plan, meals=(replace(meal, only_when_present=True),))


def ration_g_per_d(plan: Plan) -> InItsUnit:
    """Food of all meals on an average day. [g/d]"""
    return sum(given_g_per_d(meal) or 0.0 for meal in plan.meals)


def ration_words(plan: Plan) -> str:
    """How much is fed in all."""
    if any(meal.grams_as_fed is None for meal in plan.meals):
        return "as they need"
    return f"{ration_g_per_d(plan):.2g} g"


def with_ration(plan: Plan, ratio: InItsUnit, pinned: frozenset[str] = frozenset()) -> Plan:
    """The plan with each meal that is not pinned so many times as large, and its feeder's portion too."""
    meals = tuple(meal if meal.id in pinned else _scaled(meal, ratio) for meal in plan.meals)
    portions = {
        old.by: (old.grams_as_fed, new.grams_as_fed) for old, new in zip(plan.meals, meals, strict=True)
    }
    devices = tuple(_with_portion(device, portions) for device in plan.devices)
    return replace(plan, meals=meals, devices=devices)


def _scaled(meal: Meal, ratio: InItsUnit) -> Meal:
    return (
        meal if meal.grams_as_fed is None else replace(meal, grams_as_fed=round(meal.grams_as_fed * ratio, 3))
    )


def _with_portion(device: DeviceEntry, portions: dict[str, tuple[float | None, float | None]]) -> DeviceEntry:
    """A feeder whose portion was the meal gives the new meal as one portion."""
    old, new = portions.get(device.id, (None, None))
    if old is None or new is None or device.numbers.get("portion_g") != old:
        return device
    return replace(device, numbers={**device.numbers, "portion_g": new})


def least_ratio(plan: Plan, catalogue: Catalogue) -> InItsUnit:
    """The smallest ration over that of the plan which its feeders can still give."""
    least = 0.0
    for meal in plan.meals:
        device = next((one for one in plan.devices if one.id == meal.by), None)
        smallest = known(catalogue.devices[device.kind].portion_min_g) if device is not None else None
        if smallest is not None and meal.grams_as_fed:
            least = max(least, smallest.value / meal.grams_as_fed)
    return least
