"""The work of a plan, laid on its days without simulating the tank."""

from __future__ import annotations

from pathlib import Path

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.build import Schedule


def lay_out(plan: Plan, catalogue: Catalogue) -> Schedule:
    """Who is there, what is fed and what is done on each day of a plan; rations are what the animals need."""
    from backreef.simulation.prepared import prepare

    return prepare(plan, catalogue).keeper


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
