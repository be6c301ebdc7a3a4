"""Figures of what lives on light: corals, anemones and clams, by the living surface that they share."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import AnimalEntry
from backreef.judgement.outcomes import first_shown_day, surface_shown
from backreef.usecases.asked import Asking, Days, Figure, Found, middle_of, refused, shown
from backreef.usecases.asked_fed import CONDITION
from backreef.usecases.asked_states import coral_density, state
from backreef.working.record import named, recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of


def coral_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of each entry that lives on light."""
    of_bodies = {cohort.entry.id for cohort in asking.laid_out.cohorts}
    for entry in asking.plan.animals:
        if entry.id not in of_bodies:
            called = asking.catalogue.species[entry.species].common_name
            yield Figure(
                name=f"{entry.id}.{CONDITION}",
                title=f"living surface over that on arrival, of {called}, the median of the members",
                daily=True,
                forecast=True,
                find=partial(_on_day, entry),
                over=partial(_over, entry),
                beside=partial(_beside, entry),
            )


def _beside(entry: AnimalEntry, asking: Asking, at: str) -> tuple[str, ...]:
    met = (f"{entry.id}.energy_met_share",)
    return met if "-Q" in at else (*met, f"{entry.id}.{CONDITION}@{asking.on(0)}..{_last(asking)}")


def _last(asking: Asking) -> date:
    return asking.on(asking.plan.horizon_days - 1)


def _on_day(entry: AnimalEntry, asking: Asking, on: date | None) -> Found:
    day = asking.day(on, asking.plan.horizon_days - 1)
    with recording():
        value = _of_day(entry, asking, day)
    values = tuple(_line(entry, asking, day, day + 1)[0].tolist())
    return Found(
        tree=tree_of(value, _about(entry)), shown=shown(value, ""), on=asking.on(day), by_member=values
    )


def _over(entry: AnimalEntry, asking: Asking, days: Days) -> Found:
    """Of days together the lowest."""
    first = max(days.first, 0 if entry.arrives_on is None else asking.day(entry.arrives_on, 0))
    if first >= days.stop:
        raise refused(asking, f"none of them is there in {days.at}; ask later days")
    line = np.median(_line(entry, asking, first, days.stop), axis=1)
    day = first + int(line.argmin())
    with recording():
        value = named(_of_day(entry, asking, day), _about(entry))
    return Found(tree=tree_of(value, _about(entry)), shown=shown(value, ""), at=days.at)


def _line(entry: AnimalEntry, asking: Asking, first: int, stop: int) -> npt.NDArray[np.float64]:
    area = asking.course.series["coral_area_m2"]
    since = _since(entry, asking)
    shares = surface_shown(area[first:stop], area[since])
    return np.where(np.arange(first, stop)[:, None] < since, 1.0, shares)


def _since(entry: AnimalEntry, asking: Asking) -> int:
    return first_shown_day(entry.arrives_on, asking.plan.start_on, asking.plan.horizon_days)


def _of_day(entry: AnimalEntry, asking: Asking, day: int) -> InItsUnit:
    since = _since(entry, asking)

    def of_member(member: int) -> InItsUnit:
        now, then = (
            state(asking, "C_T", max(one, since), member) / coral_density(asking, member)
            for one in (day, since)
        )
        found: InItsUnit = surface_shown(now, then)
        return found

    return middle_of(_line(entry, asking, day, day + 1)[0], of_member, _about(entry))


def _about(entry: AnimalEntry) -> About:
    what = "living surface over that on arrival"
    return About(symbol=CONDITION, key=f"animals.{entry.id}.{CONDITION}", kind="law", what=what)
