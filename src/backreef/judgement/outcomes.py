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
from backreef.judgement.horizon import horizon_d, horizon_months
from backreef.judgement.losses import losses_of
from backreef.judgement.rules import rule
from backreef.judgement.verdict import AnimalOutcome, Band, CrewLine, MealStream
from backreef.judgement.verdict_hands import ChoreLine, Minutes, MonthLine
from backreef.models.mathops import Quantity, maximum, minimum
from backreef.models.mouths import BOTTOM, FOOD_POOLS, POOLS
from backreef.schedule.habits import dropped_after
from backreef.schedule.people import KEEPER
from backreef.simulation.cohorts import Cohort
from backreef.simulation.ensemble import Members
from backreef.simulation.foods import FoodSlot
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import animal_number, system_number
from backreef.simulation.trajectories import CohortCourse
from backreef.units import DAYS_PER_YEAR
from backreef.working.members import Seen, mean, middle, point, seen_once, whole, whole_point
from backreef.working.number import as_number, total
from backreef.working.record import askable, told_constant

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
HOURS = 24.0
_LEFT = Seen(symbol="left", what="animals that live at the end")
_LENGTH = Seen(symbol="length_cm", what="length of one at the end", unit="cm", of="members with any left")
_CONDITION = Seen(symbol="condition", what="condition since it has settled", of="days of all members")
_CONDITION_END = Seen(symbol="condition_end", what="condition at the end")
_MET = Seen(symbol="met", what="energy got over the need, since it has settled", of="days of all members")
_PROTEIN = Seen(symbol="protein_met", what="protein eaten over the need", of="days of all members")
_SURFACE = Seen(symbol="surface_ratio", what="living surface over that on arrival", of="days of all members")
_LIT = Seen(symbol="by_light", what="what lives on light is taken to live on it alone: all of its need")
_SPENT = Seen(symbol="spent", what="minutes of the task over the plan", unit="min")
_MONTHLY = Seen(symbol="monthly", what="the keeper's minutes in a month, without looks", unit="min")
_LOOKS = Seen(symbol="looks", what="the keeper's minutes for looks in a month", unit="min")
_ON_A_DAY = Seen(symbol="on_a_day", what="the keeper's minutes on the fullest day", unit="min")
_IN_MONTH = Seen(symbol="in_month", what="the keeper's minutes of the calendar month", unit="min")
LEAST_MASS_G = 1e-6
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
        pool: middle(course.eaten_mmol[pool], _eaten(words.get(pool, pool), cohort.species.common_name))
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


def _eaten(food: str, who: str) -> Seen:
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


def meal_streams(prepared: Prepared, courses: list[CohortCourse]) -> tuple[MealStream, ...]:
    """Give the grams offered each day by each meal, and the share of its food that was eaten adrift."""
    streams = []
    eaten = {
        food.food.id: total(
            middle(course.eaten_mmol[pool], _eaten(food.food.name, cohort.species.common_name))
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


def minutes_of(prepared: Prepared, work: Work) -> Minutes:
    """Give the ledger of minutes."""
    months = horizon_months(prepared)
    monthly = work.per_day.sum(axis=0) / months
    typical = np.median(work.per_day, axis=1)
    busiest = int(np.argmax(typical)) if typical.size and typical.max() > 0 else None
    looks = {chore.task_id for chore in prepared.keeper.chores if chore.look}
    dropped = dropped_after(prepared.plan)
    lines = [
        ChoreLine(
            task=task,
            name=prepared.catalogue.tasks[task].name,
            minutes_per_month_p05=point(spent, 5, _SPENT) / months,
            minutes_per_month_p50=middle(spent, _SPENT) / months,
            minutes_per_month_p95=point(spent, 95, _SPENT) / months,
            times_per_year=work.times_by_task[task]
            / horizon_d(prepared)
            * told_constant(DAYS_PER_YEAR, "DAYS_PER_YEAR", "backreef.units"),
            needs_presence=prepared.catalogue.tasks[task].needs_presence,
            look=task in looks,
            often_dropped_after_months=dropped[task].after_months.value if task in dropped else None,
        )
        for task, spent in work.by_task.items()
        if spent.any()
    ]
    return Minutes(
        per_month_p05=point(monthly, 5, _MONTHLY),
        per_month_p50=middle(monthly, _MONTHLY),
        per_month_p95=point(monthly, 95, _MONTHLY),
        budget_per_month=prepared.plan.keeper.minutes_per_month,
        looks_per_month_p50=middle(work.looks_min / months, _LOOKS),
        by_chore=tuple(sorted(lines, key=lambda line: -line.minutes_per_month_p50)),
        busiest_day=None if busiest is None else prepared.plan.start_on + timedelta(days=busiest),
        busiest_day_minutes=0.0 if busiest is None else middle(work.per_day[busiest], _ON_A_DAY),
        by_month=tuple(_by_month(prepared, work)),
        needs_somebody=tuple(_needs_somebody(prepared)),
        failures=tuple(failure_lines(prepared)),
    )


def _by_month(prepared: Prepared, work: Work) -> Iterator[MonthLine]:
    """The minutes of each calendar month, or of the part of it that lies in the horizon."""
    months = prepared.keeper.ledger.per_month
    first = 0
    for month in months:
        spent = work.per_day[first : first + month.days].sum(axis=0)
        low, typical, high = (point(spent, percent, _IN_MONTH) for percent in (5, 50, 95))
        yield MonthLine(
            first_on=month.first_on,
            days=month.days,
            minutes_p05=low,
            minutes_p50=typical,
            minutes_p95=high,
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
    """What the eaters could hold of a growth in a day, if they ate nothing else."""
    nature = {name: span.value for name, span in cohort.nature.items()}
    mass_g = np.maximum(np.mean(course.mass_g, axis=0), LEAST_MASS_G)
    room = nature["capacity_coefficient"] * mass_g ** nature["intake_exponent"]
    return np.asarray(np.mean(course.count, axis=0) * room * HOURS / cohort.gut_hours.value)
