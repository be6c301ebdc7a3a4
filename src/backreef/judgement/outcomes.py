"""What a forecast shows of animals, meals, minutes and the clean-up crew."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from backreef.catalogue.entries import known
from backreef.judgement.failures import failure_lines
from backreef.judgement.hands import Work
from backreef.judgement.losses import losses_of
from backreef.judgement.rules import rule
from backreef.judgement.verdict import (
    AnimalOutcome,
    Band,
    ChoreLine,
    CrewLine,
    MealStream,
    Minutes,
    MonthLine,
)
from backreef.models.mathops import Quantity
from backreef.models.mouths import BOTTOM, FOOD_POOLS, POOLS
from backreef.schedule.habits import dropped_after
from backreef.schedule.people import KEEPER
from backreef.simulation.cohorts import Cohort
from backreef.simulation.ensemble import Members
from backreef.simulation.foods import FoodSlot
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import animal_number, system_number
from backreef.simulation.trajectories import CohortCourse
from backreef.units import DAYS_PER_MONTH, DAYS_PER_YEAR
from backreef.working.record import askable

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
HOURS = 24.0
LEAST_MASS_G = 1e-6
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
                found = replace(found, protein_met_share_p50=float(np.median(protein[settled])))
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
    eaten = {pool: float(np.median(course.eaten_mmol[pool])) for pool in POOLS}
    total = sum(eaten.values())
    shares = sorted(
        ((words.get(pool, pool), part / total) for pool, part in eaten.items() if total > 0),
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
        count_end_p50=_percentile(course.count[-1], 50),
        count_end_p05=_percentile(course.count[-1], 5),
        count_end_p95=_percentile(course.count[-1], 95),
        alive_end_share=float(course.count[-1].mean() / cohort.entry.count),
        length_start_cm=cohort.length_cm,
        length_end_cm_p50=_median_where(course.length_cm[-1], living[-1]),
        adult_length_cm=adult.value if adult else None,
        condition_p50=float(np.median(condition[after])) if lived.any() else 0.0,
        condition_end_p05=float(np.percentile(condition[-1], 5)),
        energy_met_share_p50=float(np.median(met[after])) if lived.any() else 0.0,
        ration_g_dry_per_d_p50=ration_g_dry_per_d(total, days_there=days_there(prepared, cohort)),
        eats=tuple((name, part) for name, part in shares if part >= rule("shown_share_frac")),
        condition=_band(condition),
        energy_met=_band(met),
        losses=losses_of(prepared, cohort),
    )


def _percentile(counts: Array, percent: int) -> float:
    """A percentile of whole animals."""
    return float(np.percentile(counts, percent, method="lower"))


def _median_where(values: Array, chosen: BoolArray) -> float | None:
    return float(np.median(values[chosen])) if chosen.any() else None


def _surface_outcome(prepared: Prepared, entry_id: str, series: Mapping[str, Array]) -> AnimalOutcome:
    """Corals, anemones and clams share one living surface: its growth stands for all of them."""
    entry = next(each for each in prepared.plan.animals if each.id == entry_id)
    species = prepared.catalogue.species[entry.species]
    area = series["coral_area_m2"]
    first = 0 if entry.arrives_on is None else max(0, (entry.arrives_on - prepared.plan.start_on).days + 1)
    first = min(first, len(area) - 1)
    relative = area / np.maximum(area[first], 1e-9)
    shown = np.where(
        np.arange(len(area))[:, None] < first, 1.0, np.minimum(relative, rule("coral_shown_ratio"))
    )
    return AnimalOutcome(
        id=entry.id,
        species=species.id,
        common_name=species.common_name,
        kind=species.kind,
        arrives_on=entry.arrives_on,
        already_there=entry.arrives_on is None,
        count_start=entry.count,
        count_end_p50=float(entry.count),
        count_end_p05=float(entry.count),
        count_end_p95=float(entry.count),
        alive_end_share=1.0,
        length_start_cm=None,
        length_end_cm_p50=None,
        adult_length_cm=None,
        condition_p50=float(np.median(shown)),
        condition_end_p05=float(np.percentile(shown[-1], 5)),
        energy_met_share_p50=1.0,
        ration_g_dry_per_d_p50=0.0,
        eats=(("light", 1.0),),
        condition=_band(shown),
        energy_met=_band(np.ones_like(shown)),
    )


def meal_streams(prepared: Prepared, courses: list[CohortCourse]) -> tuple[MealStream, ...]:
    """Give the grams offered each day by each meal, and the share of its food that was eaten adrift."""
    streams = []
    eaten = {
        food.food.id: sum(float(np.median(course.eaten_mmol[pool])) for course in courses)
        for food, pool in zip(prepared.foods, FOOD_POOLS, strict=False)
    }
    offered: dict[str, float] = dict.fromkeys(eaten, 0.0)
    carbon = {food.food.id: food.carbon_mmol_per_g for food in prepared.foods}
    grams = {meal.id: np.zeros(prepared.keeper.days) for meal in prepared.plan.meals}
    for occasion in prepared.keeper.meals.occasions:
        grams[occasion.meal_id][occasion.day] += occasion.food_g
        offered[occasion.food_id] += occasion.food_g * carbon[occasion.food_id]
    for meal in prepared.plan.meals:
        share = eaten[meal.food] / offered[meal.food] if offered[meal.food] > 0 else 0.0
        streams.append(
            MealStream(
                id=meal.id,
                label=prepared.catalogue.foods[meal.food].name,
                by=meal.by,
                grams_as_fed_per_day=grams[meal.id],
                eaten_share_p50=min(1.0, share),
            )
        )
    return tuple(streams)


def minutes_of(prepared: Prepared, work: Work) -> Minutes:
    """Give the ledger of minutes."""
    months = prepared.keeper.days / DAYS_PER_MONTH
    monthly = work.per_day.sum(axis=0) / months
    middle = np.median(work.per_day, axis=1)
    busiest = int(np.argmax(middle)) if middle.size and middle.max() > 0 else None
    looks = {chore.task_id for chore in prepared.keeper.chores if chore.look}
    dropped = dropped_after(prepared.plan)
    lines = [
        ChoreLine(
            task=task,
            name=prepared.catalogue.tasks[task].name,
            minutes_per_month_p05=float(np.percentile(total, 5)) / months,
            minutes_per_month_p50=float(np.median(total)) / months,
            minutes_per_month_p95=float(np.percentile(total, 95)) / months,
            times_per_year=work.times_by_task[task] / prepared.keeper.days * DAYS_PER_YEAR,
            needs_presence=prepared.catalogue.tasks[task].needs_presence,
            look=task in looks,
            often_dropped_after_months=dropped[task].after_months.value if task in dropped else None,
        )
        for task, total in work.by_task.items()
        if total.any()
    ]
    return Minutes(
        per_month_p05=float(np.percentile(monthly, 5)),
        per_month_p50=float(np.median(monthly)),
        per_month_p95=float(np.percentile(monthly, 95)),
        budget_per_month=prepared.plan.keeper.minutes_per_month,
        looks_per_month_p50=float(np.median(work.looks_min / months)),
        by_chore=tuple(sorted(lines, key=lambda line: -line.minutes_per_month_p50)),
        busiest_day=None if busiest is None else prepared.plan.start_on + timedelta(days=busiest),
        busiest_day_minutes=0.0 if busiest is None else float(middle[busiest]),
        by_month=tuple(_by_month(prepared, work)),
        needs_somebody=tuple(_needs_somebody(prepared)),
        failures=tuple(failure_lines(prepared)),
    )


def _by_month(prepared: Prepared, work: Work) -> Iterator[MonthLine]:
    """The minutes of each calendar month, or of the part of it that lies in the horizon."""
    months = prepared.keeper.ledger.per_month
    first = 0
    for month in months:
        total = work.per_day[first : first + month.days].sum(axis=0)
        low, middle, high = np.percentile(total, [5, 50, 95])
        yield MonthLine(
            first_on=month.first_on,
            days=month.days,
            minutes_p05=float(low),
            minutes_p50=float(middle),
            minutes_p95=float(high),
            budget_minutes=month.budget_minutes,
        )
        first += month.days


def _needs_somebody(prepared: Prepared) -> Iterator[date]:
    """Days on which a chore that is done whatever the tests say needs somebody who is there."""
    keeper = prepared.keeper
    people = {KEEPER, *(helper.name for helper in keeper.presence.helpers)}
    days = {
        chore.done_day
        for chore in keeper.chores
        if chore.done_day is not None
        and chore.needs_presence
        and not chore.look
        and chore.condition is None
        and chore.by in people
    }
    yield from (keeper.presence.on(day) for day in sorted(days))


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
    days = prepared.keeper.days
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
                grown_g_dry_per_d_p50=float(np.median(np.maximum(0.0, eaten + change))) / per_g / days,
                wanted_g_dry_per_d_p50=float(np.median(wanted)) / per_g,
                eaten_g_dry_per_d_p50=float(np.median(eaten)) / per_g / days,
                standing_series=standing,
            )
        )
    return tuple(lines)


def _wanted_mmol_per_d(cohort: Cohort, course: CohortCourse) -> Array:
    """What the eaters could hold of a growth in a day, if they ate nothing else."""
    nature = {name: span.value for name, span in cohort.nature.items()}
    mass_g = np.maximum(np.mean(course.mass_g, axis=0), LEAST_MASS_G)
    room = nature["capacity_coefficient"] * mass_g ** nature["intake_exponent"]
    return np.asarray(np.mean(course.count, axis=0) * room * HOURS / cohort.gut_hours.value)
