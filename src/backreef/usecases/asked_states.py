"""Leaves of workings that come out of the march: a state of tank or animal in one member on a day."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from backreef.models.tables import load_tables
from backreef.simulation.layout import NATURE
from backreef.simulation.nature import traits_of_kind
from backreef.usecases.asked import Asking
from backreef.working.number import Worked
from backreef.working.record import leaf
from backreef.working.steps import About

Array = npt.NDArray[np.float64]
REGISTERS = {
    "V": ("water of the whole system", "L"),
    "S": ("salinity", "psu"),
    "T": ("temperature", "degC"),
    "nh3_most": ("most ammonia gas of the day", "umol/L"),
    "o2_least": ("least oxygen of the day, as a rule at the end of the night", "umol/L"),
    "o2_most": ("most oxygen of the day", "umol/L"),
    "ph_least": ("lowest pH of the day", "total scale"),
    "ph_most": ("highest pH of the day", "total scale"),
}
SLOTS = {
    "arrived": ("animals that have come", "animals"),
    "lost": ("animals that have died", "animals"),
    "structure": ("bodies of all of them, without their reserve", "mmol C"),
    "reserve": ("reserve of all of them", "mmol C"),
    "got": ("energy that all of them have taken in since the first day", "mmol C"),
    "need": ("energy that all of them have needed since the first day", "mmol C"),
}


def simulated(asking: Asking, name: str, values: Array, member: int, *, about: About) -> Worked:
    """A number of one member out of those of all, with the band that they lie in."""
    low, high = (float(np.percentile(values, percent)) for percent in (5, 95))
    whole = About(
        symbol=name,
        key=f"{about.key}.member {member + 1}",
        kind="simulated",
        what=f"{about.what}, member {member + 1}",
        unit=about.unit,
        low=low,
        high=high,
        source="the march of the ensemble",
        place=f"seed {asking.seed}",
        status="simulated",
        on=about.on,
        members=len(values),
    )
    return leaf(float(values[member]), whole)


def state(asking: Asking, name: str, day: int, member: int) -> Worked:
    """A state of the tank in one member at the end of a day."""
    course = asking.course
    values = course.members.row(course.prepared.layout.address(name))[day]
    component = next((one for one in load_tables().components if one.name == name), None)
    what, unit = REGISTERS.get(name, ("", ""))
    about = About(
        symbol=name,
        key=f"state.{name}",
        kind="simulated",
        what=component.meaning if component else what,
        unit=component.unit if component else unit,
        on=asking.on(day),
    )
    return simulated(asking, name, values, member, about=about)


def slot_state(asking: Asking, slot: int, name: str, day: int, member: int) -> Worked:
    """A state of an entry's animals in one member at the end of a day."""
    course = asking.course
    cohort, slots = course.prepared.cohorts[slot], len(course.prepared.cohorts)
    values = course.members.row(course.prepared.layout.slot_address(slot, name, slots))[day]
    what, unit = SLOTS.get(name, (f"{name.removeprefix('ate_')} that all of them have eaten", "mmol C"))
    about = About(
        symbol=name,
        key=f"state.{cohort.entry.id}.{name}",
        kind="simulated",
        what=f"{what}, {cohort.species.common_name}",
        unit=unit,
        on=asking.on(day),
    )
    return simulated(asking, name, values, member, about=about)


def nature_number(asking: Asking, slot: int, name: str, member: int) -> Worked:
    """A number of the bodies of an entry, as drawn for one member."""
    course = asking.course
    cohort = course.prepared.cohorts[slot]
    values = course.members.natures[slot][NATURE.index(name)]
    kind, span = traits_of_kind(cohort.species), cohort.nature[name]
    about = About(
        symbol=name,
        key=f"nature.{cohort.entry.id}.{name}.member {member + 1}",
        kind="drawn",
        what=f"{name.replace('_', ' ')} of {cohort.species.common_name}, as drawn for member {member + 1}",
        low=span.low,
        high=span.high,
        source=kind["source"],
        place=f"simulation/data/bodies_by_kind.csv, {kind['kind']}",
        status=kind["status"],
        members=course.members.count,
    )
    return leaf(float(values[member]), about)


def coral_density(asking: Asking, member: int) -> Worked:
    """Coral tissue on a square metre, as drawn for a member."""
    parameter = load_tables().parameters["T_coral"]
    values = asking.course.members.parameters[asking.course.prepared.layout.parameter("T_coral")]
    about = About(
        symbol="T_coral",
        key=f"models.parameters.T_coral.member {member + 1}",
        kind="drawn",
        what=f"{parameter.meaning}, as drawn for member {member + 1}",
        unit=parameter.unit,
        low=parameter.low,
        high=parameter.high,
        source=parameter.source,
        place=parameter.place,
        status=parameter.status,
    )
    return leaf(float(values[member]), about)
