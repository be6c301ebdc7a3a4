"""How stale the food of a meal is: packs grow old once open, until somebody looks at the dates.

A plan that says how much a pack of its own food holds is taken at its word: a pack is opened when the last
one is empty, and its food is good for as long as its packaging keeps it. Whoever checks the stock throws away
what is older and opens the next pack. Of food for which the plan says no pack, people are taken to buy no
more at a time than they use while it is good.
"""

from __future__ import annotations

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.build import Schedule
from backreef.schedule.pantry import is_bought, opened_life_d

CHECK = "food_stock"
FRESH = 0.0


def overdue_ratios(plan: Plan, catalogue: Catalogue, schedule: Schedule) -> dict[tuple[str, int], float]:
    """For each food and day of a meal how long its pack has been stale, over how long it keeps.

    At 1 it has been open for twice as long as it keeps; days with fresh food are left out.
    """
    checks = {chore.done_day for chore in schedule.chores if chore.task_id == CHECK}
    found: dict[tuple[str, int], float] = {}
    for label in plan.foods:
        food = catalogue.foods.get(label.id)
        if food is None or label.pack_g is None or not is_bought(food):
            continue
        life = opened_life_d(food, label.packaging)
        if life is None:
            continue
        opened, left_g = 0, label.pack_g
        fed_g = _fed_g_by_day(schedule, label.id)
        for day in range(schedule.days):
            if day in checks and day - opened > life.value:
                opened, left_g = day, label.pack_g
            if not fed_g.get(day):
                continue
            overdue = (day - opened) / life.value - 1.0
            if overdue > FRESH:
                found[label.id, day] = overdue
            left_g -= fed_g[day]
            if left_g <= 0.0:
                opened, left_g = day, label.pack_g
    return found


def _fed_g_by_day(schedule: Schedule, food_id: str) -> dict[int, float]:
    """Grams of a food by day."""
    grams: dict[int, float] = {}
    for meal in schedule.meals.occasions:
        if meal.food_id == food_id:
            grams[meal.day] = grams.get(meal.day, 0.0) + meal.food_g
    return grams
