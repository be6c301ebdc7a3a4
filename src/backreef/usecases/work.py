"""The work of a plan, laid on its days without simulating the tank."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.build import Schedule

if TYPE_CHECKING:
    from backreef.judgement.verdict import Forecast

Progress = Callable[[str, int, int], None]


def lay_out(plan: Plan, catalogue: Catalogue) -> Schedule:
    """Who is there, what is fed and what is done on each day of a plan; rations are what the animals need."""
    from backreef.simulation.prepared import prepare

    return prepare(plan, catalogue).keeper


def with_marginal_minutes(forecast: Forecast, plan: Plan, *, progress: Progress | None = None) -> Forecast:
    """The forecast of a plan with what each of its animals, meals and devices costs or saves in minutes."""
    from backreef.judgement.marginal import marginal_minutes
    from backreef.usecases.check import catalogue_of

    def tell(done: int, total: int) -> None:
        if progress is not None:
            progress("the plan without each of its parts", done, total)

    found = marginal_minutes(plan, catalogue_of(plan), seed=forecast.seed, progress=tell)
    return replace(forecast, minutes=replace(forecast.minutes, marginal=found))


def stopping(plan: Plan, stops: Mapping[str, float]) -> Plan:
    """The plan in which the keeper drops tasks after so many months.

    Raises
    ------
    InputFaults
        For tasks that the catalogue has not.
    """
    if not stops:
        return plan
    from backreef.schedule.habits import what_if_stopped
    from backreef.usecases.check import catalogue_of

    return what_if_stopped(plan, stops, tasks=frozenset(catalogue_of(plan).tasks))


def lay_out_file(path: str | Path) -> tuple[Plan, Schedule, Catalogue]:
    """A plan of a file with its work and the catalogue that it was read with.

    Raises
    ------
    InputFaults
        With every fault of the file.
    """
    from backreef.usecases.check import catalogue_of, load_plan

    plan = load_plan(path)
    catalogue = catalogue_of(plan)
    return plan, lay_out(plan, catalogue), catalogue
