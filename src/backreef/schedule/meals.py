"""Which food is offered when, how much, and by whom, over the whole horizon.

A meal by hand is given on days on which somebody is there who can do it. Its hour is the plan's where the
keeper is there at that hour, and else their nearest hour if that is not too far off (`meal_slack_h`). A
feeder gives its meals whether anybody is there or not, until its hopper is empty.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from backreef.aquarium.plan import BY_HAND, Meal, Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.feeder_meals import REFILL, by_feeder, refills_of, tolerated_days
from backreef.schedule.feeders import FeederTraits, feeders_of
from backreef.schedule.occasions import MealOccasion, RationFunction, Refill, grams_of, no_ration
from backreef.schedule.people import KEEPER, Doers, doers
from backreef.schedule.presence import FloatArray, HelperPresence, Hours, Presence
from backreef.schedule.tables import hand_task, value_or_none, workload
from backreef.schedule.work import LeftOut

__all__ = [
    "MealBook",
    "MealOccasion",
    "RationFunction",
    "Refill",
    "dry_food_g_per_d",
    "meal_book",
    "meal_occasions",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class MealBook:
    """All meals of the horizon, and what the feeders need for them."""

    occasions: tuple[MealOccasion, ...]
    """In order of day and hour."""
    refills: tuple[Refill, ...]
    """Refills that no [[upkeep]] entry states."""
    feeders: dict[str, FeederTraits]
    """Device id -> what the simulation needs to draw its errors."""
    left_out: tuple[LeftOut, ...]


def meal_occasions(
    plan: Plan, catalogue: Catalogue, *, presence: Presence, ration_g: RationFunction | None = None
) -> list[MealOccasion]:
    """Every meal of the horizon, in order of day and hour."""
    return list(meal_book(plan, catalogue, presence=presence, ration_g=ration_g).occasions)


def meal_book(
    plan: Plan, catalogue: Catalogue, *, presence: Presence, ration_g: RationFunction | None = None
) -> MealBook:
    """Every meal of the horizon and every refill of the feeders.

    `ration_g` says how many grams a meal is that the plan gives as enough for somebody; without such meals it
    is not needed.
    """
    ration = ration_g or no_ration
    feeders = feeders_of(plan, catalogue)
    occasions: list[MealOccasion] = []
    left_out: list[LeftOut] = []
    refills: list[Refill] = []
    slack_days = tolerated_days(catalogue, REFILL)
    for meal in plan.meals:
        if meal.by not in feeders:
            occasions += _by_hand(meal, plan, catalogue, presence=presence, ration=ration, left_out=left_out)
    for traits in feeders.values():
        given, run = by_feeder(traits, plan, catalogue, presence=presence, ration=ration)
        occasions += given
        if not any(upkeep.task == REFILL for upkeep in plan.upkeep):
            refills += refills_of(run, device_id=traits.device_id, slack_days=slack_days, days=presence.days)
    occasions.sort(key=lambda each: (each.day, each.hour))
    return MealBook(
        occasions=tuple(occasions), refills=tuple(refills), feeders=feeders, left_out=tuple(left_out)
    )


def dry_food_g_per_d(meals: MealBook, catalogue: Catalogue, *, days: int) -> FloatArray:
    """Dry mass of the food offered on each day, (days,); with unknown moisture it counts as fed. [g/d]"""
    dry_frac = {
        key: 1.0 - (value_or_none(food.moisture_frac) or 0.0) for key, food in catalogue.foods.items()
    }
    result = np.zeros(days)
    for meal in meals.occasions:
        result[meal.day] += meal.food_g * dry_frac[meal.food_id]
    return result


# --- by hand ------------------------------------------------------------------------------------------------


def _by_hand(
    meal: Meal,
    plan: Plan,
    catalogue: Catalogue,
    *,
    presence: Presence,
    ration: RationFunction,
    left_out: list[LeftOut],
) -> list[MealOccasion]:
    task_id = hand_task(catalogue.foods[meal.food])
    able = doers(plan, catalogue, presence=presence, task_id=task_id)
    hours_on = [_hours_given(meal.times, presence.hours_by_weekday[weekday]) for weekday in range(7)]
    missed_on = [_hours_missed(meal.times, presence.hours_by_weekday[weekday]) for weekday in range(7)]
    left_out += _not_given(meal, task_id, plan=plan, able=able, hours_on=hours_on)
    keeper = able.keeper.tolist()
    result: list[MealOccasion] = []
    for day in range(presence.days):
        weekday = presence.weekday(day)
        if weekday not in meal.weekdays:
            continue
        given = dict.fromkeys(hours_on[weekday], KEEPER) if keeper[day] else {}
        helper = able.helper(day)
        if helper is not None:
            left = missed_on[weekday] if keeper[day] else meal.times
            given |= {hour: helper.name for hour in _hours_helped(left, helper) if hour not in given}
        grams = grams_of(meal, day, ration=ration) if given else 0.0
        result.extend(
            _occasion(meal, day=day, hour=hour, food_g=grams, who=given[hour]) for hour in sorted(given)
        )
    return result


def _occasion(meal: Meal, *, day: int, hour: float, food_g: float, who: str) -> MealOccasion:
    return MealOccasion(
        meal_id=meal.id,
        food_id=meal.food,
        day=day,
        hour=hour,
        food_g=food_g,
        by=BY_HAND,
        who=who,
        pump_paused=meal.pump_pause_min > 0,
        portions=1,
        hopper_frac=1.0,
    )


def _hours_helped(times: tuple[float, ...], helper: HelperPresence) -> tuple[float, ...]:
    """The hours of a meal within a helper's stay, likewise; as planned where the plan says no hours."""
    if helper.at_hour is None:
        return times
    return _hours_given(times, ((helper.at_hour, helper.until_hour or helper.at_hour),))


def _hours_missed(times: tuple[float, ...], windows: tuple[Hours, ...]) -> tuple[float, ...]:
    """The hours of a meal to which the keeper's windows are not near."""
    return tuple(hour for hour in times if not _hours_given((hour,), windows))


def _hours_given(times: tuple[float, ...], windows: tuple[Hours, ...]) -> tuple[float, ...]:
    """The hours of a meal within the keeper's windows: as planned, moved a little, or left out."""
    slack = workload().numbers["meal_slack_h"].value
    given: dict[float, None] = {}
    for hour in sorted(times):
        nearest = min(
            (min(max(hour, start), end) for start, end in windows),
            key=lambda each: abs(each - hour),
            default=None,
        )
        if nearest is not None and abs(nearest - hour) <= slack:
            given.setdefault(nearest)
    return tuple(given)


def _not_given(
    meal: Meal, task_id: str, *, plan: Plan, able: Doers, hours_on: list[tuple[float, ...]]
) -> list[LeftOut]:
    """Why meals by hand are left out on days on which somebody is there."""
    result: list[LeftOut] = []
    if able.helpers:
        return result
    if task_id in plan.keeper.refuses:
        result.append(LeftOut(task_id=task_id, entry_id=meal.id, from_day=0, reason="the keeper refuses it"))
    elif able.stop_day < plan.horizon_days:
        result.append(
            LeftOut(
                task_id=task_id, entry_id=meal.id, from_day=able.stop_day, reason="the keeper has dropped it"
            )
        )
    there = [
        weekday
        for weekday in meal.weekdays
        if any(window.weekday == weekday for window in plan.keeper.presence)
    ]
    if any(len(hours_on[weekday]) < len(set(meal.times)) for weekday in there):
        reason = "on some weekdays nobody is there near the hours of the meal"
        result.append(LeftOut(task_id=task_id, entry_id=meal.id, from_day=0, reason=reason))
    return result
