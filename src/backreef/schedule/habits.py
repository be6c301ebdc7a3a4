"""What people honestly drop after a year or two, and plans in which they do."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Literal

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Value
from backreef.errors import Fault, InputFaults

_TABLE = Path(__file__).parent / "data" / "habits.toml"
STOP = "--stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """A task that many drop."""

    task: str
    after_months: Value
    lids: tuple[str, ...]
    """Only under these covers; empty: under any."""
    least_display_l: float
    why: str
    weight: Literal["note", "caution"]

    def concerns(self, plan: Plan) -> bool:
        """Whether the tank is of the sort on which it is dropped."""
        right_lid = not self.lids or plan.tank.lid in self.lids
        return right_lid and plan.tank.display_gross_l >= self.least_display_l


@cache
def habits() -> tuple[Habit, ...]:
    """The table of chores that are dropped."""
    with _TABLE.open("rb") as file:
        entries = tomllib.load(file)["dropped"]
    return tuple(
        Habit(
            task=entry["task"],
            after_months=Value(**entry["after_months"]),
            lids=tuple(entry.get("lid", ())),
            least_display_l=float(entry.get("display_l_at_least", {"value": 0.0})["value"]),
            why=entry["why"],
            weight=entry["weight"],
        )
        for entry in entries
    )


def dropped_after(plan: Plan) -> dict[str, Habit]:
    """Task id -> when many people have dropped it, for the tasks that concern this plan's tank."""
    return {habit.task: habit for habit in habits() if habit.concerns(plan)}


def what_if_stopped(plan: Plan, stops: Mapping[str, float], *, tasks: frozenset[str]) -> Plan:
    """The plan in which the keeper drops tasks after so many months; 0 is from the first day.

    Raises
    ------
    InputFaults
        If a task is none of the catalogue's.
    """
    unknown = sorted(task for task in stops if task not in tasks)
    if unknown:
        words = "is no task of the catalogue; 'backreef catalogue --kind tasks' lists them"
        raise InputFaults(
            Fault(file=plan.file, line=None, key=STOP, message=f"'{task}' {words}") for task in unknown
        )
    keeper = replace(plan.keeper, stops_after={**plan.keeper.stops_after, **stops})
    return replace(plan, keeper=keeper)
