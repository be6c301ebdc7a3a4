"""A plan made ready to march: foods, cohorts, the keeper's schedule and the timeline."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.models.matrix import packaged_matrix
from backreef.schedule.build import Schedule as KeeperSchedule
from backreef.schedule.build import build_schedule
from backreef.simulation.bodies import body_of
from backreef.simulation.cohorts import Cohort, cohorts_of
from backreef.simulation.foods import FoodSlot, food_slots
from backreef.simulation.layout import Layout, packaged_layout
from backreef.simulation.rations import ration_function
from backreef.simulation.timeline import Timeline, build_timeline


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


def prepare(plan: Plan, catalogue: Catalogue) -> Prepared:
    """Turn a plan into foods, cohorts, a schedule and a timeline."""
    matrix, layout = packaged_matrix(), packaged_layout()
    foods = food_slots(plan, catalogue, matrix)
    cohorts = cohorts_of(plan, catalogue, matrix, body_of(matrix), foods)
    keeper = build_schedule(plan, catalogue, ration_g=ration_function(plan, cohorts, foods))
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
