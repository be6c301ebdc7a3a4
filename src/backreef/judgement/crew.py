"""How many grazers the tank feeds, season by season, and when they starve: a crew's size from its algae."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from backreef.company.food import FED_BY_TANK
from backreef.judgement.rules import rule
from backreef.judgement.spans import share
from backreef.judgement.verdict import CrewSeason, CrewSize
from backreef.simulation.cohorts import Cohort
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import system_number
from backreef.simulation.trajectories import CohortCourse

Array = npt.NDArray[np.float64]
YEAR_D = 365
GROWTHS = {"A_F": "film_algae_g_dry", "A_T": "turf_algae_g_dry", "A_N": "nuisance_algae_g_dry"}
LEAST_MMOL = 1e-9
LEAST_SEASON_D = 30
"""Fewer days than this at either end of a plan are no season of their own."""
_FIRST_MONTHS = (1, 4, 7, 10)
_NONE: Array = np.zeros(1)


def crew_sizes(
    prepared: Prepared, courses: list[CohortCourse], series: Mapping[str, Array]
) -> tuple[CrewSize, ...]:
    """Give, for each grazer that lives from what grows, how many that could hold and when it starves."""
    found = []
    whole = slice(0, prepared.keeper.days)
    growth = _Growth(courses=courses, series=series)
    for cohort, course in zip(prepared.cohorts, courses, strict=True):
        liked = [pool for pool in GROWTHS if cohort.likings[pool] >= rule("crew_liking_frac")]
        if not liked or not _is_fed_by_tank(cohort) or not course.living[cohort.arrives_day :].any():
            continue
        low, middle, high = _spread(_held(course, growth.spare_ratio(liked, whole), whole))
        thin = _thin_too_long(course)
        found.append(
            CrewSize(
                animal_id=cohort.entry.id,
                common_name=cohort.species.common_name,
                count=cohort.entry.count,
                held_count_p05=low,
                held_count_p50=middle,
                held_count_p95=high,
                starving_share_by_year=tuple(
                    _hit(thin[first : first + YEAR_D]) for first in range(0, len(thin), YEAR_D)
                ),
                seasons=tuple(_seasons(prepared.plan.start_on, course, growth, liked)),
            )
        )
    return tuple(found)


def _is_fed_by_tank(cohort: Cohort) -> bool:
    """Whether it is crew, or a fish that lives mostly from what grows."""
    return cohort.species.kind != "fish" or cohort.species.forage_replaces in FED_BY_TANK


def quarters(start_on: date, days: int) -> list[slice]:
    """Give the quarters of the calendar as days of a plan; a stub at either end joins its neighbour."""
    cuts = [
        day
        for day in range(1, days)
        if (on := start_on + timedelta(days=day)).day == 1 and on.month in _FIRST_MONTHS
    ]
    cuts = [cut for cut in cuts if cut >= LEAST_SEASON_D and days - cut >= LEAST_SEASON_D]
    return [slice(first, last) for first, last in pairwise([0, *cuts, days])]


def _seasons(start_on: date, course: CohortCourse, growth: _Growth, liked: list[str]) -> Iterator[CrewSeason]:
    """Quarter after quarter, each with how many find enough in it and the three after it."""
    parts = quarters(start_on, len(course.count))
    thin = _thin_too_long(course)
    held = [_spread(_held(course, growth.spare_ratio(liked, part), part)) for part in parts]
    for number, part in enumerate(parts):
        low, middle, high = held[number]
        yield CrewSeason(
            first_on=start_on + timedelta(days=part.start),
            last_on=start_on + timedelta(days=part.stop - 1),
            held_count_p05=low,
            held_count_p50=middle,
            held_count_p95=high,
            starving_share=_hit(thin[part]),
            lasting_count=_lasting([each[1] for each in held[number : number + len(_FIRST_MONTHS)]]),
        )


def _lasting(year: list[float]) -> int | None:
    """Animals that find enough over four quarters; None where fewer lie ahead or one is not known.

    Validity
    --------
    The harmonic mean, in which a lean quarter counts for more than a rich one: what stands of algae, and the
    animals' reserves, bridge a lean quarter only in part.

    Source
    ------
    Own rule: `crew_fed_frac`.
    """
    if len(year) < len(_FIRST_MONTHS) or not all(map(math.isfinite, year)):
        return None
    if min(year) <= 0:
        return 0
    return int(len(year) / sum(1.0 / held for held in year) / rule("crew_fed_frac"))


@dataclass(frozen=True, slots=True)
class _Growth:
    """What grew and what was eaten of it by all."""

    courses: list[CohortCourse]
    series: Mapping[str, Array]

    def spare_ratio(self, liked: list[str], part: slice) -> Array:
        """What grew of the liked algae over what was eaten of them in some days, in each member."""
        per_g = system_number("algae_carbon_mmol_per_g_dry")
        eaten = sum(
            (self._over(course.grazed_mmol[pool], part) for course, pool in self._eaters(liked)), _NONE
        )
        change = sum((self._over(self.series[GROWTHS[pool]] * per_g, part) for pool in liked), _NONE)
        return np.asarray(np.maximum(0.0, eaten + change) / np.maximum(eaten, LEAST_MMOL))

    def _eaters(self, liked: list[str]) -> Iterator[tuple[CohortCourse, str]]:
        for course in self.courses:
            yield from ((course, pool) for pool in liked if pool in course.grazed_mmol)

    @staticmethod
    def _over(values: Array, part: slice) -> Array:
        """How much a daily value changed from before the first of some days to the end of the last."""
        return np.asarray(values[part.stop - 1] - values[max(part.start - 1, 0)], dtype=np.float64)


def _held(course: CohortCourse, spare_ratio: Array, part: slice) -> Array:
    """Animals that their food would have held: those there, by how far their need was met and what was left.

    Not a number in members in which none lived in these days.

    Validity
    --------
    Mean of the days on which any lived; its other food counts as found. What grows is taken as it was with
    the eaters that were there: many more of them would crop it shorter, and it would grow less.

    Source
    ------
    Own rule: a grazer that gets half of its need is twice too many.
    """
    living = course.living[part]
    days = living.sum(axis=0)
    heads = np.where(living, course.count[part], 0.0).sum(axis=0)
    met = np.where(living, course.energy_met[part], 0.0).sum(axis=0)
    least = np.maximum(days, 1)
    return np.asarray(np.where(days > 0, heads / least * met / least * spare_ratio, np.nan))


def _spread(held: Array) -> tuple[float, float, float]:
    """The 5, 50 and 95 % points of the members in which any lived; not a number where in none."""
    known = held[np.isfinite(held)]
    if not known.size:
        return math.nan, math.nan, math.nan
    low, middle, high = (float(np.percentile(known, percent)) for percent in (5, 50, 95))
    return low, middle, high


def _hit(days: npt.NDArray[np.bool_]) -> float:
    """Share of the members that any of these days hits."""
    return share(np.asarray(days.any(axis=0)))


def _thin_too_long(course: CohortCourse) -> npt.NDArray[np.bool_]:
    """Days on which it has been thin for as long as counts, (days, members)."""
    thin = course.living & (course.fullness < rule("hungry_fullness_ratio"))
    days = int(rule("hungry_d"))
    total = np.cumsum(thin, axis=0, dtype=np.int64)
    before = np.zeros_like(total)
    before[days:] = total[:-days]
    return np.asarray(total - before >= days)
