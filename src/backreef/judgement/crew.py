"""How many grazers the tank feeds, and in which years they starve: the size of a crew from its own algae."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import numpy.typing as npt

from backreef.judgement.rules import rule
from backreef.judgement.spans import first_run_end, share
from backreef.judgement.verdict import CrewSize
from backreef.simulation.cohorts import Cohort
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import system_number
from backreef.simulation.trajectories import CohortCourse

Array = npt.NDArray[np.float64]
YEAR_D = 365
GROWTHS = {"A_F": "film_algae_g_dry", "A_T": "turf_algae_g_dry", "A_N": "nuisance_algae_g_dry"}
LEAST_MMOL = 1e-9


def crew_sizes(
    prepared: Prepared, courses: list[CohortCourse], series: Mapping[str, Array]
) -> tuple[CrewSize, ...]:
    """Give, for each grazer that is no fish, how many what grew could hold and when it starves."""
    found = []
    for cohort, course in zip(prepared.cohorts, courses, strict=True):
        liked = [pool for pool in GROWTHS if cohort.likings[pool] >= rule("crew_liking_frac")]
        if cohort.species.kind == "fish" or not liked or not course.living[cohort.arrives_day :].any():
            continue
        held = _held(cohort, course, _spare_ratio(liked, courses, series))
        low, middle, high = (float(np.percentile(held, percent)) for percent in (5, 50, 95))
        found.append(
            CrewSize(
                animal_id=cohort.entry.id,
                common_name=cohort.species.common_name,
                count=cohort.entry.count,
                held_count_p05=low,
                held_count_p50=middle,
                held_count_p95=high,
                starving_share_by_year=tuple(_starving(cohort, course)),
            )
        )
    return tuple(found)


def _spare_ratio(liked: list[str], courses: list[CohortCourse], series: Mapping[str, Array]) -> Array:
    """What grew of the liked algae over what was eaten of them, in each member."""
    per_g = system_number("algae_carbon_mmol_per_g_dry")
    eaten = sum((course.eaten_mmol[pool] for course in courses for pool in liked), np.zeros(1))
    change = sum(
        ((series[GROWTHS[pool]][-1] - series[GROWTHS[pool]][0]) * per_g for pool in liked), np.zeros(1)
    )
    return np.asarray(np.maximum(0.0, eaten + change) / np.maximum(eaten, LEAST_MMOL))


def _held(cohort: Cohort, course: CohortCourse, spare_ratio: Array) -> Array:
    """Animals that its food would have held: those there, by how far their need was met and what was left.

    Validity
    --------
    Mean of the days on which any lived; its other food counts as found.

    Source
    ------
    Own rule: a grazer that gets half of its need is twice too many.
    """
    since = cohort.arrives_day
    living, count = course.living[since:], course.count[since:]
    days = np.maximum(living.sum(axis=0), 1)
    heads = np.where(living, count, 0.0).sum(axis=0) / days
    met = np.where(living, course.energy_met[since:], 0.0).sum(axis=0) / days
    return np.asarray(heads * met * spare_ratio)


def _starving(cohort: Cohort, course: CohortCourse) -> Iterator[float]:
    """Share of the members in which it is thin for too long, year after year of the plan."""
    thin = course.living & (course.fullness < rule("hungry_fullness_ratio"))
    for first in range(0, len(thin), YEAR_D):
        if first + YEAR_D <= cohort.arrives_day:
            yield 0.0
        else:
            yield share(first_run_end(thin[first : first + YEAR_D], int(rule("hungry_d"))) >= 0)
