"""A plan without one of its animals, meals or devices, with what only that one brought along."""

from __future__ import annotations

from dataclasses import replace

from backreef.aquarium.plan import BY_HAND, Plan
from backreef.schedule.tables import implied_rules


def without_animals(plan: Plan, entry_id: str) -> Plan:
    """Without one entry of animals; a meal that was for them alone is not given."""
    meals = []
    for meal in plan.meals:
        left = tuple(who for who in meal.who if who != entry_id)
        if left or not meal.who:
            meals.append(replace(meal, who=left))
    animals = tuple(entry for entry in plan.animals if entry.id != entry_id)
    return replace(plan, animals=animals, meals=tuple(meals))


def without_meal(plan: Plan, meal_id: str) -> Plan:
    """Without one meal."""
    return replace(plan, meals=tuple(meal for meal in plan.meals if meal.id != meal_id))


def without_device(plan: Plan, device_id: str) -> Plan:
    """Without one device: its own chores fall away, and what it did by itself is done by hand."""
    gone = next(device for device in plan.devices if device.id == device_id)
    left = tuple(device for device in plan.devices if device.id != device_id)
    meals = tuple(replace(meal, by=BY_HAND) if meal.by == device_id else meal for meal in plan.meals)
    orphaned = _tasks_of_kinds({gone.kind}) - _tasks_of_kinds({device.kind for device in left})
    upkeep = tuple(
        replace(entry, by=BY_HAND) if entry.by == device_id else entry
        for entry in plan.upkeep
        if entry.task not in orphaned
    )
    return replace(plan, devices=left, meals=meals, upkeep=upkeep)


def _tasks_of_kinds(kinds: set[str]) -> set[str]:
    """Tasks that only devices bring."""
    return {rule.task for rule in implied_rules() if kinds.intersection(rule.devices)}
