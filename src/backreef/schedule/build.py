"""The whole schedule of a plan in one call."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.chores import Chore, work_of
from backreef.schedule.meals import MealBook, meal_book
from backreef.schedule.minutes import Ledger, ledger
from backreef.schedule.occasions import RationFunction
from backreef.schedule.presence import Presence, presence
from backreef.schedule.work import LeftOut


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Schedule:
    """Who is there, what is fed and what is done, day by day; day 0 is `start_on`."""

    start_on: date
    days: int
    presence: Presence
    meals: MealBook
    chores: tuple[Chore, ...]
    left_out: tuple[LeftOut, ...]
    """Tasks and meals that nobody does, with the reason."""
    ledger: Ledger
    """Typical minutes, with every conditional chore done."""


def build_schedule(plan: Plan, catalogue: Catalogue, *, ration_g: RationFunction | None = None) -> Schedule:
    """Everything that happens on its day in the plan, before the water and the animals have their say.

    `ration_g` says how many grams as fed a meal is, at each of its hours on a day, where the plan gives it as
    enough for somebody.
    """
    there = presence(plan)
    meals = meal_book(plan, catalogue, presence=there, ration_g=ration_g)
    work = work_of(plan, catalogue, presence=there, meals=meals)
    book = ledger(
        work.chores,
        start_on=plan.start_on,
        days=there.days,
        minutes_per_month=plan.keeper.minutes_per_month,
    )
    return Schedule(
        start_on=plan.start_on,
        days=there.days,
        presence=there,
        meals=meals,
        chores=work.chores,
        left_out=work.left_out,
        ledger=book,
    )
