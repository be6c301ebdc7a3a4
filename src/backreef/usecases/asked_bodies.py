"""Figures of what became of animals: condition, share of need, what they ate."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.judgement.outcomes import (
    days_shown,
    days_there,
    pool_words,
    ration_g_dry_per_d,
    settled_days,
)
from backreef.models.mouths import FOOD_POOLS, POOLS
from backreef.simulation.trajectories import FULL_WEEK, condition_ratio, fullness_ratio, met_ratio
from backreef.usecases.asked import Asking, Figure, Found, middle_of, shown
from backreef.usecases.asked_states import nature_number, simulated, slot_state
from backreef.working.number import total
from backreef.working.record import leaf, named, recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of

Array = npt.NDArray[np.float64]
OfDay = Callable[[Asking, int, int, int], InItsUnit]
"""The working of a number of a cohort, by its number, on a day in a member."""
Find = Callable[[Asking, date | None], Found]
CONDITION, MET, EATEN = "condition_ratio", "energy_met_ratio", "eaten_g_dry_per_d"

_NOTHING = About(
    symbol="nothing",
    key="animals.nothing",
    kind="simulated",
    what="none of them lived on this day, or needed anything",
    source="the march of the ensemble",
)


def body_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of what became of each entry of the plan's animals."""
    words = pool_words(asking.laid_out.foods)
    foods = {pool: slot.food.id for pool, slot in zip(FOOD_POOLS, asking.laid_out.foods, strict=False)}
    for slot, cohort in enumerate(asking.laid_out.cohorts):
        called, entry = cohort.species.common_name, cohort.entry.id
        for name, title, of_day in (
            (CONDITION, f"condition of {called}: body energy over that of a well-fed one", _condition),
            (MET, f"energy that {called} got over the need, of seven days", _met),
        ):
            settled = f"{entry}.{name}_when_settled"
            yield _figure(settled, f"{title}, since it has settled", partial(_of_days, name, slot, of_day))
        whole = _figure(
            f"{entry}.{EATEN}", f"what {called} ate in a day, all of them", partial(_eaten, slot, POOLS)
        )
        yield replace(whole, beside=partial(_shares, entry))
        for pool in POOLS:
            if cohort.likings[pool] > 0 and (pool in foods or pool not in FOOD_POOLS):
                name = foods.get(pool) or words.get(pool, pool).replace(" ", "_")
                title = f"{words.get(pool, pool)} that {called} ate in a day, all of them"
                yield _figure(f"{entry}.{EATEN}.{name}", title, partial(_eaten, slot, (pool,)))


def _figure(name: str, title: str, find: Find) -> Figure:
    title = f"{title}, the median of the members"
    return Figure(name=name, title=title, daily=False, forecast=True, find=find)


def _shares(entry: str, asking: Asking, _at: str) -> tuple[str, ...]:
    """Of what they ate, the share of each food."""
    return tuple(one.name for one in asking.told_numbers if one.name.startswith(f"{entry}.eats."))


def _condition(asking: Asking, slot: int, day: int, member: int) -> InItsUnit:
    share = nature_number(asking, slot, "reserve_share", member)
    well_fed = named(
        share * slot_state(asking, slot, "structure", day, member),
        About(symbol="well_fed_reserve", key="animals.well_fed_reserve", kind="law", unit="mmol C"),
    )
    fullness = named(
        fullness_ratio(slot_state(asking, slot, "reserve", day, member), well_fed),
        About(symbol="fullness_ratio", key="animals.fullness_ratio", kind="law"),
    )
    found: InItsUnit = condition_ratio(fullness, share)
    return found


def _met(asking: Asking, slot: int, day: int, member: int) -> InItsUnit:
    before = max(day - FULL_WEEK, 0)
    got, need = (
        slot_state(asking, slot, name, day, member) - slot_state(asking, slot, name, before, member)
        for name in ("got", "need")
    )
    found: InItsUnit = met_ratio(got, need)
    return found


def _values(asking: Asking, name: str, slot: int) -> tuple[Array, npt.NDArray[np.int64]]:
    """A number of a cohort in all members on all days, and the day that is shown on each."""
    course = asking.course.courses[slot]
    values = np.asarray({CONDITION: course.condition, MET: course.energy_met}[name], dtype=np.float64)
    days = days_shown(course)
    return np.take_along_axis(values, days, axis=0), days


def _of_days(name: str, slot: int, of_day: OfDay, asking: Asking, _on: date | None) -> Found:
    values, days = _values(asking, name, slot)
    part = settled_days(asking.course.prepared, asking.course.prepared.cohorts[slot])
    values, days = values[part], days[part]
    count = values.shape[1]

    def of_place(place: int) -> InItsUnit:
        row, member = divmod(place, count)
        if not values[row, member]:
            return leaf(0.0, _NOTHING)
        return of_day(asking, slot, int(days[row, member]), member)

    def words(place: int) -> str:
        row, member = divmod(place, count)
        return f"member {member + 1} on {asking.on(part.start + row)}"

    about = About(symbol=f"{name}_when_settled", key=f"animals.{name}", kind="law")
    with recording():
        of = f"days of {count} members"
        value = middle_of(values.ravel(), of_place, about, words=words, of=of)
    by_member = np.median(values, axis=0)
    return Found(tree=tree_of(value, about), shown=shown(value, ""), by_member=tuple(by_member.tolist()))


def _eaten(slot: int, pools: Sequence[str], asking: Asking, _on: date | None) -> Found:
    course = asking.course
    prepared = course.prepared
    there = days_there(prepared, prepared.cohorts[slot])
    with recording():
        medians = [
            middle_of(
                course.courses[slot].eaten_mmol[pool],
                partial(_eaten_by_member, asking, slot, pool),
                About(symbol=f"eaten_{pool}_mmol_c", key=f"animals.eaten.{pool}", kind="law", unit="mmol C"),
            )
            for pool in pools
            if np.any(course.courses[slot].eaten_mmol[pool])
        ]
        value = ration_g_dry_per_d(total(medians), days_there=there)
    eaten = sum((course.courses[slot].eaten_mmol[pool] for pool in pools), np.zeros(asking.members))
    by_member = np.asarray(ration_g_dry_per_d(eaten, days_there=there))
    tree = tree_of(value, About(symbol=EATEN, key=f"animals.{EATEN}", kind="law", unit="g/d"))
    return Found(tree=tree, shown=shown(value, "g/d"), by_member=tuple(by_member.tolist()))


def _eaten_by_member(asking: Asking, slot: int, pool: str, member: int) -> InItsUnit:
    """What was eaten of a food or a growth over the whole plan."""
    course = asking.course
    cohort = course.prepared.cohorts[slot]
    about = About(
        symbol=f"ate_{pool}",
        key=f"state.{cohort.entry.id}.ate_{pool}",
        kind="simulated",
        what=f"{pool_words(course.prepared.foods).get(pool, pool)} eaten by {cohort.species.common_name}",
        unit="mmol C",
        on=asking.on(course.prepared.keeper.days - 1),
    )
    return simulated(asking, f"ate_{pool}", course.courses[slot].eaten_mmol[pool], member, about=about)
