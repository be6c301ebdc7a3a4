"""What is fed and done on each day of a plan, as it stood when it was forecast: for the pages of days."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from backreef.aquarium.plan import Plan
    from backreef.catalogue.entries import Catalogue
    from backreef.schedule.chores import Chore


@dataclass(frozen=True, slots=True, kw_only=True)
class Meal:
    """Food that is offered."""

    hour: float
    food: str
    by: str
    """'hand' or the id of a feeder."""
    food_g: float
    """As fed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A chore."""

    hour: float
    task: str
    name: str
    by: str
    """'keeper', a helper, a device; empty where nobody is there for it."""
    minutes: float
    """With its part of the set-up."""
    look: bool
    only_if: str
    """The condition under which it is done; empty for always."""
    missed: bool
    """Whether nobody is there within what it can slip."""
    with_another: bool
    """Whether a later one of the same day does its work."""

    @property
    def counted(self) -> bool:
        """Whether its minutes count among those of the day."""
        return not self.missed and not self.with_another and not self.look


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One day with anything fed or done on it."""

    on: date
    meals: tuple[Meal, ...]
    done: tuple[Done, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayBook:
    """The days of a plan on which anything happens, in order."""

    days: tuple[Day, ...]

    def of(self, on: date) -> Day:
        """A day; with nothing on it where nothing is fed or done."""
        found = next((day for day in self.days if day.on == on), None)
        return found or Day(on=on, meals=(), done=())


def day_book(plan: Plan, catalogue: Catalogue) -> DayBook:
    """Lay the meals and chores of a plan on their days; rations are what the animals need."""
    from backreef.usecases.browse import name_of
    from backreef.usecases.work import lay_out

    schedule = lay_out(plan, catalogue)
    meals: dict[int, list[Meal]] = defaultdict(list)
    for meal in schedule.meals.occasions:
        food = name_of(catalogue.foods[meal.food_id])
        meals[meal.day].append(Meal(hour=meal.hour, food=food, by=meal.by, food_g=float(meal.food_g)))
    done: dict[int, list[Done]] = defaultdict(list)
    for chore in schedule.chores:
        day = chore.due_day if chore.done_day is None else chore.done_day
        done[day].append(done_of(chore))
    return DayBook(
        days=tuple(
            Day(
                on=plan.start_on + timedelta(days=day),
                meals=tuple(meals.get(day, ())),
                done=tuple(sorted(done.get(day, ()), key=lambda one: (one.hour, one.name))),
            )
            for day in sorted({*meals, *done})
        )
    )


def counted_min(chore: Chore) -> float:
    """The typical minutes of a chore with its part of the set-up."""
    return chore.minutes + chore.setup_minutes


def done_of(chore: Chore) -> Done:
    """A chore as the page of its day shows it."""
    return Done(
        hour=float(chore.hour),
        task=chore.task_id,
        name=chore.name,
        by=chore.by,
        minutes=float(counted_min(chore)),
        look=chore.look,
        only_if="" if chore.condition is None else chore.condition.text,
        missed=chore.done_day is None,
        with_another=chore.merged_into is not None,
    )
