"""Stage 2: in which month each newcomer comes. One function per rule; a month has one day of arrivals."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import known
from backreef.company.additions import STAGES
from backreef.company.findings import rule_number
from backreef.company.hazards import QUARANTINE
from backreef.company.hazards import number as hazard_number
from backreef.company.rivals import FIERCE
from backreef.planning.candidates import Candidate
from backreef.planning.numbers import count, number
from backreef.planning.programme import Programme, Row, Variable
from backreef.schedule.presence import BoolArray, Presence, presence
from backreef.simulation.tables import InItsUnit, animal_number
from backreef.units import DAYS_PER_MONTH

QUARTER_MONTHS = 3
ACCLIMATE = "acclimate"
"""The task of receiving newcomers, which no sitter does who was not asked."""
SLOW = "fast"
"""The variable that says how far the daily food may be raised faster than it should."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """A month of the plan, and the day in it on which newcomers may come."""

    number: int
    on: date
    fish: bool
    """Whether fish may come too: not in the weeks before nobody is there for long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """What the rules of stage 2 are made of."""

    plan: Plan
    chosen: tuple[Candidate, ...]
    months: tuple[Month, ...]
    eats_g_per_d: Mapping[str, InItsUnit]
    """Candidate -> dry food that all that come of it take."""
    eaten_before_g_per_d: InItsUnit
    arrival_min: Mapping[str, InItsUnit]
    """Candidate -> minutes that its coming costs, once, if it is the first of its day."""
    further_frac: InItsUnit
    """Minutes of one more newcomer on the same day, over those of the first."""
    day_months: InItsUnit
    """Months that one would rather wait than have one more day of arrivals."""
    month_min: tuple[InItsUnit, ...]
    """Minutes of each month without newcomers, by the slowest member."""
    budget_min_per_month: InItsUnit
    heads: Mapping[str, int] = field(default_factory=dict)
    """Candidate -> how many of it come; where it says nothing, as few as live together."""
    one_a_day: bool = False
    """Whether no two kinds come on one day: whoever receives them has no time for more."""
    banned: tuple[frozenset[tuple[str, int]], ...] = ()
    """Sets of candidates in their months that the rules or the simulation refused together."""


def comes(species_id: str, month: int) -> str:
    """The variable that says whether an animal comes in a month."""
    return f"comes:{species_id}:{month}"


def day(month: int) -> str:
    """The variable that says whether anybody comes in a month."""
    return f"day:{month}"


def batch(month: int) -> str:
    """The variable that says whether fish come out of the quarantine tank in a month."""
    return f"batch:{month}"


def months_of(plan: Plan) -> tuple[Month, ...]:
    """The months in which newcomers may come, each with its first day on which somebody receives them.

    That is the keeper, or a helper whose list has it; the keeper is there on the day after.
    """
    there = presence(plan)
    received = _receives(plan, there)
    first = plan.start_on + timedelta(days=round(number("first_wait_d")))
    found: dict[tuple[int, int], Month] = {}
    for number_of in range((first - plan.start_on).days, there.days - 1):
        on = there.on(number_of)
        key = (on.year, on.month)
        if len(found) >= count("last_month_count"):
            break
        if key in found or not (received[number_of] and there.present[number_of + 1]):
            continue
        if found and (on - list(found.values())[-1].on).days < rule_number("fish_gap_d"):
            continue
        found[key] = Month(number=len(found), on=on, fish=not _before_absence(there, number_of))
    return tuple(found.values())


def _receives(plan: Plan, there: Presence) -> BoolArray:
    """Days on which there is somebody who receives newcomers."""
    able = there.present.copy()
    if ACCLIMATE in plan.keeper.refuses:
        able[:] = False
    for helper in there.helpers:
        if ACCLIMATE in helper.tasks:
            able |= helper.present
    return able


def _before_absence(there: Presence, number_of: int) -> bool:
    """Whether a long stretch without anybody begins within the weeks in which most losses fall."""
    return any(
        stretch.days >= rule_number("long_absence_d")
        and 0 <= stretch.first_day - number_of < rule_number("before_absence_d")
        for stretch in there.away
    )


def once(timing: Timing) -> Iterator[Row]:
    """Each of the chosen comes in exactly one month."""
    for one in timing.chosen:
        terms = {comes(one.id, month.number): 1.0 for month in timing.months}
        yield Row(rule="once", about=one.id, terms=terms, low=1.0, high=1.0)


def one_kind_a_day(timing: Timing) -> Iterator[Row]:
    """No two kinds come on one day where there was no time to receive them together."""
    for month in timing.months if timing.one_a_day else ():
        terms = {comes(one.id, month.number): 1.0 for one in timing.chosen}
        yield Row(rule="one_kind_a_day", about=f"{month.on}", terms=terms, high=1.0)


def old_enough(timing: Timing) -> Iterator[Row]:
    """None comes before the tank is old enough to feed and bear it."""
    for one in timing.chosen:
        least = known(one.species.min_tank_age_months)
        if least is None:
            continue
        age = timing.plan.tank.start.age_months
        early = {
            comes(one.id, month.number): 1.0
            for month in timing.months
            if age + (month.on - timing.plan.start_on).days / DAYS_PER_MONTH < least.value
        }
        if early:
            yield Row(rule="old_enough", about=one.id, terms=early, high=0.0)


def not_before_absence(timing: Timing) -> Iterator[Row]:
    """No fish comes in the weeks before nobody is there for long."""
    for one in timing.chosen:
        terms = {comes(one.id, month.number): 1.0 for month in timing.months if not month.fish}
        if one.species.kind == "fish" and terms:
            yield Row(rule="not_before_absence", about=one.id, terms=terms, high=0.0)


def in_turn(timing: Timing) -> Iterator[Row]:
    """A bold fish does not come before a peaceful one that belongs earlier in the order."""
    fish = [one for one in timing.chosen if one.species.kind == "fish"]
    for bold in fish:
        for other in fish:
            earlier = STAGES.index(other.species.add_stage) < STAGES.index(bold.species.add_stage)
            if bold.species.aggression in FIERCE and other.species.aggression not in FIERCE and earlier:
                terms = {comes(bold.id, month.number): float(month.number) for month in timing.months}
                for month in timing.months:
                    terms[comes(other.id, month.number)] = -float(month.number)
                yield Row(rule="in_turn", about=f"{bold.id}.{other.id}", terms=terms, low=0.0)


def food_grows_slowly(timing: Timing) -> Iterator[Row]:
    """One step of newcomers raises the daily food by no more than the filter can follow, or hardly more."""
    share = number("food_step_frac")
    for month in timing.months:
        terms: dict[str, InItsUnit] = {SLOW: -1.0}
        for one in timing.chosen:
            eats = timing.eats_g_per_d[one.id]
            terms[comes(one.id, month.number)] = eats
            for before in timing.months[: month.number]:
                terms[comes(one.id, before.number)] = -share * eats
        yield Row(
            rule="food_grows_slowly",
            about=str(month.on),
            terms=terms,
            high=share * timing.eaten_before_g_per_d,
        )


def quarantine_in_turn(timing: Timing) -> Iterator[Row]:
    """Where fish are kept apart first, one batch leaves the quarantine tank before the next one fills it."""
    boxes = sum(device.count for device in timing.plan.devices if device.kind == QUARANTINE)
    fish = [one for one in timing.chosen if one.species.kind == "fish"]
    if not boxes:
        return
    apart_d = hazard_number("quarantine_days")
    for one in fish:
        early = [month for month in timing.months if (month.on - timing.plan.start_on).days < apart_d]
        if early:
            terms = {comes(one.id, month.number): 1.0 for month in early}
            yield Row(rule="quarantine", about=f"{one.id}.first", terms=terms, high=0.0)
    for month in timing.months:
        near = [other for other in timing.months if 0 <= (other.on - month.on).days < apart_d]
        if len(near) > boxes and fish:
            batches = {batch(each.number): 1.0 for each in near}
            yield Row(rule="quarantine", about=str(month.on), terms=batches, high=float(boxes))
        for one in fish:
            terms = {batch(month.number): 1.0, comes(one.id, month.number): -1.0}
            yield Row(rule="quarantine", about=f"{one.id}.{month.on}", terms=terms, low=0.0)


def quarantine_has_room(timing: Timing) -> Iterator[Row]:
    """Where fish are kept apart first, kinds share a batch only as far as the tank holds them together."""
    fish = [one for one in timing.chosen if one.species.kind == "fish"]
    if len(fish) < 2 or not any(device.kind == QUARANTINE for device in timing.plan.devices):  # noqa: PLR2004
        return
    held = number("quarantine_fish_cm")
    lengths = {one.id: _length_cm(one, timing.heads.get(one.id, one.least_count), held) for one in fish}
    for month in timing.months:
        terms = {comes(one.id, month.number): lengths[one.id] for one in fish}
        yield Row(rule="quarantine_room", about=str(month.on), terms=terms, high=held)


def _length_cm(one: Candidate, heads: int, held_cm: InItsUnit) -> InItsUnit:
    """Length of all that come of a kind, no more than the tank holds: a shoal is never parted. [cm]

    A kind of which nobody knows how long it is counts as a whole tank.
    """
    usual, adult = known(one.species.purchase_length_cm), known(one.species.adult_length_cm)
    if usual is not None:
        each = usual.value
    elif adult is not None:
        each = animal_number("arrival_length_frac") * adult.value
    else:
        return held_cm
    return min(held_cm, heads * each)


def day_of_arrivals(timing: Timing) -> Iterator[Row]:
    """A month in which anybody comes has a day of arrivals, whose first newcomer takes the full time."""
    for month in timing.months:
        for one in timing.chosen:
            terms = {day(month.number): 1.0, comes(one.id, month.number): -1.0}
            yield Row(rule="day_of_arrivals", about=f"{one.id}.{month.on}", terms=terms, low=0.0)


def minutes_fit_each_quarter(timing: Timing) -> Iterator[Row]:
    """In each quarter of a year the minutes of those who come fit beside the chores."""
    for first in range(max(1, len(timing.months) - QUARTER_MONTHS + 1)):
        window = timing.months[first : first + QUARTER_MONTHS]
        chores = sum(timing.month_min[month.number] for month in window)
        terms = {
            comes(one.id, month.number): timing.further_frac * timing.arrival_min[one.id]
            for one in timing.chosen
            for month in window
        }
        full = (1.0 - timing.further_frac) * max(timing.arrival_min.values(), default=0.0)
        terms |= {day(month.number): full for month in window}
        left = max(0.0, len(window) * timing.budget_min_per_month - chores)
        yield Row(rule="minutes_quarter", about=str(window[0].on), terms=terms, high=left)


def not_again(timing: Timing) -> Iterator[Row]:
    """What was refused once is not proposed again."""
    chosen = {one.id for one in timing.chosen}  # where one is missing, all of them do not come
    for number_of, banned in enumerate(timing.banned):
        if all(species in chosen for species, _ in banned):
            terms = {comes(species, month): 1.0 for species, month in sorted(banned)}
            yield Row(rule="not_again", about=str(number_of), terms=terms, high=len(banned) - 1.0)


RULES: tuple[Callable[[Timing], Iterator[Row]], ...] = (
    once,
    one_kind_a_day,
    old_enough,
    not_before_absence,
    in_turn,
    food_grows_slowly,
    quarantine_in_turn,
    quarantine_has_room,
    day_of_arrivals,
    minutes_fit_each_quarter,
    not_again,
)
FAST_COSTS = 1000.0
"""Raising the food too fast is worse than any wait."""


def arrivals_programme(timing: Timing) -> Programme:
    """The programme of stage 2: everybody soon, those that belong early first, food raised slowly."""
    variables = [
        Variable(name=comes(one.id, month.number)) for one in timing.chosen for month in timing.months
    ]
    variables += [
        Variable(name=name) for month in timing.months for name in (day(month.number), batch(month.number))
    ]
    variables.append(Variable(name=SLOW, high=FAST_COSTS, whole=False))
    aim = {
        comes(one.id, month.number): -float(month.number)
        * (len(STAGES) - STAGES.index(one.species.add_stage))
        for one in timing.chosen
        for month in timing.months
    }
    aim |= {day(month.number): -timing.day_months * len(STAGES) for month in timing.months}
    rows = tuple(row for rule in RULES for row in rule(timing))
    return Programme(variables=tuple(variables), rows=rows, aim={**aim, SLOW: -FAST_COSTS})
