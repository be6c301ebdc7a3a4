"""Which food is offered when, how much, and by whom, over the whole horizon.

A meal by hand is given on days on which somebody is there who can do it. Its hour is the plan's where the
keeper is there at that hour, and else their nearest hour if that is not too far off (`meal_slack_h`). A
feeder gives its meals whether anybody is there or not, until its hopper is empty.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from backreef.aquarium.plan import BY_HAND, Meal, Plan
from backreef.catalogue.entries import Catalogue
from backreef.errors import BackreefError
from backreef.schedule.containers import ContainerRun, Draw, run_container
from backreef.schedule.feeders import (
    FeederTraits,
    daily_limit_reached,
    feeders_of,
    longest_filling_d,
    share_of_filling,
)
from backreef.schedule.people import KEEPER, Doers, doers, hour_of
from backreef.schedule.presence import FloatArray, Hours, Presence
from backreef.schedule.tables import hand_task, value_or_none, workload
from backreef.schedule.upkeep import due_when_there, upkeep_line
from backreef.schedule.visits import Window, settle
from backreef.schedule.work import Due, LeftOut

RationFunction = Callable[[Meal, int], float]
"""Grams as fed of a meal, at each of its hours, on a day of the horizon."""
REFILL = "feeder_refill"


class MissingRation(BackreefError):
    """A meal is to be 'enough for' its animals, and nobody said how much that is."""

    def __init__(self, meal: Meal) -> None:
        super().__init__(
            f"meals.{meal.id}: it is to be enough for {meal.enough_for or 'its animals'}, and only the "
            "needs of the animals can turn that into grams: pass ration_g, or give grams in the plan"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MealOccasion:
    """One food offered once."""

    meal_id: str
    food_id: str
    day: int
    hour: float
    food_g: float
    """As fed. Nominal: before the error of the portions; 0 where nothing came, and `note` says why."""
    by: str
    """'hand' or a device id."""
    who: str
    """'keeper' or a helper's name for a meal by hand; empty for a feeder."""
    pump_paused: bool
    portions: int
    """Turns of a feeder that make the meal; their errors average out."""
    hopper_frac: float
    """How full the feeder was before; 1 for a meal by hand."""
    note: str = ""

    @property
    def grams_as_fed(self) -> float:
        """The same as `food_g`. [g]"""
        return self.food_g


@dataclass(frozen=True, slots=True, kw_only=True)
class Refill:
    """A container falls due to be refilled, and is or is not."""

    device_id: str
    due_day: int
    done_day: int | None
    """None: nobody came within what it can slip."""
    share_frac: float
    """How much of a full container goes in."""


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
    ration = ration_g or _no_ration
    feeders = feeders_of(plan, catalogue)
    occasions: list[MealOccasion] = []
    left_out: list[LeftOut] = []
    refills: list[Refill] = []
    slack_days = tolerated_days(catalogue, REFILL)
    for meal in plan.meals:
        if meal.by not in feeders:
            occasions += _by_hand(meal, plan, catalogue, presence=presence, ration=ration, left_out=left_out)
    for traits in feeders.values():
        given, run = _by_feeder(traits, plan, catalogue, presence=presence, ration=ration)
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


def _no_ration(meal: Meal, _: int) -> float:
    raise MissingRation(meal)


def _grams(meal: Meal, day: int, *, ration: RationFunction) -> float:
    return ration(meal, day) if meal.grams_as_fed is None else meal.grams_as_fed


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
    left_out += _not_given(meal, task_id, plan=plan, able=able, hours_on=hours_on)
    anybody, keeper = able.anybody.tolist(), able.keeper.tolist()
    result: list[MealOccasion] = []
    for day in range(presence.days):
        weekday = presence.weekday(day)
        if not anybody[day] or weekday not in meal.weekdays:
            continue
        hours = hours_on[weekday] if keeper[day] else meal.times
        grams = _grams(meal, day, ration=ration) if hours else 0.0
        who = KEEPER if keeper[day] else able.who(day)
        result.extend(_occasion(meal, day=day, hour=hour, food_g=grams, who=who) for hour in hours)
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


# --- by feeder ----------------------------------------------------------------------------------------------


def _by_feeder(
    traits: FeederTraits, plan: Plan, catalogue: Catalogue, *, presence: Presence, ration: RationFunction
) -> tuple[list[MealOccasion], ContainerRun]:
    """All meals that come from one feeder, as far as its hopper lasts."""
    wanted = _wanted(traits, plan, presence=presence, ration=ration)
    draws = [
        Draw(day=day, hour=hour, share_frac=share_of_filling(traits, food_g=grams, portions=portions))
        for day, hour, _, grams, portions, _ in wanted
    ]
    able = doers(plan, catalogue, presence=presence, task_id=REFILL)
    run = run_container(
        draws,
        visit_hours=visit_hours(presence, able=able),
        longest_days=longest_filling_d(traits),
        refill_on=_stated_refill_days(plan, catalogue, presence=presence, able=able),
    )
    result: list[MealOccasion] = []
    for (day, hour, meal, grams, portions, note), came, level in zip(
        wanted, run.came, run.before_frac, strict=True
    ):
        result.append(
            MealOccasion(
                meal_id=meal.id,
                food_id=meal.food,
                day=day,
                hour=hour,
                food_g=grams if came else 0.0,
                by=traits.device_id,
                who="",
                pump_paused=meal.pump_pause_min > 0,
                portions=portions,
                hopper_frac=level,
                note=note if came else "the hopper is empty",
            )
        )
    return result, run


_Wanted = tuple[int, float, Meal, float, int, str]


def _wanted(traits: FeederTraits, plan: Plan, *, presence: Presence, ration: RationFunction) -> list[_Wanted]:
    """Day, hour, meal, grams, portions and note of all meals asked of one feeder, within what it can dose."""
    turns: dict[int, int] = defaultdict(int)
    asked = [
        (day, hour, meal)
        for meal in plan.meals
        if meal.by == traits.device_id
        for day in range(presence.days)
        if presence.weekday(day) in meal.weekdays and (presence.present[day] or not meal.only_when_present)
        for hour in meal.times
    ]
    asked.sort(key=lambda each: each[:2])
    rations = {(meal.id, day): _grams(meal, day, ration=ration) for day, _, meal in asked}
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
        for day in due_when_there(upkeep.rhythm, presence=presence):
            found = settle(Due(line=line, day=day), doers=able, days=presence.days)
            done = found.first if isinstance(found, Window) else found.day
            if done is not None:
                days.add(done)
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
