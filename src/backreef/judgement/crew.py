"""How many grazers the tank feeds, season by season, and when they starve: a crew's size from its algae."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from backreef.company.food import FED_BY_TANK
from backreef.judgement.rules import rule
from backreef.judgement.spans import share
from backreef.judgement.verdict import CrewSeason, CrewSize
from backreef.models.mathops import Quantity, maximum
from backreef.simulation.cohorts import Cohort
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import system_number
from backreef.simulation.trajectories import CohortCourse
from backreef.working.members import Seen, point, whole
from backreef.working.number import total
from backreef.working.record import askable

Array = npt.NDArray[np.float64]
_HELD = Seen(symbol="held", what="animals that their food would have held", of="members in which any lived")
YEAR_D = 365
GROWTHS = {"A_F": "film_algae_g_dry", "A_T": "turf_algae_g_dry", "A_N": "nuisance_algae_g_dry"}
LEAST_MMOL = 1e-9
LEAST_SEASON_D = 30
"""Fewer days than this at either end of a plan are no season of their own."""
_FIRST_MONTHS = (1, 4, 7, 10)
QUARTERS = len(_FIRST_MONTHS)


def crew_sizes(
    prepared: Prepared, courses: list[CohortCourse], series: Mapping[str, Array]
) -> tuple[CrewSize, ...]:
    """Give, for each grazer that lives from what grows, how many that could hold and when it starves."""
    found = []
    whole = slice(0, prepared.keeper.days)
    growth = growth_of(courses, series)
    for cohort, course in zip(prepared.cohorts, courses, strict=True):
        liked = lives_from(cohort)
        if not liked or not course.living[cohort.arrives_day :].any():
            continue
        low, middle, high = _spread(held_by_member(course, growth.spare_ratio(liked, whole), whole))
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


def growth_of(courses: Sequence[CohortCourse], series: Mapping[str, Array]) -> Growth:
    """Give what grew and what was eaten of it in all members."""
    return Growth(
        eaters={pool: eaters_of(courses, pool) for pool in GROWTHS},
        grazed_mmol=lambda slot, pool, day: courses[slot].grazed_mmol[pool][day].astype(np.float64),
        standing_g=lambda pool, day: series[GROWTHS[pool]][day],
    )


def eaters_of(courses: Sequence[CohortCourse], pool: str) -> tuple[int, ...]:
    """Give the cohorts that eat of a growth, by their numbers."""
    return tuple(slot for slot, course in enumerate(courses) if pool in course.grazed_mmol)


def lives_from(cohort: Cohort) -> tuple[str, ...]:
    """Give the growths that a cohort lives from; none of what is neither crew nor fed by the tank."""
    if cohort.species.kind == "fish" and cohort.species.forage_replaces not in FED_BY_TANK:
        return ()
    return tuple(pool for pool in GROWTHS if cohort.likings[pool] >= rule("crew_liking_frac"))


def quarters(start_on: date, days: int) -> list[slice]:
    """Give the quarters of the calendar as days of a plan; a stub at either end joins its neighbour."""
    cuts = [
        day
        for day in range(1, days)
        if (on := start_on + timedelta(days=day)).day == 1 and on.month in _FIRST_MONTHS
    ]
    cuts = [cut for cut in cuts if cut >= LEAST_SEASON_D and days - cut >= LEAST_SEASON_D]
    return [slice(first, last) for first, last in pairwise([0, *cuts, days])]


def _seasons(
    start_on: date, course: CohortCourse, growth: Growth, liked: Sequence[str]
) -> Iterator[CrewSeason]:
    """Quarter after quarter, each with how many find enough in it and the three after it."""
    parts = quarters(start_on, len(course.count))
    thin = _thin_too_long(course)
    held = [_spread(held_by_member(course, growth.spare_ratio(liked, part), part)) for part in parts]
    for number, part in enumerate(parts):
        low, middle, high = held[number]
        yield CrewSeason(
            first_on=start_on + timedelta(days=part.start),
            last_on=start_on + timedelta(days=part.stop - 1),
            held_count_p05=low,
            held_count_p50=middle,
            held_count_p95=high,
            starving_share=_hit(thin[part]),
            lasting_count=_lasting([each[1] for each in held[number : number + QUARTERS]]),
        )


def _lasting(year: list[float]) -> int | None:
    """Animals that find enough over four quarters; None where fewer lie ahead or one is not known."""
    if len(year) < QUARTERS or not all(map(math.isfinite, year)):
        return None
    if min(year) <= 0:
        return 0
    return whole(lasting_heads(year))


@askable
def lasting_heads(year: Sequence[float]) -> float:
    """Animals that find enough over four quarters, of those that each quarter would hold; whole ones count.

    Validity
    --------
    The harmonic mean, in which a lean quarter counts for more than a rich one: what stands of algae, and the
    animals' reserves, bridge a lean quarter only in part.

    Source
    ------
    Own rule: `crew_fed_frac`.
    """
    return len(year) / total(1.0 / held for held in year) / rule("crew_fed_frac")


@dataclass(frozen=True, slots=True)
class Growth:
    """What grew and what was eaten of it by all, of every member or of one."""

    eaters: Mapping[str, Sequence[int]]
    """Growth -> the cohorts that like it, by their numbers."""
    grazed_mmol: Callable[[int, str, int], Quantity]
    """What a cohort had eaten of a growth by the end of a day."""
    standing_g: Callable[[str, int], Quantity]
    """What stood of a growth at the end of a day."""

    def spare_ratio(self, liked: Sequence[str], part: slice) -> Quantity:
        """What grew of the liked algae over what was eaten of them in some days."""
        first, last = max(part.start - 1, 0), part.stop - 1
        eaten = total(
            self.grazed_mmol(slot, pool, last) - self.grazed_mmol(slot, pool, first)
            for pool in liked
            for slot in self.eaters[pool]
        )
        change = total(self.standing_g(pool, last) - self.standing_g(pool, first) for pool in liked)
        return spare_growth_ratio(eaten, change)


@askable
def spare_growth_ratio(eaten_mmol: Quantity, change_g: Quantity) -> Quantity:
    """What grew of the liked algae over what was eaten of them: 1 where all of it was. [-]

    Validity
    --------
    What died by itself or was harvested is not counted as grown.

    Source
    ------
    Definition.
    """
    change_mmol = change_g * system_number("algae_carbon_mmol_per_g_dry")
    return maximum(eaten_mmol + change_mmol, 0.0) / maximum(eaten_mmol, LEAST_MMOL)


@dataclass(frozen=True, slots=True)
class Lived:
    """Some days of a cohort, added up over those on which any lived, (members,)."""

    days: Array
    heads_d: Array
    met_d: Array


def lived(course: CohortCourse, part: slice) -> Lived:
    """Give the days on which any lived, how many they were and how far their need was met, added up."""
    living = course.living[part]
    return Lived(
        days=np.asarray(living.sum(axis=0), dtype=np.float64),
        heads_d=np.where(living, course.count[part], 0.0).sum(axis=0),
        met_d=np.where(living, course.energy_met[part], 0.0).sum(axis=0),
    )


@askable
def held_heads(heads_d: Quantity, met_d: Quantity, lived_d: Quantity, spare_ratio: Quantity) -> Quantity:
    """Animals that their food would have held: those there, by how far their need was met and what was left.

    Validity
    --------
    Mean of the days on which any lived; its other food counts as found. What grows is taken as it was with
    the eaters that were there: many more of them would crop it shorter, and it would grow less.

    Source
    ------
    Own rule: a grazer that gets half of its need is twice too many.
    """
    return heads_d / lived_d * met_d / lived_d * spare_ratio


def held_by_member(course: CohortCourse, spare_ratio: Array, part: slice) -> Array:
    """Give animals that their food would have held; not a number in members in which none lived then."""
    there = lived(course, part)
    held = held_heads(there.heads_d, there.met_d, np.maximum(there.days, 1.0), spare_ratio)
    return np.asarray(np.where(there.days > 0, held, np.nan))


def _spread(held: Array) -> tuple[float, float, float]:
    """The 5, 50 and 95 % points of the members in which any lived; not a number where in none."""
    known = held[np.isfinite(held)]
    if not known.size:
        return math.nan, math.nan, math.nan
    low, middle, high = (point(known, percent, _HELD) for percent in (5, 50, 95))
    return low, middle, high


def _hit(days: npt.NDArray[np.bool_]) -> float:
    """Share of the members that any of these days hits."""
    return share(np.asarray(days.any(axis=0)))


def _thin_too_long(course: CohortCourse) -> npt.NDArray[np.bool_]:
    """Days on which it has been thin for as long as counts, (days, members)."""
    thin = course.living & (course.fullness < rule("hungry_fullness_ratio"))
    days = int(rule("hungry_d"))
    counted = np.cumsum(thin, axis=0, dtype=np.int64)
    before = np.zeros_like(counted)
    before[days:] = counted[:-days]
    return np.asarray(counted - before >= days)
