"""What a forecast shows of food: what meals gave, and what growth fed the clean-up crew."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from backreef.judgement.horizon import horizon_d
from backreef.judgement.outcomes import eaten_by
from backreef.judgement.rules import rule
from backreef.judgement.verdict import CrewLine, MealStream
from backreef.models.mathops import minimum
from backreef.models.mouths import FOOD_POOLS
from backreef.simulation.cohorts import Cohort
from backreef.simulation.ensemble import Members
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import system_number
from backreef.simulation.trajectories import CohortCourse
from backreef.working.members import Seen, middle, seen_once, whole
from backreef.working.number import as_number, total

Array = npt.NDArray[np.float64]
HOURS = 24.0
LEAST_MASS_G = 1e-6


def meal_streams(prepared: Prepared, courses: list[CohortCourse]) -> tuple[MealStream, ...]:
    """Give the grams offered each day by each meal, and the share of its food that was eaten adrift."""
    streams = []
    eaten = {
        food.food.id: total(
            middle(course.eaten_mmol[pool], eaten_by(food.food.name, cohort.species.common_name))
            for cohort, course in zip(prepared.cohorts, courses, strict=True)
            if np.any(course.eaten_mmol[pool])
        )
        for food, pool in zip(prepared.foods, FOOD_POOLS, strict=False)
    }
    given: dict[str, list[float]] = {food: [] for food in eaten}
    carbon = {food.food.id: food.carbon_mmol_per_g for food in prepared.foods}
    grams = {meal.id: np.zeros(prepared.keeper.days) for meal in prepared.plan.meals}
    for occasion in prepared.keeper.meals.occasions:
        grams[occasion.meal_id][occasion.day] += occasion.food_g
        given[occasion.food_id].append(occasion.food_g)
    offered = {food: total(parts) * carbon[food] for food, parts in given.items()}
    for meal in prepared.plan.meals:
        share = eaten[meal.food] / offered[meal.food] if offered[meal.food] > 0 else 0.0
        streams.append(
            MealStream(
                id=meal.id,
                label=prepared.catalogue.foods[meal.food].name,
                by=meal.by,
                grams_as_fed_per_day=grams[meal.id],
                given_days=whole(_given_days(prepared, grams[meal.id])),
                given_g_per_d=_given_g_per_d(prepared, meal.id, grams[meal.id]),
                eaten_share_p50=as_number(minimum(share, 1.0)),
            )
        )
    return tuple(streams)


def _given_days(prepared: Prepared, grams: Array) -> float:
    seen = Seen(symbol="given_days", what="days on which the plan gives the meal", unit="d")
    return seen_once(float((grams > 0).sum()), seen, kind="plan", place=prepared.plan.file)


def _given_g_per_d(prepared: Prepared, meal_id: str, grams: Array) -> float | None:
    if not (grams > 0).any():
        return None
    given = total(each.food_g for each in prepared.keeper.meals.occasions if each.meal_id == meal_id)
    return given / _given_days(prepared, grams)


def _pool(what: str, label: str) -> Seen:
    words = {
        "grown": "that grew over the plan: eaten, and more of it standing",
        "wanted": "that its eaters could hold in a day, if they ate nothing else",
        "eaten": "that its eaters took over the plan",
    }[what]
    return Seen(symbol=what, what=f"{label} {words}", unit="mmol C")


_CREW_POOLS = (
    ("A_F", "film algae", "film_algae_g_dry"),
    ("A_T", "turf and hair algae", "turf_algae_g_dry"),
    ("A_N", "nuisance macroalgae", "nuisance_algae_g_dry"),
)


def crew_lines(
    prepared: Prepared, courses: list[CohortCourse], members: Members, series: Mapping[str, Array]
) -> tuple[CrewLine, ...]:
    """Give, per growth, what its eaters took, what they could take, and what stands."""
    lines = []
    days = horizon_d(prepared)
    for pool, label, standing in _CREW_POOLS:
        eaters = [
            (cohort, course)
            for cohort, course in zip(prepared.cohorts, courses, strict=True)
            if cohort.likings[pool] >= rule("crew_liking_frac")
        ]
        eaten = sum((course.eaten_mmol[pool] for _, course in eaters), np.zeros(members.count))
        wanted = sum(
            (_wanted_mmol_per_d(cohort, course) for cohort, course in eaters), np.zeros(members.count)
        )
        per_g = system_number("algae_carbon_mmol_per_g_dry")
        change = (series[standing][-1] - series[standing][0]) * per_g
        lines.append(
            CrewLine(
                pool=pool,
                label=label,
                eaters=tuple(cohort.species.common_name for cohort, _ in eaters),
                grown_g_dry_per_d_p50=middle(np.maximum(0.0, eaten + change), _pool("grown", label))
                / per_g
                / days,
                wanted_g_dry_per_d_p50=middle(wanted, _pool("wanted", label)) / per_g,
                eaten_g_dry_per_d_p50=middle(eaten, _pool("eaten", label)) / per_g / days,
                standing_series=standing,
            )
        )
    return tuple(lines)


def _wanted_mmol_per_d(cohort: Cohort, course: CohortCourse) -> Array:
    """What the eaters could hold of a growth in a day, if they ate nothing else; the mean of all days."""
    nature = {name: span.value for name, span in cohort.nature.items()}
    size = np.maximum(course.mass_g, LEAST_MASS_G) ** nature["intake_exponent"]
    room = nature["capacity_coefficient"] * np.mean(course.count * size, axis=0, dtype=np.float64)
    return np.asarray(room * HOURS / cohort.gut_hours.value)
