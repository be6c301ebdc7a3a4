"""What a forecast shows of animals, corals included."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import numpy.typing as npt

from backreef.catalogue.entries import known
from backreef.judgement.losses import losses_of
from backreef.judgement.rules import rule
from backreef.judgement.verdict import AnimalOutcome, Band
from backreef.models.mathops import Quantity, maximum, minimum
from backreef.models.mouths import BOTTOM, FOOD_POOLS, POOLS
from backreef.simulation.cohorts import Cohort
from backreef.simulation.foods import FoodSlot
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import animal_number
from backreef.simulation.trajectories import CohortCourse
from backreef.working.members import Seen, mean, middle, point, seen_once, whole_point
from backreef.working.number import total
from backreef.working.record import askable

Array = npt.NDArray[np.float64]
_LEFT = Seen(symbol="left", what="animals that live at the end")
_LENGTH = Seen(symbol="length_cm", what="length of one at the end", unit="cm", of="members with any left")
_CONDITION = Seen(symbol="condition", what="condition since it has settled", of="days of all members")
_CONDITION_END = Seen(symbol="condition_end", what="condition at the end")
_MET = Seen(symbol="met", what="energy got over the need, since it has settled", of="days of all members")
_PROTEIN = Seen(symbol="protein_met", what="protein eaten over the need", of="days of all members")
_SURFACE = Seen(symbol="surface_ratio", what="living surface over that on arrival", of="days of all members")
_LIT = Seen(symbol="by_light", what="what lives on light is taken to live on it alone: all of its need")
LEAST_AREA_M2 = 1e-9
POOL_WORDS = {
    BOTTOM: "food on the bottom",
    "A_F": "film algae",
    "A_T": "turf",
    "A_N": "macroalgae",
    "A_C": "coralline",
    "X_DL": "detritus",
    "Z_PC": "copepods",
    "Z_PA": "amphipods",
    "X_POM": "particles",
}


def _band(values: Array) -> Band:
    low, middle, high = np.percentile(values, [5, 50, 95], axis=1)
    return Band(p05=low, p50=middle, p95=high)


def pool_words(foods: Sequence[FoodSlot]) -> dict[str, str]:
    """Give what a keeper calls each pool of food, with the foods of a plan."""
    named = {pool: slot.food.name for pool, slot in zip(FOOD_POOLS, foods, strict=False)}
    return {**POOL_WORDS, **named}


def animal_outcomes(
    prepared: Prepared,
    courses: list[CohortCourse],
    series: Mapping[str, Array],
    proteins: Mapping[str, npt.NDArray[np.float32]] | None = None,
) -> tuple[AnimalOutcome, ...]:
    """Give what became of each entry of the plan's animals, corals included."""
    slots = {cohort.entry.id: slot for slot, cohort in enumerate(prepared.cohorts)}
    outcomes = []
    for entry in prepared.plan.animals:
        if entry.id in slots:
            found = _cohort_outcome(prepared, courses[slots[entry.id]], slots[entry.id])
            protein = (proteins or {}).get(entry.id)
            if protein is not None:
                settled = settled_days(prepared, prepared.cohorts[slots[entry.id]])
                found = replace(found, protein_met_share_p50=middle(protein[settled], _PROTEIN))
            outcomes.append(found)
        else:
            outcomes.append(_surface_outcome(prepared, entry.id, series))
    return tuple(outcomes)


def days_shown(course: CohortCourse) -> npt.NDArray[np.int64]:
    """Give the day whose value is shown on each, (days, members): once all are gone, the last with any."""
    gone = ~course.living & (course.lost > 0)
    gone[0] = False
    return np.asarray(np.maximum.accumulate(np.where(gone, 0, np.arange(len(gone))[:, None]), axis=0))


def alive(values: Array, course: CohortCourse) -> Array:
    """Values while animals live; then the last one is held, so that bands stay readable."""
    return np.take_along_axis(values, days_shown(course), axis=0)


def settled_days(prepared: Prepared, cohort: Cohort) -> slice:
    """Give the days of a plan after which a cohort is taken to have settled."""
    return slice(min(cohort.arrives_day + int(rule("settled_after_d")), prepared.keeper.days - 1), None)


@askable
def ration_g_dry_per_d(eaten_mmol_c: Quantity, *, days_there: int) -> Quantity:
    """Dry mass that was eaten on a day, the mean of those that the animals were there. [g/d]

    Validity
    --------
    Of all animals of an entry together, with the carbon of a mean food.

    Source
    ------
    Definition.
    """
    return eaten_mmol_c / animal_number("food_carbon_mmol_per_g") / days_there


def days_there(prepared: Prepared, cohort: Cohort) -> int:
    """Give the days of a plan on which a cohort is there."""
    return max(1, prepared.keeper.days - cohort.arrives_day)


def _cohort_outcome(prepared: Prepared, course: CohortCourse, slot: int) -> AnimalOutcome:
    cohort = prepared.cohorts[slot]
    words, living = pool_words(prepared.foods), course.living
    eaten = {
        pool: middle(course.eaten_mmol[pool], eaten_by(words.get(pool, pool), cohort.species.common_name))
        for pool in POOLS
        if np.any(course.eaten_mmol[pool])
    }
    in_all = total(eaten.values())
    shares = sorted(
        ((words.get(pool, pool), part / in_all) for pool, part in eaten.items() if in_all > 0),
        key=lambda p: -p[1],
    )
    adult = known(cohort.species.adult_length_cm)
    lived = living[cohort.arrives_day :]
    condition = alive(course.condition, course)
    met = alive(course.energy_met, course)
    after = settled_days(prepared, cohort)
    arrives = cohort.entry.arrives_on
    return AnimalOutcome(
        id=cohort.entry.id,
        species=cohort.species.id,
        common_name=cohort.species.common_name,
        kind=cohort.species.kind,
        arrives_on=arrives,
        already_there=cohort.settled,
        count_start=cohort.entry.count,
        count_end_p50=whole_point(course.count[-1], 50, _LEFT),
        count_end_p05=whole_point(course.count[-1], 5, _LEFT),
        count_end_p95=whole_point(course.count[-1], 95, _LEFT),
        alive_end_share=mean(course.count[-1], _LEFT) / cohort.entry.count,
        length_start_cm=cohort.length_cm,
        length_end_cm_p50=middle(course.length_cm[-1][living[-1]], _LENGTH) if living[-1].any() else None,
        adult_length_cm=adult.value if adult else None,
        condition_p50=middle(condition[after], _CONDITION) if lived.any() else 0.0,
        condition_end_p05=point(condition[-1], 5, _CONDITION_END),
        energy_met_share_p50=middle(met[after], _MET) if lived.any() else 0.0,
        ration_g_dry_per_d_p50=ration_g_dry_per_d(in_all, days_there=days_there(prepared, cohort)),
        eats=tuple((name, part) for name, part in shares if part >= rule("shown_share_frac")),
        condition=_band(condition),
        energy_met=_band(met),
        losses=losses_of(prepared, cohort),
    )


def eaten_by(food: str, who: str) -> Seen:
    """Name in a working what is read of the members: a food that an animal ate over the plan."""
    return Seen(symbol="eaten", what=f"{food} eaten by {who} over the plan", unit="mmol C")


@askable
def surface_shown(area_m2: Quantity, first_m2: Quantity) -> Quantity:
    """Living surface over that on arrival, as far as it is worth showing. [-]

    Validity
    --------
    Corals, anemones and clams share one living surface: its growth stands for all of them.

    Source
    ------
    Own rule: `coral_shown_ratio`.
    """
    return minimum(area_m2 / maximum(first_m2, LEAST_AREA_M2), rule("coral_shown_ratio"))


def first_shown_day(arrives_on: date | None, start_on: date, days: int) -> int:
    """Give the day of a plan from which on the surface of what came is compared with what it was."""
    first = 0 if arrives_on is None else max(0, (arrives_on - start_on).days + 1)
    return min(first, days - 1)


def _surface_outcome(prepared: Prepared, entry_id: str, series: Mapping[str, Array]) -> AnimalOutcome:
    """Corals, anemones and clams share one living surface: its growth stands for all of them."""
    entry = next(each for each in prepared.plan.animals if each.id == entry_id)
    species = prepared.catalogue.species[entry.species]
    area = series["coral_area_m2"]
    first = first_shown_day(entry.arrives_on, prepared.plan.start_on, len(area))
    shown = np.where(np.arange(len(area))[:, None] < first, 1.0, surface_shown(area, area[first]))
    of_plan = Seen(
        symbol="count", what="count of the entry: corals are one surface, of which none is lost alone"
    )
    kept = seen_once(float(entry.count), of_plan, kind="plan", place=prepared.plan.file)
    by_light = seen_once(1.0, _LIT, kind="constant", place=__name__)
    return AnimalOutcome(
        id=entry.id,
        species=species.id,
        common_name=species.common_name,
        kind=species.kind,
        arrives_on=entry.arrives_on,
        already_there=entry.arrives_on is None,
        count_start=entry.count,
        count_end_p50=kept,
        count_end_p05=kept,
        count_end_p95=kept,
        alive_end_share=kept / entry.count,
        length_start_cm=None,
        length_end_cm_p50=None,
        adult_length_cm=None,
        condition_p50=middle(shown, _SURFACE),
        condition_end_p05=point(shown[-1], 5, _SURFACE),
        energy_met_share_p50=by_light,
        ration_g_dry_per_d_p50=0.0,
        eats=(("light", by_light),),
        condition=_band(shown),
        energy_met=_band(np.ones_like(shown)),
    )
