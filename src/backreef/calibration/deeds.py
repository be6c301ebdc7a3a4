"""What the log says was done otherwise than planned, put into the plan and its schedule."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise

from backreef.aquarium.plan import BY_HAND, AnimalEntry, Plan, Rhythm, Upkeep
from backreef.calibration.evidence import HOURS_PER_DAY, days_since
from backreef.catalogue.entries import Catalogue
from backreef.logbook.entries import Addition, Chore, Death, Entry, Feeding
from backreef.logbook.words import what_words
from backreef.schedule.build import Schedule
from backreef.schedule.chores import Chore as Planned
from backreef.schedule.effects import effect_of
from backreef.schedule.meals import MealOccasion
from backreef.schedule.tables import effect_rules
from backreef.simulation.lived import KnownDeath

REACH_D = 3
"""A logged chore stands for a planned one of its kind within so many days, where the plan has no rhythm."""
LOGGED = "log"


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """Something that was done, in words, and what became of it here."""

    entry: Entry
    words: str
    left_out: str = ""
    """Why it could not enter the run; empty: it did."""


@dataclass(slots=True, kw_only=True)
class Deeds:
    """Everything of a log that changes the run."""

    plan: Plan
    """With the animals that came as they came."""
    deaths: tuple[KnownDeath, ...]
    told: tuple[Deed, ...]
    feedings: tuple[tuple[Entry, Feeding], ...]
    chores: tuple[tuple[Entry, Chore], ...]
    foods: frozenset[str] = field(default_factory=frozenset)

    def alter(self, schedule: Schedule) -> Schedule:
        """The schedule as it was lived."""
        meals, weighed = list(schedule.meals.occasions), set[int]()
        for entry, feeding in self.feedings:
            _feed(meals, weighed, entry, feeding, self.plan)
        meals.sort(key=lambda meal: (meal.day, meal.hour))
        chores = list(schedule.chores)
        for task in dict.fromkeys(chore.task for _, chore in self.chores):
            mine = [(entry, chore) for entry, chore in self.chores if chore.task == task]
            chores = _work(chores, mine, self.plan)
        return replace(schedule, meals=replace(schedule.meals, occasions=tuple(meals)), chores=tuple(chores))


def deeds_of(entries: Sequence[Entry], plan: Plan, catalogue: Catalogue, *, last_day: int) -> Deeds:
    """What entries up to a day of the horizon change."""
    foods = frozenset(meal.food for meal in plan.meals)
    told: list[Deed] = []
    feedings: list[tuple[Entry, Feeding]] = []
    chores: list[tuple[Entry, Chore]] = []
    deaths: list[KnownDeath] = []
    came: set[str] = set()
    for entry in entries:
        what, words = entry.what, what_words(entry.what, catalogue)
        if not isinstance(what, Feeding | Chore | Addition | Death):
            continue
        day = int(days_since(entry, plan.start_on) // 1)
        why = ""
        if not 0 <= day <= last_day:
            why = "before the first day of the plan" if day < 0 else "after the days that are fitted"
        elif isinstance(what, Feeding):
            if what.food is not None and what.food not in foods:
                why = "the plan does not feed it, so the run has no such food"
            elif what.food is None and not plan.meals:
                why = "the plan has no meals"
            else:
                feedings.append((entry, what))
        elif isinstance(what, Chore):
            if what.task in effect_rules():
                chores.append((entry, what))
            else:
                why = "the water does not notice it"
        elif isinstance(what, Addition):
            plan, why = _arrived(plan, what, entry.at.date(), came)
        else:
            why = _died(plan, what, day, deaths)
        told.append(Deed(entry=entry, words=words, left_out=why))
    return Deeds(
        plan=plan,
        deaths=tuple(deaths),
        told=tuple(told),
        feedings=tuple(feedings),
        chores=tuple(chores),
        foods=foods,
    )


# --- animals ------------------------------------------------------------------------------------------------


def _arrived(plan: Plan, what: Addition, on: date, came: set[str]) -> tuple[Plan, str]:
    """The plan with animals that came, and why they were left out.

    The first to come of an entry are those that were planned; whoever comes later is noted beside them.
    """
    entry = next((one for one in plan.animals if one.id == what.animal), None)
    planned = entry is not None and entry.arrives_on is not None and not entry.id.endswith(LOGGED)
    if entry is not None and planned and entry.id not in came:
        came.add(entry.id)
        changed = replace(entry, arrives_on=on, count=what.count, length_cm=what.length_cm or entry.length_cm)
        others = tuple(changed if one is entry else one for one in plan.animals)
        return replace(plan, animals=others), ""
    species = what.species or (entry.species if entry is not None else None)
    if species is None:
        return plan, "it cannot be told which species it is"
    number = sum(1 for one in plan.animals if re.fullmatch(rf"{species}_\d*{LOGGED}", one.id))
    new = AnimalEntry(
        id=f"{species}_{number}{LOGGED}",
        species=species,
        count=what.count,
        length_cm=what.length_cm,
        arrives_on=on,
        gate=None,
    )
    return replace(plan, animals=(*plan.animals, new)), ""


def _died(plan: Plan, what: Death, day: int, deaths: list[KnownDeath]) -> str:
    """Note deaths of the plan's animals; give why they cannot be."""
    on = plan.start_on + timedelta(days=day)
    named = next((one.species for one in plan.animals if one.id == what.animal), what.species)
    there = [
        one
        for one in plan.animals
        if (what.animal in (None, one.id) or one.id.endswith(LOGGED))
        and one.species == named
        and what.species in (None, one.species)
        and (one.arrives_on is None or one.arrives_on <= on)
    ]
    left = {one.id: one.count - sum(1 for each in deaths if each.entry_id == one.id) for one in there}
    wanted = what.count
    for one in there:
        for _ in range(min(wanted, left[one.id])):
            deaths.append(KnownDeath(entry_id=one.id, day=day, body_taken=True))
            wanted -= 1
    if wanted == what.count:
        return "the plan has no such animals on that day, or it cannot be told which"
    return ""


# --- food ---------------------------------------------------------------------------------------------------


def _feed(meals: list[MealOccasion], weighed: set[int], entry: Entry, feeding: Feeding, plan: Plan) -> None:
    """Change the meal that a feeding speaks of: all of a day, or the nearest one, by hand before a feeder.

    Each amount is another feeding: where all meals of the day were `weighed` already, it comes on top.
    """
    at_d = days_since(entry, plan.start_on)
    day, hour = int(at_d // 1), (at_d % 1) * HOURS_PER_DAY
    places = [
        place for place, meal in enumerate(meals) if meal.day == day and feeding.food in (None, meal.food_id)
    ]
    free = places if feeding.amount_g is None else [place for place in places if place not in weighed]
    if not free:
        food = feeding.food or (meals[places[0]].food_id if places else None)
        if feeding.amount_g and food is not None:
            weighed.add(len(meals))
            meals.append(_unplanned(feeding.amount_g, food, plan, day=day, hour=hour))
        return
    places = free
    if not (entry.whole_day and feeding.amount_g is None):
        places.sort(key=lambda place: (meals[place].by != BY_HAND, abs(meals[place].hour - hour)))
        places = places[:1]
    if feeding.amount_g is not None:
        weighed.update(places)
    for place in places:
        meal = meals[place]
        ratio = feeding.portion_ratio
        grams = meal.food_g * ratio if ratio is not None else feeding.amount_g
        meals[place] = replace(meal, food_g=meal.food_g if grams is None else grams)


def _unplanned(amount_g: float, food: str, plan: Plan, *, day: int, hour: float) -> MealOccasion:
    meal = next(one for one in plan.meals if one.food == food)
    return MealOccasion(
        meal_id=meal.id,
        food_id=meal.food,
        day=day,
        hour=hour,
        food_g=amount_g,
        by=BY_HAND,
        who="keeper",
        pump_paused=meal.pump_pause_min > 0,
        portions=1,
        hopper_frac=1.0,
    )


# --- work ---------------------------------------------------------------------------------------------------


def _work(chores: list[Planned], logged: Sequence[tuple[Entry, Chore]], plan: Plan) -> list[Planned]:
    """The chores with those of one task as they were logged, from the first to the last logged one."""
    task = logged[0][1].task
    days = sorted(int(days_since(entry, plan.start_on) // 1) for entry, _ in logged)
    planned = sorted(
        chore.done_day for chore in chores if chore.task_id == task and chore.done_day is not None
    )
    gaps = sorted(b - a for a, b in pairwise(planned) if b > a)
    reach = max(1, gaps[len(gaps) // 2] // 2) if gaps else REACH_D
    template = next((chore for chore in chores if chore.task_id == task), None)
    kept = [
        replace(chore, done_day=None, condition=None)
        if chore.task_id == task
        and chore.done_day is not None
        and days[0] - reach <= chore.done_day <= days[-1] + reach
        else chore
        for chore in chores
    ]
    return kept + [_done(entry, chore, template, plan) for entry, chore in logged]


def _done(entry: Entry, chore: Chore, template: Planned | None, plan: Plan) -> Planned:
    at_d = days_since(entry, plan.start_on)
    day, hour = int(at_d // 1), (at_d % 1) * HOURS_PER_DAY
    usual = next((one for one in plan.upkeep if one.task == chore.task), None) or Upkeep(
        id=LOGGED,
        task=chore.task,
        share_frac=None,
        amount_g=None,
        amount_l=None,
        rhythm=Rhythm(kind="interval", text=LOGGED, every_days=1.0),
        by=BY_HAND,
        when=None,
        minutes=None,
        at_hour=None,
    )
    if chore.share_frac is not None or chore.volume_l is not None or chore.amount_g is not None:
        usual = replace(usual, share_frac=chore.share_frac, amount_l=chore.volume_l, amount_g=chore.amount_g)
    effect = effect_of(chore.task, plan=plan, upkeep=usual)
    name = f"{LOGGED}.{chore.task}.{entry.id}"
    minutes = chore.minutes
    if template is not None:
        spent = template.minutes if minutes is None else minutes
        return replace(
            template,
            id=name,
            due_day=day,
            done_day=day,
            hour=hour,
            minutes=spent,
            condition=None,
            effect=effect,
            merged_into=None,
        )
    return Planned(
        id=name,
        task_id=chore.task,
        name=chore.task,
        entry_id=LOGGED,
        due_day=day,
        done_day=day,
        hour=hour,
        minutes_low=minutes or 0.0,
        minutes=minutes or 0.0,
        minutes_high=minutes or 0.0,
        setup_minutes=0.0,
        setup_own_minutes=0.0,
        setup_group="",
        needs_presence=True,
        by="keeper",
        look=False,
        condition=None,
        effect=effect,
        merged_into=None,
    )
