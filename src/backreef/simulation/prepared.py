"""A plan made ready to march: foods, cohorts, the keeper's schedule and the timeline."""

from __future__ import annotations

from dataclasses import dataclass, replace

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.models.matrix import Matrix, packaged_matrix
from backreef.schedule.build import Schedule as KeeperSchedule
from backreef.schedule.build import build_schedule
from backreef.simulation.bodies import body_of
from backreef.simulation.cohorts import Cohort, cohorts_of
from backreef.simulation.foods import FoodSlot, food_slots
from backreef.simulation.layout import Layout, packaged_layout
from backreef.simulation.rations import ration_function
from backreef.simulation.timeline import Timeline, build_timeline
from backreef.working.record import is_recording, told


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """Everything of a marching plan that does not depend on the members."""

    plan: Plan
    catalogue: Catalogue
    keeper: KeeperSchedule
    foods: tuple[FoodSlot, ...]
    cohorts: list[Cohort]
    timeline: Timeline
    layout: Layout


_MADE_OF = "what it is made of: docs/model.md, components, and models/food_pools.py"


def told_matrix() -> Matrix:
    """Give the matrix; while a working is recorded, its numbers know where they stand."""
    matrix = packaged_matrix()
    if not is_recording():
        return matrix
    tables, components = matrix.tables, matrix.components
    pools = told(tables.macronutrients, "models.food_pools", source=_MADE_OF, status="calc")
    return replace(
        matrix,
        tables=replace(
            tables,
            parameters=told(tables.parameters, "models.parameters", kind="parameter"),
            macronutrients=pools,
        ),
        components=told(components, "models.components", source=_MADE_OF, status="calc"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidOut:
    """Who eats what, and what is done on which day."""

    keeper: KeeperSchedule
    foods: tuple[FoodSlot, ...]
    cohorts: list[Cohort]


def lay_out(plan: Plan, catalogue: Catalogue) -> LaidOut:
    """Turn a plan into foods, cohorts and a schedule."""
    matrix = told_matrix()
    foods = food_slots(plan, catalogue, matrix)
    cohorts = cohorts_of(plan, catalogue, matrix, body_of(matrix), foods)
    keeper = build_schedule(plan, catalogue, ration_g=ration_function(plan, cohorts, foods))
    return LaidOut(keeper=keeper, foods=foods, cohorts=cohorts)


def prepare(plan: Plan, catalogue: Catalogue) -> Prepared:
    """Turn a plan into foods, cohorts, a schedule and a timeline."""
    laid_out, layout = lay_out(plan, catalogue), packaged_layout()
    foods, cohorts, keeper = laid_out.foods, laid_out.cohorts, laid_out.keeper
    timeline = build_timeline(plan, catalogue, keeper, cohorts=cohorts, foods=foods)
    return Prepared(
        plan=plan,
        catalogue=catalogue,
        keeper=keeper,
        foods=foods,
        cohorts=cohorts,
        timeline=timeline,
        layout=layout,
    )
