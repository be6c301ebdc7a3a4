"""What each animal, meal and device costs or saves in minutes: the plan is simulated without it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.course import Course, run_course
from backreef.judgement.least_food import with_least_food
from backreef.judgement.verdict_hands import MarginalMinutes
from backreef.schedule.without import without_animals, without_device, without_meal
from backreef.simulation.draws import Draws
from backreef.simulation.layout import LANES
from backreef.simulation.workers import Cores
from backreef.units import DAYS_PER_MONTH

Progress = Callable[[int, int], None]


def marginal_minutes(
    plan: Plan, catalogue: Catalogue, *, seed: int, progress: Progress | None = None
) -> tuple[MarginalMinutes, ...]:
    """For each entry of animals, meals and devices the minutes a month with it less those without it.

    The keeper's minutes and helpers' are counted, looks are not. Both runs have the same draws. The dearest
    comes first.
    """
    draws, plan = Draws(seed, LANES), with_least_food(plan, catalogue)
    base = _minutes(run_course(plan, catalogue, draws), plan)
    variants = list(_variants(plan, catalogue))

    def cost(variant: tuple[str, str, str, Plan]) -> MarginalMinutes:
        kind, entry_id, name, other = variant
        change = base - _minutes(run_course(other, catalogue, draws), other)
        low, middle, high = np.percentile(change, [5, 50, 95])
        return MarginalMinutes(
            kind=kind,
            id=entry_id,
            name=name,
            minutes_per_month_p05=float(low),
            minutes_per_month_p50=float(middle),
            minutes_per_month_p95=float(high),
        )

    found = []
    for done, line in enumerate(Cores().each(cost, variants)):
        found.append(line)
        if progress is not None:
            progress(done + 1, len(variants))
    return tuple(sorted(found, key=lambda line: (-line.minutes_per_month_p50, line.id)))


def _minutes(course: Course, plan: Plan) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """(members,) minutes a month of people, by member."""
    months = plan.horizon_days / DAYS_PER_MONTH
    return np.asarray(course.work.people_min / months)


def _variants(plan: Plan, catalogue: Catalogue) -> Iterator[tuple[str, str, str, Plan]]:
    """Kind, id and name of each entry, and the plan without it."""
    for animal in plan.animals:
        name = catalogue.species[animal.species].common_name
        yield "animals", animal.id, f"{animal.count} {name}", without_animals(plan, animal.id)
    for meal in plan.meals:
        yield "meal", meal.id, catalogue.foods[meal.food].name, without_meal(plan, meal.id)
    for device in plan.devices:
        yield "device", device.id, catalogue.devices[device.kind].name, without_device(plan, device.id)
