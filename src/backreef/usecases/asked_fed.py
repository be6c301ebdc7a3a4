"""Figures of how animals are fed on a day of the forecast: condition, and what they get of their need."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.judgement.outcomes import alive
from backreef.simulation.cohorts import Cohort
from backreef.simulation.trajectories import (
    FULL_WEEK,
    condition_ratio,
    fullness_ratio,
    met_ratio,
)
from backreef.usecases.asked import Asking, Days, Figure, Found, middle_of, refused, shown
from backreef.working.members import Seen, seen_once
from backreef.working.number import Worked, total
from backreef.working.record import leaf, named, recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of

Array = npt.NDArray[np.float64]
CONDITION, MET = "condition_ratio", "energy_met_ratio"
_WHAT = {
    CONDITION: "body energy over that of a well-fed one of its size",
    MET: "reserve gained over the reserve needed, in the seven days up to this one",
}
_ROWS = {
    "structure": "carbon in the living tissue of all of them",
    "reserve": "carbon in the reserves of all of them",
    "got": "reserve gained since the first day, by all of them",
    "need": "reserve needed since the first day, by all of them",
}


def fed_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of how each entry of the plan's animals is fed."""
    for slot, cohort in enumerate(asking.laid_out.cohorts):
        called, entry = cohort.species.common_name, cohort.entry.id
        for name, title in (
            (CONDITION, f"condition of {called}"),
            (MET, f"share of its need that is met, of {called}"),
        ):
            yield Figure(
                name=f"{entry}.{name}",
                title=f"{title}, the median of the members",
                daily=True,
                forecast=True,
                find=partial(_on_day, name, slot, cohort),
                over=partial(_over, name, slot, cohort),
                beside=partial(_beside, entry, name),
            )


def _on_day(name: str, slot: int, cohort: Cohort, asking: Asking, on: date | None) -> Found:
    day = asking.day(on, asking.course.prepared.keeper.days - 1)
    values = _values(name, slot, asking)[day]
    with recording():
        value = _of_day(name, slot, asking, day)
    return Found(
        tree=tree_of(value, _about(name, cohort)),
        shown=shown(value, ""),
        on=asking.on(day),
        by_member=tuple(values.tolist()),
    )


def condition_on_day(asking: Asking, slot: int, day: int) -> InItsUnit:
    """The condition of an entry on a day, the median of the members, with its working."""
    return _of_day(CONDITION, slot, asking, day)


def _beside(entry: str, name: str, asking: Asking, at: str) -> tuple[str, ...]:
    """Of a day the worst of all days; of days together the other number that is shown of them."""
    if at and "-Q" in at:
        return (f"{entry}.{MET if name == CONDITION else CONDITION}@{at}",)
    if name == MET:
        return ()
    return (f"{entry}.{name}@{asking.on(0)}..{asking.on(asking.plan.horizon_days - 1)}",)


def _about(name: str, cohort: Cohort) -> About:
    return About(symbol=name, key=f"animals.{cohort.entry.id}.{name}", kind="law", what=_WHAT[name])


def _values(name: str, slot: int, asking: Asking) -> Array:
    lived = asking.course.courses[slot]
    return alive(lived.condition if name == CONDITION else lived.energy_met, lived).astype(float)


def _over(name: str, slot: int, cohort: Cohort, asking: Asking, days: Days) -> Found:
    """Of days together: the lowest condition, or the mean of what was met."""
    first = max(days.first, cohort.arrives_day)
    if first >= days.stop:
        raise refused(asking, f"none of them is there in {days.at}; ask later days")
    line = np.median(_values(name, slot, asking)[first : days.stop], axis=1)
    with recording():
        if name == CONDITION:
            place = first + int(line.argmin())
            what = f"lowest of {len(line)} days, on {asking.on(place)}"
            value = named(_of_day(name, slot, asking, place), replace(_about(name, cohort), what=what))
        else:
            each = [_of_day(name, slot, asking, first + place) for place in range(len(line))]
            counted = Seen(symbol="days", what="days that are asked about", unit="d")
            value = total(each) / seen_once(float(len(each)), counted, kind="plan", place=asking.file)
    return Found(tree=tree_of(value, _about(name, cohort)), shown=shown(value, ""), at=days.at)


def _of_day(name: str, slot: int, asking: Asking, day: int) -> InItsUnit:
    course, lived = asking.course, asking.course.courses[slot]
    cohort = asking.laid_out.cohorts[slot]

    def of_member(member: int) -> InItsUnit:
        found: InItsUnit
        known_day = _last_day(lived.living[:, member], day)
        row = partial(_row, asking, slot, member)
        if known_day is None or (name == MET and known_day == 0):
            return leaf(0.0, _nothing(name))
        if name == MET:
            found = met_ratio(*(_gained(row, kind, known_day) for kind in ("got", "need")))
            return found
        share = _share(cohort, course.members.natures[slot], member)
        well_fed = named(share * row("structure", known_day), _law("well_fed_reserve", "mmol"))
        found = condition_ratio(
            named(fullness_ratio(row("reserve", known_day), well_fed), _law("fullness_ratio")), share
        )
        return found

    return middle_of(_values(name, slot, asking)[day], of_member, _about(name, cohort))


def _last_day(living: npt.NDArray[np.bool_], day: int) -> int | None:
    """The last day up to this one on which any of them lived; what is shown of the dead is of that day."""
    days = np.flatnonzero(living[: day + 1])
    return int(days[-1]) if len(days) else None


def _nothing(name: str) -> About:
    return About(
        symbol="nothing_yet",
        key=f"animals.nothing_yet.{name}",
        kind="simulated",
        what="none of them has lived a day in the tank yet",
        source="the march of the ensemble",
    )


def _law(symbol: str, unit: str = "") -> About:
    return About(symbol=symbol, key=symbol, kind="law", unit=unit)


def _gained(row: partial[Worked], kind: str, day: int) -> InItsUnit:
    """What came to a running total within the last seven days."""
    value = row(kind, day) - row(kind, max(day - FULL_WEEK, 0))
    return named(
        value, About(symbol=f"{kind}_in_seven_days", key=f"{kind}_in_seven_days", kind="law", unit="mmol")
    )


def _row(asking: Asking, slot: int, member: int, name: str, day: int) -> Worked:
    """A row of a cohort in one member on a day, with the band of all of them."""
    course = asking.course
    address = course.prepared.layout.slot_address(slot, name, len(course.prepared.cohorts))
    values = course.members.row(address)[day]
    low, high = (float(np.percentile(values, percent)) for percent in (5, 95))
    about = About(
        symbol=f"{name}_on_{asking.on(day):%Y_%m_%d}",
        key=f"cohort.{course.prepared.cohorts[slot].entry.id}.{name}.member {member + 1}",
        kind="simulated",
        what=f"{_ROWS[name]}, member {member + 1}",
        unit="mmol",
        low=low,
        high=high,
        source="the march of the ensemble",
        place=f"seed {asking.seed}",
        status="simulated",
        on=asking.on(day),
        members=course.members.count,
    )
    return leaf(float(values[member]), about)


def _share(cohort: Cohort, natures: Array, member: int) -> Worked:
    """Reserve of a well-fed one over its structure, as drawn for a member."""
    from backreef.simulation.layout import NATURE

    span = cohort.nature["reserve_share"]
    said = About(symbol="reserve_share", key="bodies.reserve_share", kind="drawn")
    about = next((node.about for node in tree_of(span.value, said).leaves()), said)
    drawn = replace(
        about,
        symbol="reserve_share",
        kind="drawn",
        what=f"reserve of a well-fed one over its living tissue, as drawn for member {member + 1}",
        low=None if span.low is None else float(span.low),
        high=None if span.high is None else float(span.high),
    )
    return leaf(float(natures[NATURE.index("reserve_share")][member]), drawn)
