"""Meals that a feeder gives, as far as its hopper lasts, and the refills that keep it going."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from backreef.aquarium.plan import Meal, Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.containers import ContainerRun, Draw, run_container
from backreef.schedule.feeders import FeederTraits, daily_limit_reached, longest_filling_d, share_of_filling
from backreef.schedule.occasions import MealOccasion, RationFunction, Refill, grams_of
from backreef.schedule.people import Doers, doers, hour_of
from backreef.schedule.presence import Presence
from backreef.schedule.segregation import Turn, came_over_planned, eagerness_to_leave, mixed_foods
from backreef.schedule.settling import settle_alone
from backreef.schedule.tables import laid_out_feeders, value_or_none
from backreef.schedule.upkeep import due_when_there, upkeep_line
from backreef.schedule.work import Due

REFILL = "feeder_refill"


def by_feeder(
    traits: FeederTraits, plan: Plan, catalogue: Catalogue, *, presence: Presence, ration: RationFunction
) -> tuple[list[MealOccasion], ContainerRun]:
    """All meals that come from one feeder, as far as its hopper lasts."""
    wanted = _wanted(traits, plan, presence=presence, ration=ration)
    shares = {
        key: share_of_filling(traits, food_g=key[0], portions=key[1])
        for key in {each[3:5] for each in wanted}
    }
    draws = [Draw(each[0], each[1], shares[each[3:5]]) for each in wanted]
    able = doers(plan, catalogue, presence=presence, task_id=REFILL)
    run = run_container(
        draws,
        visit_hours=visit_hours(presence, able=able),
        longest_days=longest_filling_d(traits),
        refill_on=_stated_refill_days(plan, catalogue, presence=presence, able=able),
    )
    result: list[MealOccasion] = []
    took = [
        (each[2].food, draw.share_frac * came, level)
        for each, draw, came, level in zip(wanted, draws, run.came_frac, run.before_frac, strict=True)
    ]
    ratios = _mix_ratios(traits, plan, catalogue, wanted=wanted, took=took)
    for (day, hour, meal, grams, portions, note), came, level, ratio in zip(
        wanted, run.came_frac, run.before_frac, ratios, strict=True
    ):
        result.append(
            MealOccasion(
                meal_id=meal.id,
                food_id=meal.food,
                day=day,
                hour=hour,
                food_g=grams * came,
                by=traits.device_id,
                who="",
                pump_paused=meal.pump_pause_min > 0,
                portions=portions,
                hopper_frac=level,
                mix_ratio=ratio if came else 1.0,
                note=note if came == 1.0 else "the hopper is empty" if not came else "the last of a filling",
            )
        )
    return result, run


_Wanted = tuple[int, float, Meal, float, int, str]


def _mix_ratios(
    traits: FeederTraits, plan: Plan, catalogue: Catalogue, *, wanted: list[_Wanted], took: list[Turn]
) -> list[float]:
    """What of its food comes with each meal over its share of the mix; 1 where nothing can part."""
    foods = mixed_foods([meal for meal in plan.meals if meal.by == traits.device_id])
    eagerness = eagerness_to_leave(foods, catalogue) if foods else None
    grams = np.array([sum(each[3] for each in wanted if each[2].food == food) for food in foods])
    if eagerness is None or traits.kind in laid_out_feeders() or not grams.all():
        return [1.0] * len(wanted)
    return came_over_planned(took, foods, grams / grams.sum(), eagerness)


def _wanted(traits: FeederTraits, plan: Plan, *, presence: Presence, ration: RationFunction) -> list[_Wanted]:
    """Day, hour, meal, grams, portions and note of all meals asked of one feeder, within what it can dose."""
    turns: dict[int, int] = defaultdict(int)
    there, first = presence.present.tolist(), presence.start_on.weekday()
    asked = [
        (day, hour, meal)
        for meal in plan.meals
        if meal.by == traits.device_id
        for day in range(presence.days)
        if (first + day) % 7 in meal.weekdays and (there[day] or not meal.only_when_present)
        for hour in meal.times
    ]
    asked.sort(key=lambda each: each[:2])
    rations = {(meal.id, day): grams_of(meal, day, ration=ration) for day, _, meal in asked}
    result: list[_Wanted] = []
    for day, hour, meal in asked:
        grams, note = rations[meal.id, day], ""
        if traits.portion_min_g is not None and 0 < grams < traits.portion_min_g:
            grams, note = traits.portion_min_g, "the feeder's smallest portion is larger than the meal"
        portions = traits.portions_of(grams)
        if daily_limit_reached(traits, given=turns[day], portions=portions):
            result.append((day, hour, meal, 0.0, 0, "the feeder has given all its portions of the day"))
            continue
        turns[day] += portions
        result.append((day, hour, meal, grams, portions, note))
    return result


def visit_hours(presence: Presence, *, able: Doers) -> list[float | None]:
    """For each day the hour at which somebody who can do the task is there; None for nobody."""
    return [hour_of(presence, day) if there else None for day, there in enumerate(able.anybody.tolist())]


def _stated_refill_days(
    plan: Plan, catalogue: Catalogue, *, presence: Presence, able: Doers
) -> frozenset[int] | None:
    """Days on which the plan's own refill chores are done; None where it states none."""
    stated = [upkeep for upkeep in plan.upkeep if upkeep.task == REFILL]
    if not stated:
        return None
    days: set[int] = set()
    for upkeep in stated:
        line = upkeep_line(upkeep, plan=plan, catalogue=catalogue)
        for day in due_when_there(upkeep.rhythm, presence=presence, begun_d=plan.begun_d):
            done_on = settle_alone(Due(line=line, day=day), doers=able, days=presence.days).done_on
            if done_on is not None:
                days.add(done_on)
    return frozenset(days)


def refills_of(run: ContainerRun, *, device_id: str, slack_days: int, days: int) -> list[Refill]:
    """The refills of one container: those done, and those for which nobody came in time.

    A refill that comes more than `slack_days` after the container ran dry stands twice: as missed on the day
    it ran dry, and as done when somebody was there again. What the end of the horizon leaves open is not
    counted as missed.
    """
    late = {spell.refilled_day: spell.from_day for spell in run.dry_spells if spell.refilled_day is not None}
    result: list[Refill] = []
    for day, share in zip(run.refill_days, run.refill_share_frac, strict=True):
        due = late.get(day, day)
        if day - due > slack_days:
            result.append(Refill(device_id=device_id, due_day=due, done_day=None, share_frac=0.0))
            due = day
        result.append(Refill(device_id=device_id, due_day=due, done_day=day, share_frac=share))
    result += [
        Refill(device_id=device_id, due_day=spell.from_day, done_day=None, share_frac=0.0)
        for spell in run.dry_spells
        if spell.refilled_day is None and spell.from_day + slack_days < days
    ]
    return sorted(result, key=lambda each: each.due_day)


def tolerated_days(catalogue: Catalogue, task_id: str) -> int:
    """Days a task can slip without harm; none where nobody knows. [d]"""
    task = catalogue.tasks.get(task_id)
    return int((None if task is None else value_or_none(task.tolerated_missed_days)) or 0)
