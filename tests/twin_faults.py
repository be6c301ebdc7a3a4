"""Twins in which something goes wrong on a day: when it is told, and what is suspected."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from functools import cache

import numpy as np

from backreef.calibration.alarms import Field, field_of, greatest_change, is_alarm, suspects
from backreef.calibration.deeds import Deeds, deeds_of
from backreef.calibration.doubt import questioned
from backreef.calibration.evidence import (
    Scale,
    Taken,
    course_of,
    evidence_of,
    foretold_by,
    rows_needed,
    taken_of,
)
from backreef.calibration.faults import Fault, can_happen, life_with
from backreef.calibration.fit import march_lived
from backreef.calibration.luck import LearnedDraws
from backreef.calibration.patterns import best_pattern, patterns_of, patterns_of_units
from backreef.calibration.tables import Cause, all_causes, number
from backreef.logbook.entries import Entry, Reading
from backreef.simulation.ensemble import Members
from backreef.simulation.lived import cut_short
from backreef.units import ion_per_element_ratio
from tests.twins import KITS, LANES, LOGGED_DAYS, TRUTH_SEED, Array, life, truth, twin_plan, written
from tests.unit.aquarium.plans import catalogue

CHECKED_EVERY_D = 7
FAULT_MEMBERS = 128
CARDS, PHOTOMETERS = "cards once a week", "photometers twice a week"
KITS_OF = {CARDS: KITS, PHOTOMETERS: KITS | {"nitrate_mg_n_per_l": "photometer"}}
DAYS_OF = {CARDS: (3,), PHOTOMETERS: (1, 5)}
MISSED = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarmed:
    """When a fault was told, and what was suspected."""

    after_d: float | None
    """Days from the fault to the first weekly check that told of it; None: never."""
    false_before: bool
    kind: str
    first_suspects: tuple[str, ...]


@cache
def faulty_courses(does: str, since_day: int, block: int) -> dict[str, Array]:
    """Eight tanks in which something goes wrong on a day."""
    if does in ("", "unit"):
        return truth("established", block).courses
    lived = life_with(Fault(does=does, since_day=since_day), no_deeds(), catalogue(), life("established"))
    members = march_lived(lived, LearnedDraws(TRUTH_SEED + block, LANES), rows_needed(lived.prepared.layout))
    return {name: course_of(name, lived.prepared.layout, members) for name in KITS}


@cache
def no_deeds() -> Deeds:
    return deeds_of((), twin_plan("established"), catalogue(), last_day=LOGGED_DAYS - 1)


@cache
def foretelling(members: int, seed: int = 1) -> Members:
    """What the ensemble foretells before anything was read."""
    lived = cut_short(life("established"), LOGGED_DAYS)
    return march_lived(lived, LearnedDraws(seed, members), rows_needed(lived.prepared.layout))


@cache
def signature_courses(does: str, since_day: int) -> Members:
    lived = life("established")
    if does:
        lived = life_with(Fault(does=does, since_day=since_day), no_deeds(), catalogue(), lived)
    else:
        lived = cut_short(lived, LOGGED_DAYS)
    return march_lived(lived, LearnedDraws(1, LANES), rows_needed(lived.prepared.layout))


def fault_log(does: str, since_day: int, block: int, lane: int, *, keeper: str) -> list[Entry]:
    """Twelve weeks of readings of a tank in which something goes wrong."""
    rng = np.random.default_rng(np.random.Philox(key=50_000 + 1000 * block + lane))
    set_days = [7 * week + day for week in range(LOGGED_DAYS // 7) for day in DAYS_OF[keeper]]
    days = [day + int(rng.integers(0, 2)) + 19 / 24 for day in set_days if rng.random() > MISSED]
    courses = faulty_courses(does, since_day, block)
    entries = written(courses, lane, days, rng, KITS_OF[keeper])
    if does != "unit":
        return entries
    start = datetime.combine(twin_plan("established").start_on, time(), tzinfo=UTC)
    wrong = []
    for one in entries:
        what = one.what
        late = (one.at - start).total_seconds() / 86400 >= since_day
        if isinstance(what, Reading) and what.series.startswith("nitrate") and late:
            what = replace(what, value=what.value / ion_per_element_ratio("NO3", "N"))
        wrong.append(replace(one, what=what))
    return wrong


def run_fault(does: str, since_day: int, block: int, lane: int, *, keeper: str, causes: bool) -> Alarmed:
    """Look at a log week by week until the fault is told."""
    taken, _ = taken_of(
        fault_log(does, since_day, block, lane, keeper=keeper), twin_plan("established").start_on
    )
    false_before, kind = False, ""
    after: float | None = None
    first: tuple[str, ...] = ()
    for day in range(28, LOGGED_DAYS + 1, CHECKED_EVERY_D):
        seen = [one for one in taken if one.at_d < day]
        if len(seen) < 6:
            continue
        field = field_at(seen)
        change = greatest_change(field)
        if not is_alarm(field, change, seed=1):
            of_tank = patterns_of(field, all_causes(), signatures(field))
            change = best_pattern(field, (*of_tank, *patterns_of_units(field, all_causes())), seed=1)
        if change is None:
            continue
        if does == "" or day <= since_day:
            false_before = True
            if does == "":
                break
            continue
        after, kind = float(day - since_day), change.kind
        if causes:
            first = tuple(one.id for one in suspects(field, change, all_causes(), signatures(field))[:3])
        break
    return Alarmed(after_d=after, false_before=false_before, kind=kind, first_suspects=first)


def field_at(seen: Sequence[Taken]) -> Field:
    """The readings up to a day as a field."""
    layout = life("established").prepared.layout
    scale = Scale(seen)
    evidence = evidence_of(seen, scale)
    foretold = foretold_by(seen, scale, layout, foretelling(FAULT_MEMBERS))
    doubts = questioned(
        foretold,
        evidence,
        bounded=np.array([one.bounded for one in seen]),
        limit_sd=number("question_sd"),
        most_frac=number("question_most_frac"),
    )
    return field_of(foretold, evidence, seen, scale, doubts)


def signatures(field: Field) -> Callable[[Cause, int], Array | None]:
    """What causes add to the readings of a field."""
    layout = life("established").prepared.layout
    base = foretold_by(field.taken, field.scale, layout, signature_courses("", 0))

    def shape(cause: Cause, since_day: int) -> Array | None:
        if not can_happen(cause, life("established")):
            return None
        with_it = signature_courses(cause.does, since_day)
        return foretold_by(field.taken, field.scale, layout, with_it) - base

    return shape
