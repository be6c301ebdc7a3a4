"""Work that a plan brings without saying so: of its devices, its animals, its absences, and the daily look.

Which tasks these are stands in `data/implied_tasks.toml`; here each kind of rhythm gets its days.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from backreef.aquarium.plan import DeviceEntry, Plan
from backreef.catalogue.entries import Catalogue, known
from backreef.schedule.containers import Draw, run_container
from backreef.schedule.effects import FeederRefill, TopOffRefill, effect_of
from backreef.schedule.feeder_meals import refills_of, tolerated_days, visit_hours
from backreef.schedule.meals import MealBook, dry_food_g_per_d
from backreef.schedule.newcomers import AROUND_EVENTS
from backreef.schedule.occasions import Refill
from backreef.schedule.pantry import trip_every_d
from backreef.schedule.people import Doers
from backreef.schedule.presence import Presence
from backreef.schedule.rhythm import interval_days
from backreef.schedule.setting import (
    KEEPER_ENTRY,
    TANK_ENTRY,
    Setting,
    arrival_day,
    entries_of,
    line_of,
    task_every_d,
)
from backreef.schedule.tables import DEVICE_UPKEEP, ImpliedRule, implied_rules, number
from backreef.schedule.upkeep import evaporation_l_per_d, reservoir_l, states
from backreef.schedule.work import Due, Line
from backreef.units import DAYS_PER_MONTH

_FEED_AHEAD_DAYS = 14
"""The food of a fortnight decides how soon something fills."""
_LAST_HOUR = 24.0


def implied_dues(
    plan: Plan, catalogue: Catalogue, *, presence: Presence, meals: MealBook, doers_of: Callable[[str], Doers]
) -> Iterator[Due]:
    """Every occurrence of work that the plan implies, whether anybody does the task or not."""
    food = dry_food_g_per_d(meals, catalogue, days=presence.days)
    setting = Setting(
        plan=plan,
        catalogue=catalogue,
        presence=presence,
        meals=meals,
        dry_food_g_per_d=food,
        doers_of=doers_of,
    )
    for rule in implied_rules():
        if rule.rhythm != "with_task" and _applies(rule, setting):
            yield from _dues_of(rule, setting)


def _applies(rule: ImpliedRule, setting: Setting) -> bool:
    plan = setting.plan
    kinds = {entry.kind for entry in plan.devices}
    if rule.task != DEVICE_UPKEEP and (rule.task not in setting.catalogue.tasks or states(plan, rule.task)):
        return False
    if kinds.intersection(rule.without_devices) or kinds.intersection(rule.replaced_by):
        return False
    if rule.needs == "meals" and not plan.meals:
        return False
    return rule.needs != "lid" or plan.tank.lid != "open"


def _dues_of(rule: ImpliedRule, setting: Setting) -> Iterator[Due]:
    if rule.rhythm in AROUND_EVENTS:
        yield from AROUND_EVENTS[rule.rhythm](rule, setting)
    elif rule.devices:
        for entry in setting.plan.devices:
            skipped = rule.skip_if_number and entry.numbers.get(rule.skip_if_number, 0.0) > 0
            if entry.kind in rule.devices and not skipped and entry.kind in setting.catalogue.devices:
                yield from _device_dues(rule, entry, setting)
    else:
        yield from _tank_dues(rule, setting)


# --- devices ------------------------------------------------------------------------------------------------


def _device_dues(rule: ImpliedRule, entry: DeviceEntry, setting: Setting) -> Iterator[Due]:
    if rule.rhythm == "refill":
        yield from _refill_dues(rule, entry, setting)
        return
    days = setting.presence.days
    if rule.rhythm == "feed":
        due = _feed_days(rule, setting)
        every = days / (len(due) + 1)
    else:
        every = _device_every(rule, entry, setting)
        due = interval_days(every, days=days, from_day=-setting.plan.begun_d)
    line = line_of(rule, setting, entry_id=entry.id, interval_d=max(1.0, every), device=entry)
    for day in due:
        yield Due(line=line, day=day)


def _device_every(rule: ImpliedRule, entry: DeviceEntry, setting: Setting) -> float:
    device = setting.catalogue.devices[entry.kind]
    if rule.rhythm == "device":
        return number(device.upkeep_every_days, f"devices.{device.id}: upkeep_every_days").value
    months = known(device.battery_months)
    if rule.rhythm == "battery" and months is not None:
        return months.value * DAYS_PER_MONTH
    return task_every_d(rule, setting)


def _feed_days(rule: ImpliedRule, setting: Setting) -> list[int]:
    """Days on which something is full that fills with what is fed."""
    food, plan = setting.dry_food_g_per_d, setting.plan
    reference = rule.numbers["reference_g_dry_per_100l_per_d"].value * plan.tank.water_volume_l / 100.0
    shortest, longest = rule.numbers["shortest_days"].value, rule.numbers["longest_days"].value
    usual = task_every_d(rule, setting)
    due: list[int] = []
    at = 0.0
    while True:
        ahead = food[int(at) : int(at) + _FEED_AHEAD_DAYS]
        mean = float(ahead.mean()) if len(ahead) else 0.0
        at += longest if mean <= 0 else min(longest, max(shortest, usual * reference / mean))
        if int(at + 0.5) >= len(food):
            return due
        due.append(int(at + 0.5))


def _refill_dues(rule: ImpliedRule, entry: DeviceEntry, setting: Setting) -> Iterator[Due]:
    """Refills of a feeder, a top-off box or dosing bottles; by the task's rhythm where no drain is known."""
    if entry.id in setting.meals.feeders:
        refills = [each for each in setting.meals.refills if each.device_id == entry.id]
        line = line_of(rule, setting, entry_id=entry.id, interval_d=_mean_gap(refills, setting), device=entry)
        line = replace(line, effect=FeederRefill(device=entry.id), repeats=False)
        yield from _settled(line, refills)
        return
    if rule.task == "feeder_refill":
        return
    holds, drain = _tank_and_drain(rule, entry, setting)
    if holds is None or drain is None or holds <= 0:
        every = task_every_d(rule, setting)
        line = line_of(rule, setting, entry_id=entry.id, interval_d=every, device=entry)
        for day in interval_days(every, days=setting.presence.days, from_day=-setting.plan.begun_d):
            yield Due(line=line, day=day)
        return
    refills = _drained(entry.id, rule.task, setting, share_frac_per_d=drain / holds)
    line = line_of(rule, setting, entry_id=entry.id, interval_d=_mean_gap(refills, setting), device=entry)
    if isinstance(line.effect, TopOffRefill):
        line = replace(line, effect=TopOffRefill(water_l=holds, device=entry.id))
    yield from _settled(replace(line, repeats=False), refills)


def _tank_and_drain(
    rule: ImpliedRule, entry: DeviceEntry, setting: Setting
) -> tuple[float | None, float | None]:
    """Litres a container holds and litres a day that leave it; None where not known."""
    if isinstance(effect_of(rule.task, plan=setting.plan), TopOffRefill):
        holds = reservoir_l(entry, plan=setting.plan, catalogue=setting.catalogue)
        return holds, evaporation_l_per_d(setting.plan)
    return entry.numbers.get("reservoir_l"), entry.numbers.get("dose_l_per_d")


def _drained(device_id: str, task_id: str, setting: Setting, *, share_frac_per_d: float) -> list[Refill]:
    presence = setting.presence
    run = run_container(
        [Draw(day, _LAST_HOUR, share_frac_per_d) for day in range(presence.days)],
        visit_hours=visit_hours(presence, able=setting.doers_of(task_id)),
        longest_days=math.inf,
    )
    slack = tolerated_days(setting.catalogue, task_id)
    return refills_of(run, device_id=device_id, slack_days=slack, days=presence.days)


def _settled(line: Line, refills: list[Refill]) -> Iterator[Due]:
    for refill in refills:
        missed = refill.done_day is None
        yield Due(line=line, day=refill.due_day, done_on=refill.done_day, missed=missed)


def _mean_gap(refills: list[Refill], setting: Setting) -> float:
    return max(1.0, setting.presence.days / (len(refills) + 1))


# --- the tank as a whole ------------------------------------------------------------------------------------


def _tank_dues(rule: ImpliedRule, setting: Setting) -> Iterator[Due]:
    if rule.rhythm == "present_day":
        yield from _looks(rule, setting)
        return
    if rule.animal_kinds and not entries_of(rule, setting):
        return
    every = rule.numbers["every_days"].value if "every_days" in rule.numbers else task_every_d(rule, setting)
    if rule.rhythm == "food":
        every = min(every, trip_every_d(setting.plan, setting.catalogue))
    line = line_of(rule, setting, entry_id=TANK_ENTRY, interval_d=every)
    if isinstance(line.effect, TopOffRefill):
        line = replace(line, effect=replace(line.effect, water_l=every * evaporation_l_per_d(setting.plan)))
    for day in interval_days(every, days=setting.presence.days, from_day=_first_day(rule, setting)):
        yield Due(line=line, day=day)


def _first_day(rule: ImpliedRule, setting: Setting) -> int:
    """When the first animal comes that the work is for; what the tank itself needs begins with the plan."""
    begun = -setting.plan.begun_d
    if not rule.animal_kinds and rule.needs != "meals":
        return begun
    return min((arrival_day(entry, setting) for entry in entries_of(rule, setting)), default=0) or begun


def _looks(rule: ImpliedRule, setting: Setting) -> Iterator[Due]:
    """One look on each day on which somebody is there who can do it."""
    line = replace(line_of(rule, setting, entry_id=KEEPER_ENTRY, interval_d=1.0), look=True, repeats=False)
    there = setting.doers_of(rule.task).anybody.tolist()
    for day in range(setting.presence.days):
        if there[day]:
            yield Due(line=line, day=day, done_on=day)
