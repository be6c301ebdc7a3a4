"""Figures of the clean-up crew: how many grazers what grows would hold, and for a year."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from functools import partial

import numpy as np

from backreef.judgement.crew import (
    GROWTHS,
    QUARTERS,
    Growth,
    eaters_of,
    growth_of,
    held_by_member,
    held_heads,
    lasting_heads,
    lived,
    lives_from,
    quarters,
)
from backreef.simulation.trajectories import series_from
from backreef.usecases.asked import Asking, Figure, Found, middle_of, refused, shown
from backreef.usecases.asked_states import simulated, slot_state, state
from backreef.working.members import whole
from backreef.working.number import Worked
from backreef.working.record import recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of

HELD, LASTING = "held_count", "lasting_count"


def crew_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of each grazer that lives from what grows."""
    for slot, cohort in enumerate(asking.laid_out.cohorts):
        if not lives_from(cohort):
            continue
        called, entry = cohort.species.common_name, cohort.entry.id
        yield Figure(
            name=f"{entry}.{HELD}",
            title=f"how many {called} what grows holds; of a day, in its quarter; the median of the members",
            daily=True,
            forecast=True,
            find=partial(_held, slot),
            beside=partial(_beside, entry),
        )
        yield Figure(
            name=f"{entry}.{LASTING}",
            title=f"how many {called} find enough for a year, from the quarter of a day or of their coming",
            daily=True,
            forecast=True,
            find=partial(_lasting, slot),
        )


def _beside(entry: str, asking: Asking, at: str) -> tuple[str, ...]:
    """What is shown with it of the same quarter, or of the whole plan and year after year."""
    names = [one.name for one in asking.told_numbers]
    if at:
        return tuple(name for name in names if name.startswith(f"{entry}.quarter.{at}."))
    last = tuple(name for name in names if re.match(rf"{re.escape(entry)}\.quarter\..*\.{LASTING}$", name))
    fixed = ("held_count_p05", "held_count_p95", "count", "starving_share_by_year")
    return (*(name for name in names if name.startswith(tuple(f"{entry}.{one}" for one in fixed))), *last)


def _held(slot: int, asking: Asking, on: date | None) -> Found:
    part = slice(0, asking.course.prepared.keeper.days)
    if on is not None:
        part = _quarters(asking)[_quarter(asking, on)]
    with recording():
        value, by_member = _median(slot, asking, part)
    tree = tree_of(value, About(symbol=HELD, key=f"crew.{HELD}", kind="law"))
    return Found(tree=tree, shown=shown(value, "animals"), on=on, by_member=by_member)


def _lasting(slot: int, asking: Asking, on: date | None) -> Found:
    arrives_on = asking.on(max(0, asking.course.prepared.cohorts[slot].arrives_day))
    first = _quarter(asking, arrives_on if on is None else on)
    parts = _quarters(asking)[first : first + QUARTERS]
    if len(parts) < QUARTERS:
        raise refused(asking, f"fewer than {QUARTERS} quarters of the plan lie ahead; ask an earlier day")
    with recording():
        year = [_median(slot, asking, part)[0] for part in parts]
        held = lasting_heads(year) if min(year) > 0 else min(year)
        value = float(whole(held)) if not isinstance(held, Worked) else whole(held)
    tree = tree_of(value, About(symbol=LASTING, key=f"crew.{LASTING}", kind="law"))
    return Found(tree=tree, shown=f"{int(value)}, whole ones of {held:.4g}", on=on)


def _quarters(asking: Asking) -> list[slice]:
    return quarters(asking.plan.start_on, asking.course.prepared.keeper.days)


def _quarter(asking: Asking, on: date) -> int:
    day = asking.day(on, 0)
    return next(number for number, part in enumerate(_quarters(asking)) if day < part.stop)


def _median(slot: int, asking: Asking, part: slice) -> tuple[InItsUnit, tuple[InItsUnit, ...]]:
    """How many of a grazer are held in some days: the median where any lived, and in every member."""
    course = asking.course
    liked = lives_from(course.prepared.cohorts[slot])
    own = course.courses[slot]
    values = held_by_member(own, growth_of(course.courses, course.series).spare_ratio(liked, part), part)
    known = np.flatnonzero(np.isfinite(values))
    if not known.size:
        on = asking.on(part.start)
        raise refused(asking, f"none of them lives in the days from {on} on; ask a later day")
    first, last = asking.on(part.start), asking.on(part.stop - 1)
    about = About(symbol=HELD, key=f"crew.{HELD}.{first} to {last}", kind="law")
    value = middle_of(
        values[known],
        lambda place: _of_member(slot, asking, part, int(known[place])),
        about,
        words=lambda place: f"member {known[place] + 1}",
        of=f"members in which any lived from {first} to {last}",
    )
    whole = len(known) == len(values)
    return value, tuple(values.tolist()) if whole else ()


def _of_member(slot: int, asking: Asking, part: slice, member: int) -> InItsUnit:
    """How many of a grazer are held in some days in one member."""
    course = asking.course
    cohort, there = course.prepared.cohorts[slot], lived(course.courses[slot], part)
    liked = lives_from(cohort)
    heads, met, days = (
        simulated(
            asking,
            name,
            values,
            member,
            about=About(
                symbol=name,
                key=f"state.{cohort.entry.id}.{name}.{asking.on(part.start)}",
                kind="simulated",
                what=f"{what}, added up over the days from {asking.on(part.start)} on which any lived",
                unit="d",
                on=asking.on(part.stop - 1),
            ),
        )
        for name, what, values in (
            ("heads_d", f"number of {cohort.species.common_name}", there.heads_d),
            ("met_d", "energy that they got over the need", there.met_d),
            ("lived_d", "one", there.days),
        )
    )
    found: InItsUnit = held_heads(heads, met, days, _growth(asking, member, liked).spare_ratio(liked, part))
    return found


def _growth(asking: Asking, member: int, liked: Sequence[str]) -> Growth:
    """What grew and was eaten in one member."""

    def standing(pool: str, day: int) -> InItsUnit:
        def row(name: str) -> InItsUnit:
            return state(asking, name, day, member) if name == pool else 1.0

        found: InItsUnit = series_from(row, 1.0)[GROWTHS[pool]]()
        return found

    return Growth(
        eaters={pool: eaters_of(asking.course.courses, pool) for pool in liked},
        grazed_mmol=lambda slot, pool, day: slot_state(asking, slot, f"ate_{pool}", day, member),
        standing_g=standing,
    )
