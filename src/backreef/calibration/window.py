"""A long log is fitted by its last months: the plan as it stood when they began, with what was read then.

What a tank was like years ago tells little of what it does now, and marching it again each time would take
minutes. The animals are as old as they were by then, less those that died; the nutrients of the first day are
those of the last readings before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from backreef.aquarium.plan import AnimalEntry, DefaultTaken, Plan
from backreef.aquarium.series import series_of
from backreef.calibration.deeds import deeds_of
from backreef.calibration.evidence import days_since
from backreef.calibration.tables import number
from backreef.catalogue.entries import Catalogue
from backreef.logbook.entries import Addition, Entry, Reading
from backreef.models.growth import length_after_cm
from backreef.models.matrix import packaged_matrix
from backreef.simulation.bodies import body_of
from backreef.simulation.cohorts import Cohort, cohorts_of
from backreef.simulation.foods import food_slots
from backreef.simulation.tables import InItsUnit
from backreef.units import DAYS_PER_MONTH, DAYS_PER_YEAR

FEW = 3
"""So many of the last readings are taken together."""


def first_day_of_fit(last_day: int) -> int:
    """The day of the horizon with which a fit begins: the first, unless the log is long."""
    window_days = int(number("window_days"))
    return last_day - window_days if last_day > window_days * number("window_slack_ratio") else 0


def plan_from(plan: Plan, catalogue: Catalogue, entries: Sequence[Entry], day: int) -> Plan:
    """The plan as it stood on a day of its horizon, as a plan that begins there."""
    if day <= 0:
        return plan
    on = plan.start_on + timedelta(days=day)
    earlier = [one for one in entries if days_since(one, plan.start_on) < day]
    deeds = deeds_of(earlier, plan, catalogue, last_day=day)
    died: dict[str, int] = {}
    for death in deeds.deaths:
        died[death.entry_id] = died.get(death.entry_id, 0) + 1
    lived = deeds.plan
    matrix = packaged_matrix()
    cohorts = cohorts_of(lived, catalogue, matrix, body_of(matrix), food_slots(lived, catalogue, matrix))
    grown = {cohort.entry.id: _grown_cm(cohort, day) for cohort in cohorts}
    came = _came_on(entries)
    animals = tuple(
        _aged(entry, grown.get(entry.id), on, died.get(entry.id, 0))
        for entry in (_as_it_came(each, came.get(each.id), on) for each in lived.animals)
        if entry.count > died.get(entry.id, 0)
    )
    start = plan.tank.start
    read = _last_read(earlier, plan, day)
    kept = {name: value for name, value in start.readings.items() if name not in read}
    started = replace(
        start,
        kind="established",
        age_months=start.age_months + day / DAYS_PER_MONTH,
        readings=kept | read,
    )
    return replace(
        plan,
        start_on=on,
        begun_d=plan.begun_d + day,
        horizon_days=max(1, plan.horizon_days - day),
        animals=animals,
        tank=replace(plan.tank, start=started),
        assumptions=_assumed(plan, read, kept),
    )


def _grown_cm(cohort: Cohort, day: int) -> InItsUnit:
    """Length on a day after growth that nothing hindered since the animals came. [cm]"""
    adult_cm = cohort.nature["adult_cm"].value
    if cohort.length_cm >= adult_cm:
        return cohort.length_cm
    length = length_after_cm(
        cohort.length_cm,
        days=max(0, day - cohort.arrives_day),
        largest_cm=adult_cm,
        kmax_per_y=cohort.nature["kmax_per_d"].value * DAYS_PER_YEAR,
    )
    return float(length)


def _came_on(entries: Sequence[Entry]) -> dict[str, date]:
    """Line of the plan -> the day on which the first of its animals came, as far as it was logged."""
    found: dict[str, date] = {}
    for one in sorted(entries, key=lambda each: each.at):
        if isinstance(one.what, Addition) and one.what.animal is not None:
            found.setdefault(one.what.animal, one.at.date())
    return found


def _as_it_came(entry: AnimalEntry, came_on: date | None, on: date) -> AnimalEntry:
    """What was planned to be there by a day, and came later, is still to come then."""
    late = entry.arrives_on is not None and came_on is not None and came_on >= on
    return replace(entry, arrives_on=came_on) if late else entry


def _aged(entry: AnimalEntry, length_cm: InItsUnit | None, on: date, died_count: int) -> AnimalEntry:
    if entry.arrives_on is not None and entry.arrives_on >= on:
        return replace(entry, count=entry.count - died_count)
    length = entry.length_cm if length_cm is None else length_cm
    return replace(entry, arrives_on=None, count=entry.count - died_count, length_cm=length)


def _last_read(earlier: Sequence[Entry], plan: Plan, day: int) -> dict[str, float]:
    """Series -> what was last read of it, from no longer ago than a month."""
    since = day - number("window_start_days")
    found: dict[str, list[float]] = {}
    for one in sorted(earlier, key=lambda each: each.at):
        if isinstance(one.what, Reading) and days_since(one, plan.start_on) >= since:
            found.setdefault(one.what.series, []).append(one.what.value)
    names = plan.tank.start.readings
    return {name: float(np.median(values[-FEW:])) for name, values in found.items() if name in names}


def _assumed(plan: Plan, read: dict[str, float], kept: dict[str, float]) -> tuple[DefaultTaken, ...]:
    """The assumptions of the plan, of which nutrients that nobody read lately are now some."""
    of_start = {f"tank.start.{series_of(name).word}" for name in (*read, *kept)}
    others = tuple(one for one in plan.assumptions if one.key not in of_start)
    return others + tuple(
        DefaultTaken(
            key=f"tank.start.{series_of(name).word}",
            value=f"{value:.4g}",
            unit="",
            low=None,
            high=None,
            status="practice",
            source="practice",
            changes="where a fit of a long log begins",
        )
        for name, value in kept.items()
    )
