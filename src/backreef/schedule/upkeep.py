"""Lines of work from the plan's own [[upkeep]] entries, and from tasks of the catalogue in general."""

from __future__ import annotations

from dataclasses import replace

from backreef.aquarium.plan import BY_HAND, DeviceEntry, Plan, Rhythm, Upkeep
from backreef.catalogue.entries import Catalogue, Task, known
from backreef.errors import BackreefError
from backreef.schedule.effects import TopOffRefill, effect_of, share_frac_of
from backreef.schedule.presence import Presence
from backreef.schedule.rhythm import due_days, mean_interval_d
from backreef.schedule.tables import ImpliedRule, implied_rules, value_or_none
from backreef.schedule.work import Line, device_line
from backreef.schedule.workload import (
    Minutes,
    own_minutes,
    setup_group_of,
    setup_minutes_of,
    task_minutes,
)

_TOP_OFF = "ato_refill"


class UnknownTask(BackreefError):
    """The plan states a task that the catalogue does not have."""

    def __init__(self, upkeep: Upkeep) -> None:
        super().__init__(f"upkeep.{upkeep.id}: there is no task '{upkeep.task}' in the catalogue")


def upkeep_line(upkeep: Upkeep, *, plan: Plan, catalogue: Catalogue) -> Line:
    """The line of work of one [[upkeep]] entry."""
    task = catalogue.tasks.get(upkeep.task)
    if task is None:
        raise UnknownTask(upkeep)
    interval_d = mean_interval_d(upkeep.rhythm)
    effect = effect_of(task.id, plan=plan, upkeep=upkeep)
    if isinstance(effect, TopOffRefill) and upkeep.amount_l is None:
        effect = _top_off_by_hand(plan, catalogue, interval_d=interval_d)
    if upkeep.by != BY_HAND:
        line = device_line(
            entry_id=upkeep.id, task_id=task.id, name=task.name, device=upkeep.by, interval_d=interval_d
        )
        return replace(line, effect=effect, condition=upkeep.when, at_hour=upkeep.at_hour)
    share = share_frac_of(task.id, plan=plan, upkeep=upkeep)
    own = upkeep.minutes
    worked = task_minutes(
        task, plan=plan, share_frac=share, factor_ratio=device_factor_ratio(task.id, plan=plan)
    )
    line = task_line(
        task, entry_id=upkeep.id, minutes=worked if own is None else own_minutes(own), interval_d=interval_d
    )
    return replace(
        line,
        setup_minutes=line.setup_minutes if own is None else 0.0,
        effect=effect,
        condition=upkeep.when,
        at_hour=upkeep.at_hour,
        pinned=upkeep.rhythm.kind != "interval",
        within_days=upkeep.within_days,
        companion=_companion(upkeep, plan=plan, catalogue=catalogue, share_frac=share)
        if own is None
        else None,
    )


def due_when_there(rhythm: Rhythm, *, presence: Presence, begun_d: int = 0) -> list[int]:
    """Days on which a rhythm falls due; for the keeper's days only where it says so."""
    due = due_days(rhythm, start_on=presence.start_on, days=presence.days, begun_d=begun_d)
    return [day for day in due if presence.present[day]] if rhythm.only_when_present else due


def task_line(task: Task, *, entry_id: str, minutes: Minutes, interval_d: float) -> Line:
    """A line of people's work by a task of the catalogue."""
    return Line(
        entry_id=entry_id,
        task_id=task.id,
        name=task.name,
        minutes=minutes,
        setup_minutes=setup_minutes_of(task),
        setup_group=setup_group_of(task.id),
        needs_presence=task.needs_presence,
        look=task.look,
        interval_d=interval_d,
        tolerated_days=value_or_none(task.tolerated_missed_days),
    )


def states(plan: Plan, task_id: str) -> bool:
    """Whether the plan itself says when this task is done."""
    return any(upkeep.task == task_id for upkeep in plan.upkeep)


def evaporation_l_per_d(plan: Plan) -> float:
    """Water that leaves the whole system into the room. [L/d]"""
    return plan.tank.evaporation_frac_per_d * plan.tank.water_volume_l


def reservoir_l(entry: DeviceEntry, *, plan: Plan, catalogue: Catalogue) -> float | None:
    """Litres a top-off reservoir holds: the plan's, else enough for the days it usually runs alone. [L]"""
    if "reservoir_l" in entry.numbers:
        return entry.numbers["reservoir_l"] * entry.count
    days = known(catalogue.devices[entry.kind].runs_unattended_days)
    return None if days is None else days.value * evaporation_l_per_d(plan)


def _top_off_by_hand(plan: Plan, catalogue: Catalogue, *, interval_d: float) -> TopOffRefill:
    """A stated refill: of the plan's reservoir where it has one, else of the tank itself."""
    kinds = {kind for rule in implied_rules() if rule.task == _TOP_OFF for kind in rule.devices}
    for entry in plan.devices:
        holds_l = reservoir_l(entry, plan=plan, catalogue=catalogue) if entry.kind in kinds else None
        if holds_l is not None:
            return TopOffRefill(water_l=holds_l, device=entry.id)
    return TopOffRefill(water_l=evaporation_l_per_d(plan) * interval_d, device=None)


def device_factor_ratio(task_id: str, *, plan: Plan) -> float:
    """How many times a task is there by the number of its devices; 1 where the number does not matter."""
    factor = 0.0
    for rule in implied_rules():
        if rule.task == task_id and rule.per_count:
            count = sum(entry.count for entry in plan.devices if entry.kind in rule.devices)
            factor += count_factor_ratio(rule, count=count)
    return factor if factor > 0 else 1.0


def count_factor_ratio(rule: ImpliedRule, *, count: int) -> float:
    """Factor on the minutes of a rule for this number of devices."""
    if not rule.per_count:
        return 1.0
    reference = rule.numbers.get("reference_count")
    return count / reference.value if reference is not None else float(count)


def _companion(upkeep: Upkeep, *, plan: Plan, catalogue: Catalogue, share_frac: float | None) -> Line | None:
    """Work that comes along with a stated task, unless the plan states it or the keeper refuses it."""
    for rule in implied_rules():
        task = catalogue.tasks.get(rule.task)
        left = task is None or states(plan, rule.task) or rule.task in plan.keeper.refuses
        if rule.rhythm != "with_task" or rule.with_task != upkeep.task or left or task is None:
            continue
        minutes = task_minutes(task, plan=plan, share_frac=share_frac)
        line = task_line(task, entry_id=upkeep.id, minutes=minutes, interval_d=mean_interval_d(upkeep.rhythm))
        return replace(line, condition=upkeep.when, at_hour=upkeep.at_hour)
    return None
