"""What each choice does to water, mouths and minutes, taken from the simulation itself.

A block of eight members is marched with the kept plan, and again, with the same draws, with one thing more:
an animal, less food, a choice. Whatever differs is the doing of that one thing.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.corals import keeps_corals, surface_ratio
from backreef.judgement.course import Course, course_of, run_course
from backreef.judgement.hands import work_of_members
from backreef.judgement.rules import rule
from backreef.judgement.spans import earliest
from backreef.judgement.verdict import WaterBand
from backreef.judgement.water import water_bands
from backreef.models.mouths import BOTTOM, FOOD_POOLS
from backreef.schedule.minutes import trailing_sum
from backreef.schedule.tables import workload
from backreef.simulation.draws import Draws
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared, lay_out, prepare
from backreef.simulation.tables import InItsUnit, animal_number
from backreef.simulation.workers import Cores
from backreef.units import DAYS_PER_MONTH

Array = npt.NDArray[np.float64]
Tell = Callable[[int, int], None]
LEAST_ANIMAL_DAYS = 1.0
CORALS = "coral_surface_ratio"
"""Living surface of corals over what came."""
NEWCOMERS = "newcomers"
"""The group of the tasks that a day of arrival brings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A harm bound of the water or the corals: a quantity, its side, and how long it may be left."""

    series: str
    label: str
    unit: str
    upper: bool
    bound: InItsUnit
    act: InItsUnit | None
    days: int

    @property
    def name(self) -> str:
        """Quantity and side."""
        return f"{self.series}.{'high' if self.upper else 'low'}"

    @property
    def span(self) -> InItsUnit:
        """Distance of the two bounds, or the bound itself: what a response is measured against."""
        far = abs(self.bound - self.act) if self.act is not None else 0.0
        return far or abs(self.bound) or 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measured:
    """What one block of members showed of a plan."""

    water: Mapping[str, Array]
    """Limit -> the worst level that each member held for as long as counts, (members,)."""
    minutes_per_month: InItsUnit
    quarter_min_per_month: InItsUnit
    """The busiest quarter of a year, worst of the members."""
    arrival_min: InItsUnit
    """Of that, the minutes with newcomers on the days they come, over the horizon, mean of the members."""
    offered_g_per_d: InItsUnit
    """Dry food."""
    eaten_g_per_d: Mapping[str, InItsUnit]
    """Entry -> dry food that one of its animals ate on a day of its life, mean of the members."""
    eaten_by_all_g_per_d: InItsUnit
    slowest_per_day: Array
    """(days,) minutes of the member that takes longest."""
    broken_share: InItsUnit = 0.0
    """Share of the members that break in any balance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """What one more of a thing does, with the same draws."""

    water: Mapping[str, InItsUnit]
    """Limit -> change of the worst level held, mean of the members."""
    minutes_per_month: InItsUnit
    """All of them, with those of the day of arrival spread over the horizon."""
    quarter_min_per_month: InItsUnit
    arrival_min: InItsUnit = 0.0
    """Of an animal only: for the whole group that was tried, if it comes on a day of its own."""
    eaten_g_per_d: InItsUnit = 0.0
    """Dry food that it takes; of an animal only."""
    risk_share: InItsUnit = 0.0
    """Share of the members that break with it and do not without, all that were tried together."""


def limits_of(plan: Plan, catalogue: Catalogue) -> tuple[Limit, ...]:
    """Give every harm bound of the water that holds for a plan, and that of the corals it keeps."""
    water = tuple(
        limit
        for band in water_bands(plan)
        for limit in (_limit(band, upper=True), _limit(band, upper=False))
        if limit
    )
    return (*water, _corals()) if keeps_corals(plan, catalogue) else water


def _corals() -> Limit:
    return Limit(
        series=CORALS,
        label="living surface of the corals",
        unit="of what came",
        upper=False,
        bound=rule("coral_harm_ratio"),
        act=rule("coral_thin_ratio"),
        days=int(rule("coral_days")),
    )


def _limit(band: WaterBand, *, upper: bool) -> Limit | None:
    bound = band.harm_high if upper else band.harm_low
    if bound is None:
        return None
    return Limit(
        series=band.series,
        label=band.label,
        unit=band.unit,
        upper=upper,
        bound=bound,
        act=band.act_high if upper else band.act_low,
        days=max(1, int(band.harm_days)),
    )


def held_level(values: Array, *, days: int, upper: bool) -> Array:
    """Give the worst level that each member holds for so many days in a row; values are (days, members)."""
    signed = values if upper else -values
    days = min(days, len(signed))
    windows = np.lib.stride_tricks.sliding_window_view(signed, days, axis=0)
    worst = windows.min(axis=-1).max(axis=0)
    return np.asarray(worst if upper else -worst)


def measured(plan: Plan, catalogue: Catalogue, draws: Draws) -> Measured:
    """March a plan in one block of members and take down what the programme asks for."""
    return measured_of(run_course(plan, catalogue, draws))


def reworked(course: Course, plan: Plan, catalogue: Catalogue) -> Measured:
    """What the programme asks for of a plan that differs in chores alone: its minutes, water as it was."""
    prepared = replace(course.prepared, plan=plan, keeper=lay_out(plan, catalogue).keeper)
    work = work_of_members(prepared, course.members, course.draws)
    return measured_of(replace(course, prepared=prepared, work=work))


def measured_of(course: Course) -> Measured:
    """What the programme asks for, from a marched plan."""
    days = course.prepared.keeper.days
    plan, catalogue = course.prepared.plan, course.prepared.catalogue
    series = {**course.series, CORALS: surface_ratio(plan, catalogue, course.series["coral_area_m2"])}
    water = {
        limit.name: held_level(
            np.asarray(series[limit.series], dtype=np.float64), days=limit.days, upper=limit.upper
        )
        for limit in limits_of(plan, catalogue)
    }
    per_day = course.work.per_day
    window = min(int(rule("quarter_d")), days)
    quarter = trailing_sum(per_day.T, days=window).T[window - 1 :] / window * DAYS_PER_MONTH
    per_g = animal_number("food_carbon_mmol_per_g")
    carbon = {food.food.id: food.carbon_mmol_per_g for food in course.prepared.foods}
    offered = sum(
        occasion.food_g * carbon[occasion.food_id] for occasion in course.prepared.keeper.meals.occasions
    )
    eaten: dict[str, float] = {}
    total = 0.0
    for cohort, marched in zip(course.prepared.cohorts, course.courses, strict=True):
        food = sum((marched.eaten_mmol[pool] for pool in (*FOOD_POOLS, BOTTOM)), np.zeros(per_day.shape[1]))
        animal_days = np.maximum(marched.count.sum(axis=0, dtype=np.float64), LEAST_ANIMAL_DAYS)
        eaten[cohort.entry.id] = float(np.mean(food / animal_days)) / per_g
        total += float(np.mean(food)) / per_g / days
    return Measured(
        water=water,
        minutes_per_month=float(np.mean(per_day.sum(axis=0)) / days * DAYS_PER_MONTH),
        quarter_min_per_month=float(quarter.max(initial=0.0)),
        arrival_min=sum(
            float(np.mean(minutes))
            for task, minutes in course.work.by_task.items()
            if workload().group_of.get(task) == NEWCOMERS
        ),
        offered_g_per_d=offered / per_g / days,
        eaten_g_per_d=eaten,
        eaten_by_all_g_per_d=total,
        slowest_per_day=per_day[:, int(np.argmax(per_day.sum(axis=0)))].copy(),
        broken_share=float(np.mean(earliest(list(course.broken_on.values()), course.members.count) >= 0)),
    )


def response(before: Measured, after: Measured, *, per: InItsUnit = 1.0, who: str = "") -> Response:
    """What changed between two blocks with the same draws, for one of `per`."""
    return Response(
        water={name: float(np.mean(after.water[name] - level)) / per for name, level in before.water.items()},
        minutes_per_month=(after.minutes_per_month - before.minutes_per_month) / per,
        quarter_min_per_month=(after.quarter_min_per_month - before.quarter_min_per_month) / per,
        arrival_min=after.arrival_min - before.arrival_min,
        eaten_g_per_d=after.eaten_g_per_d.get(who, 0.0),
        risk_share=after.broken_share - before.broken_share,
    )


def with_animals(plan: Plan, entries: Sequence[AnimalEntry]) -> Plan:
    """The plan with more animals."""
    return replace(plan, animals=(*plan.animals, *entries))


def measure_all(
    plans: Mapping[str, Plan],
    catalogue: Catalogue,
    *,
    seed: int,
    tell: Tell | None = None,
    work_only: Collection[str] = (),
) -> dict[str, Measured]:
    """Measure several plans, each in the first block of members, on all cores.

    Those named in `work_only` differ from the first in chores alone: they take their minutes, and water and
    mouths of the first plan, and are not marched. Plans are laid out here while those before are marched.
    """
    draws = Draws(seed, LANES)
    first, *_ = plans
    others = [name for name in plans if name != first and name not in work_only]
    found: dict[str, Measured] = {}

    def told(name: str, result: Measured) -> None:
        found[name] = result
        if tell is not None:
            tell(len(found), len(plans))

    def laid_out() -> Iterator[Prepared]:
        for name in (first, *others):
            yield prepare(plans[name], catalogue)

    def marched(prepared: Prepared) -> tuple[Course, Measured]:
        course = course_of(prepared, draws)
        return course, measured_of(course)

    for name, (course, result) in zip((first, *others), Cores().each(marched, laid_out()), strict=True):
        told(name, result)
        for chore in work_only if name == first else ():
            told(chore, reworked(course, plans[chore], catalogue))
    return found
