"""Faults that a log may show, put into the life of a tank from a day on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta

from backreef.aquarium.plan import Mishap
from backreef.calibration.deeds import Deeds
from backreef.calibration.tables import Cause
from backreef.catalogue.entries import Catalogue
from backreef.schedule.build import Schedule
from backreef.schedule.effects import WaterChange
from backreef.simulation.cohorts import Cohort
from backreef.simulation.lived import KnownDeath, Lived, cut_short, prepare_lived
from backreef.simulation.system import devices_of

HOURS_PER_DAY = 24.0
DOUBLE, HALF = 2.0, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """Something that goes wrong from a day on."""

    does: str
    since_day: int


def can_happen(cause: Cause, lived: Lived) -> bool:
    """Whether the tank has what would fail."""
    plan = lived.prepared.plan
    return {
        "animal_dies": any(_heaviest_first(lived, 0)),
        "food_doubled": bool(plan.meals),
        "food_halved": bool(plan.meals),
        "changes_missed": any(isinstance(one.effect, WaterChange) for one in lived.prepared.keeper.chores),
        "skimmer_stands": bool(devices_of(plan, "skimmer_sump", "skimmer_hang")),
    }.get(cause.does, False)


def life_with(fault: Fault, deeds: Deeds, catalogue: Catalogue, lived: Lived) -> Lived:
    """The same life with a fault in it, up to the day of the last reading.

    It is laid out as far as the other one: the luck of its meals hangs on how many there are.
    """
    days = lived.known_days
    plan = replace(deeds.plan, horizon_days=lived.prepared.keeper.days)
    deaths = list(deeds.deaths)
    if fault.does == "animal_dies":
        heaviest = next(iter(_heaviest_first(lived, fault.since_day)))
        deaths.append(KnownDeath(entry_id=heaviest.entry.id, day=fault.since_day, body_taken=False))
    if fault.does == "skimmer_stands":
        stands = Mishap(
            kind="skimmer",
            starts_on=plan.start_on + timedelta(days=fault.since_day),
            at_hour=0.0,
            hours=HOURS_PER_DAY * (days - fault.since_day),
        )
        plan = replace(plan, mishaps=(*plan.mishaps, stands))
    change = _CHANGES.get(fault.does, _as_it_is)
    whole = prepare_lived(
        plan,
        catalogue,
        alter=lambda schedule: change(deeds.alter(schedule), fault.since_day),
        deaths=deaths,
        known_days=days,
    )
    return cut_short(whole, days)


def _heaviest_first(lived: Lived, day: int) -> list[Cohort]:
    """The animals that are there on a day, the heaviest first."""
    there = [cohort for cohort in lived.prepared.cohorts if cohort.arrives_day <= day or cohort.settled]
    return sorted(there, key=lambda cohort: -cohort.arrival_mass_g)


def _as_it_is(schedule: Schedule, _since_day: int) -> Schedule:
    return schedule


def _fed(schedule: Schedule, since_day: int, ratio: float) -> Schedule:
    meals = tuple(
        replace(meal, food_g=meal.food_g * ratio) if meal.day >= since_day else meal
        for meal in schedule.meals.occasions
    )
    return replace(schedule, meals=replace(schedule.meals, occasions=meals))


def _without_changes(schedule: Schedule, since_day: int) -> Schedule:
    chores = tuple(
        replace(chore, done_day=None, condition=None)
        if isinstance(chore.effect, WaterChange)
        and chore.done_day is not None
        and chore.done_day >= since_day
        else chore
        for chore in schedule.chores
    )
    return replace(schedule, chores=chores)


_CHANGES: Mapping[str, Callable[[Schedule, int], Schedule]] = {
    "food_doubled": lambda schedule, day: _fed(schedule, day, DOUBLE),
    "food_halved": lambda schedule, day: _fed(schedule, day, HALF),
    "changes_missed": _without_changes,
}
