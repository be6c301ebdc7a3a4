"""The short list of a week: what to check, to take again, to do, to read, and who may come.

The week is the one after the last reading. Each thing has a reason, its minutes, and what happens if not.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from backreef.aquarium.plan import BY_HAND, AnimalEntry, Condition, Plan, Sighting
from backreef.aquarium.series import door_factor, series_of
from backreef.calibration.evidence import Taken
from backreef.calibration.outcome import Alarm, Gate, NextReading, Questioned, ToDo
from backreef.calibration.tables import number, reading_minutes
from backreef.calibration.workings import minutes_of
from backreef.catalogue.entries import Catalogue
from backreef.logbook.entries import Addition, Entry
from backreef.logbook.entries import Sighting as Looked
from backreef.schedule.build import Schedule
from backreef.schedule.chores import Chore
from backreef.working.number import total
from backreef.working.steps import InItsUnit

DAYS_PER_WEEK = 7
COMPARED: Mapping[str, Callable[[float, float], bool]] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}
OPEN, CLOSED, UNKNOWN = "open", "closed", "not known"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """What the week is made from."""

    plan: Plan
    """As it was lived: with the animals that came."""
    catalogue: Catalogue
    schedule: Schedule
    entries: Sequence[Entry]
    taken: Sequence[Taken]
    """Readings that are believed."""
    first_day: int
    """Of the week, in days of the horizon."""

    @property
    def first_on(self) -> date:
        """The first day of the week."""
        return self.plan.start_on + timedelta(days=self.first_day)


def this_week(
    known: Known,
    *,
    alarms: Sequence[Alarm],
    questioned: Sequence[Questioned],
    readings: Sequence[NextReading],
) -> tuple[ToDo, ...]:
    """The short list, what cannot wait first."""
    return (*_checks(alarms), *_again(known, questioned), *_chores(known), *_reading(readings))


def _checks(alarms: Sequence[Alarm]) -> list[ToDo]:
    least = number("check_share_frac")
    return [
        ToDo(
            kind="check",
            what=one.check,
            why=f"{alarm.label} changed: {one.what}?",
            minutes=one.minutes,
            if_not="later readings will tell, and the tank goes on meanwhile",
            on=None,
        )
        for alarm in alarms
        for one in alarm.suspects
        if one.share_frac >= least
    ]


def _again(known: Known, questioned: Sequence[Questioned]) -> list[ToDo]:
    since = known.first_on - timedelta(days=2 * DAYS_PER_WEEK)
    found = []
    for one in questioned:
        if one.on < since:
            continue
        mine = [each for each in known.taken if each.series.door_series == one.series]
        word = mine[-1].series.word if mine else one.series.split("_", maxsplit=1)[0]
        kit = mine[-1].trust.kit if mine else ""
        found.append(
            ToDo(
                kind="again",
                what=f"take {word} again",
                why=f"'{one.written}' of {one.on.isoformat()} does not go with the others",
                minutes=_minutes_of_reading(word, kit),
                if_not="the outlook does without it",
                on=None,
            )
        )
    return found


def _minutes_of_reading(word: str, kit: str) -> InItsUnit | None:
    minutes = reading_minutes().get((word, kit))
    return None if minutes is None else minutes_of(minutes, f"{word}, {kit}", "reading_minutes")


# --- work ---------------------------------------------------------------------------------------------------


def _chores(known: Known) -> list[ToDo]:
    """Work by hand that falls into the week, by task; what hurts soonest if it is left stands first."""
    meals = {meal.id for meal in known.plan.meals}
    days = range(known.first_day, known.first_day + DAYS_PER_WEEK)
    by_task: dict[str, list[Chore]] = {}
    for chore in known.schedule.chores:
        mine = chore.done_day in days and chore.merged_into is None and chore.by not in _devices(known.plan)
        if mine and not chore.look and chore.entry_id not in meals and is_wanted(known, chore.condition):
            by_task.setdefault(chore.task_id, []).append(chore)
    found = []
    for task_id, chores in by_task.items():
        task = known.catalogue.tasks.get(task_id)
        first = min(chore.done_day for chore in chores if chore.done_day is not None)
        condition = next((chore.condition for chore in chores if chore.condition), None)
        times = "" if len(chores) == 1 else f", {len(chores)} times"
        harm_days = _harm_days(known.catalogue, task_id)
        found.append(
            (
                harm_days,
                ToDo(
                    kind="chore",
                    what=f"{chores[0].name}{times}",
                    why=f"{condition.text}: {_said(known, condition)}"
                    if condition
                    else "it falls due by the plan",
                    minutes=total(chore.minutes + chore.setup_minutes for chore in chores),
                    if_not=task.consequence if task is not None else "",
                    on=known.plan.start_on + timedelta(days=first),
                ),
            )
        )
    return [one for _, one in sorted(found, key=lambda pair: (pair[0], pair[1].what))]


def _devices(plan: Plan) -> frozenset[str]:
    return frozenset(device.id for device in plan.devices if device.id != BY_HAND)


def _harm_days(catalogue: Catalogue, task_id: str) -> float:
    task = catalogue.tasks.get(task_id)
    value = None if task is None else getattr(task.harm_after_days, "value", None)
    return float("inf") if value is None else float(value)


def is_wanted(known: Known, condition: Condition | None) -> bool:
    """Whether a chore with a condition is to be done: so by the last reading, or nothing is known."""
    return condition is None or _holds(known, condition) is not False


def _last(known: Known, condition: Condition, *, within_d: float | None = None) -> Taken | None:
    mine = [one for one in known.taken if one.series.series == condition.series]
    if not mine or (within_d is not None and mine[-1].at_d < known.first_day - within_d):
        return None
    return mine[-1]


def _holds(known: Known, condition: Condition, *, within_d: float | None = None) -> bool | None:
    last = _last(known, condition, within_d=within_d)
    return None if last is None else COMPARED[condition.comparison](last.value, condition.value)


def _said(known: Known, condition: Condition) -> str:
    last = _last(known, condition)
    if last is None:
        return "not tested yet"
    factor = door_factor(last.series)
    return f"{last.value * factor:.3g} {last.series.door_unit} on {last.on.isoformat()}".rstrip()


def _reading(readings: Sequence[NextReading]) -> list[ToDo]:
    if not readings:
        return []
    best = readings[0]
    return [
        ToDo(
            kind="reading",
            what=f"read {best.label} ({best.kit.replace('_', ' ')})",
            why=f"it settles most per minute, above all {best.most_about}",
            minutes=best.minutes,
            if_not="the outlook stays as wide as it is",
            on=None,
        )
    ]


# --- gates --------------------------------------------------------------------------------------------------


def gates_of(known: Known) -> tuple[Gate, ...]:
    """The gates of animals that are to come soon: open, closed or not known, by readings and sightings."""
    came = {one.what.animal for one in known.entries if isinstance(one.what, Addition)}
    until = known.first_on + timedelta(days=int(number("gate_ahead_days")))
    found = []
    for entry in known.plan.animals:
        waits = entry.gate_conditions or entry.gate_sightings
        if not waits or entry.arrives_on is None or entry.arrives_on > until or entry.id in came:
            continue
        if entry.arrives_on < known.first_on:
            continue  # it counts as come as planned
        parts = [_condition(known, one) for one in entry.gate_conditions]
        parts += [_sighting(known, one) for one in entry.gate_sightings]
        found.append(_gate(known, entry, parts))
    return tuple(found)


def _gate(known: Known, entry: AnimalEntry, parts: Sequence[tuple[str, str]]) -> Gate:
    states = [state for state, _ in parts]
    state = CLOSED if CLOSED in states else UNKNOWN if UNKNOWN in states else OPEN
    telling = [words for each, words in parts if each == state]
    name = known.catalogue.species[entry.species].common_name
    return Gate(
        entry_id=entry.id,
        who=name,
        count=entry.count,
        planned_on=entry.arrives_on or known.first_on,
        state=state,
        why="; ".join(telling),
    )


def _condition(known: Known, condition: Condition) -> tuple[str, str]:
    holds = _holds(known, condition, within_d=number("gate_reading_days"))
    series = series_of(condition.series)
    if holds is None:
        return UNKNOWN, f"{condition.text}: no {series.label} read in the last two weeks"
    return (OPEN if holds else CLOSED), f"{condition.text}: {_said(known, condition)}"


def _sighting(known: Known, wanted: Sighting) -> tuple[str, str]:
    if wanted.thing is None:
        return UNKNOWN, f"{wanted.text}: look for it yourself"
    since = known.first_on - timedelta(days=int(number("gate_sighting_days")))
    looks = [
        (one.at.date(), one.what)
        for one in sorted(known.entries, key=lambda each: each.at)
        if isinstance(one.what, Looked) and one.what.thing == wanted.thing and one.at.date() >= since
    ]
    if not looks:
        return UNKNOWN, f"{wanted.text}: nobody has logged a look at it"
    last = looks[-1][1]
    if last.seen != wanted.seen:
        return CLOSED, f"{wanted.text}: on {looks[-1][0].isoformat()} it was not so"
    days = sorted({on for on, look in looks if look.seen == wanted.seen})
    if len(days) < int(number("gate_sightings_count")):
        return UNKNOWN, f"{wanted.text}: so on {days[-1].isoformat()}, and to be seen once more"
    seen = " and ".join(on.isoformat() for on in days[-2:])
    return OPEN, f"{wanted.text}: so on {seen}"
