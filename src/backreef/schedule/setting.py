"""All that implied work depends on, and the line of work that a rule makes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from backreef.aquarium.plan import AnimalEntry, DeviceEntry, Plan
from backreef.catalogue.entries import Catalogue, Device
from backreef.schedule.effects import effect_of
from backreef.schedule.meals import MealBook
from backreef.schedule.people import Doers
from backreef.schedule.presence import FloatArray, Presence
from backreef.schedule.tables import DEVICE_UPKEEP, ImpliedRule, number, workload
from backreef.schedule.upkeep import count_factor_ratio, task_line
from backreef.schedule.work import Line
from backreef.schedule.workload import Minutes, minutes_of, task_minutes

KEEPER_ENTRY = "keeper"
TANK_ENTRY = "tank"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Setting:
    """All that the days of implied work depend on."""

    plan: Plan
    catalogue: Catalogue
    presence: Presence
    meals: MealBook
    dry_food_g_per_d: FloatArray
    doers_of: Callable[[str], Doers]


def line_of(
    rule: ImpliedRule,
    setting: Setting,
    *,
    entry_id: str,
    interval_d: float,
    device: DeviceEntry | None = None,
) -> Line:
    """The line of work of a rule: for one device where it is given, else for the tank."""
    kind = setting.catalogue.devices[device.kind] if device is not None else None
    factor = count_factor_ratio(rule, count=device.count if device is not None else 1)
    if rule.task == DEVICE_UPKEEP and kind is not None:
        return Line(
            entry_id=entry_id,
            task_id=DEVICE_UPKEEP,
            name=f"Look after: {kind.name}",
            minutes=_device_minutes(kind).times(factor),
            setup_minutes=0.0,
            setup_group=DEVICE_UPKEEP,
            needs_presence=True,
            interval_d=interval_d,
            tolerated_days=workload().numbers["untold_tolerance_days"].value,
        )
    task = setting.catalogue.tasks[rule.task]
    if "animals_per_unit" in rule.numbers:
        factor = max(1.0, _crew_count(rule, setting) / rule.numbers["animals_per_unit"].value)
    if rule.minutes == "device" and kind is not None:
        minutes = _device_minutes(kind).times(factor)
    elif "own_minutes" in rule.numbers:
        minutes = minutes_of(rule.numbers["own_minutes"])
    else:
        minutes = task_minutes(task, plan=setting.plan, factor_ratio=factor)
    line = task_line(task, entry_id=entry_id, minutes=minutes, interval_d=interval_d)
    return replace(line, name=rule.name or line.name, effect=effect_of(task.id, plan=setting.plan))


def _device_minutes(device: Device) -> Minutes:
    return minutes_of(number(device.upkeep_min, f"devices.{device.id}: upkeep_min"))


def task_every_d(rule: ImpliedRule, setting: Setting) -> float:
    """Days between two occurrences of the rule's task by the catalogue. [d]"""
    task = setting.catalogue.tasks[rule.task]
    return number(task.every_days, f"tasks.{task.id}: every_days").value


def entries_of(rule: ImpliedRule, setting: Setting) -> list[AnimalEntry]:
    """The plan's animals that a rule speaks of and that are there before the horizon ends."""
    species = setting.catalogue.species
    return [
        entry
        for entry in setting.plan.animals
        if arrival_day(entry, setting) < setting.presence.days
        and (
            not rule.animal_kinds
            or (entry.species in species and species[entry.species].kind in rule.animal_kinds)
        )
    ]


def _crew_count(rule: ImpliedRule, setting: Setting) -> int:
    return sum(entry.count for entry in entries_of(rule, setting))


def arrival_day(entry: AnimalEntry, setting: Setting) -> int:
    """Day of the horizon on which the animals come; 0 for those that are there."""
    if entry.arrives_on is None:
        return 0
    return max(0, (entry.arrives_on - setting.plan.start_on).days)
