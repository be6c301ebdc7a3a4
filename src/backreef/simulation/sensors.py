"""When somebody looks at the machines, and whether a top-off may flood the floor when its sensor sticks."""

from __future__ import annotations

from itertools import pairwise

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.build import Schedule
from backreef.schedule.effects import SensorClean
from backreef.simulation.system import brim_l, top_offs
from backreef.simulation.tables import system_table

LOOK = "equipment_look"


def looks(keeper: Schedule) -> frozenset[int]:
    """Give the days on which somebody looks at the machines, and so sees what stands or sticks."""
    return frozenset(
        chore.done_day for chore in keeper.chores if chore.task_id == LOOK and chore.done_day is not None
    )


def may_flood(plan: Plan, catalogue: Catalogue, keeper: Schedule) -> bool:
    """Whether the reservoir holds more than the tank has room for, and its sensor is left for long enough."""
    holds_l = sum(top_offs(plan, catalogue).values())
    if holds_l <= brim_l(plan) - plan.tank.water_volume_l:
        return False
    wiped = {
        chore.done_day
        for chore in keeper.chores
        if isinstance(chore.effect, SensorClean) and chore.done_day is not None
    }
    span = system_table()["float_bears_d"].span
    bears_d = span.value if span.low is None else span.low
    return any(until - since >= bears_d for since, until in pairwise(sorted({0, keeper.days} | wiped)))
