"""Which chores the keeper keeps, and how often: rarer as far as nothing suffers, oftener where stretched.

How long a chore may be left is the catalogue's word (`harm_after_days`); a chore of which it says nothing is
never made rarer. Chores that wait for a test, and those of helpers and devices, stay as they are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.aquarium.phrases import SHORT_WEEKDAYS, read_rhythm, write_nth
from backreef.aquarium.plan import BY_HAND, Plan, Rhythm, Upkeep
from backreef.catalogue.entries import Catalogue, Task, known
from backreef.judgement.remedies import WATER_CHANGE
from backreef.planning.choices import OWN_PREFIX, WATER, Choice
from backreef.planning.numbers import number
from backreef.schedule.chores import Chore
from backreef.schedule.people import KEEPER
from backreef.schedule.rhythm import mean_interval_d
from backreef.schedule.tables import effect_rules, implied_rules, workload
from backreef.simulation.prepared import lay_out
from backreef.simulation.tables import InItsUnit
from backreef.units import DAYS_PER_MONTH

Array = npt.NDArray[np.float64]
RARER_RATIO, OFTENER_RATIO = 2.0, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A chore of the keeper's that comes round by itself, stated by the plan or implied by what it holds."""

    upkeep: Upkeep
    task: Task
    stated: bool
    minutes_per_month: InItsUnit


def chore_choices(plan: Plan, catalogue: Catalogue) -> tuple[Choice, ...]:
    """For each chore worth the thought: half as often, and twice as often where it is stretched."""
    return tuple(choice for line in _lines(plan, catalogue) for choice in _choices(line))


def minutes_of(chores: Sequence[Chore], days: int, *, group: str = "") -> Array:
    """Typical minutes of the keeper on each day, (days,). [min]

    Looks and chores that wait for a test are left out. With a group of tasks, those of the group alone.
    """
    minutes = np.zeros(days)
    for chore in chores:
        if _counts(chore) and (not group or workload().group_of.get(chore.task_id) == group):
            minutes[chore.done_day] += chore.minutes
    return minutes


def _counts(chore: Chore) -> bool:
    return chore.by == KEEPER and chore.condition is None and not chore.look and chore.done_day is not None


def is_work_only(plan: Plan, other: Plan) -> bool:
    """Whether two plans differ in chores alone that the water does not notice."""
    if replace(plan, upkeep=()) != replace(other, upkeep=()):
        return False
    before, after = ({line.id: line for line in one.upkeep} for one in (plan, other))
    changed = {name for name in {**before, **after} if before.get(name) != after.get(name)}
    lines = [line for one in (before, after) for name, line in one.items() if name in changed]
    return all(line.task not in effect_rules() for line in lines)


def paced(rhythm: Rhythm, ratio: InItsUnit) -> Rhythm | None:
    """A rhythm with so many times the days, weeks or months between; None where that cannot be said."""
    days = ", ".join(SHORT_WEEKDAYS[day] for day in rhythm.weekdays)
    if rhythm.kind == "interval":
        text = f"{max(1, round((rhythm.every_days or 1.0) * ratio))} days"
    elif not days:
        return None
    elif rhythm.kind == "weekly":
        text = f"{max(1, int(rhythm.every_weeks * ratio))} weeks on {days}"
    else:
        months = max(1, int(rhythm.every_months * ratio))
        text = f"{write_nth(rhythm.nth or 1)} {days} of every {months} months"
    return read_rhythm(f"{text} when present" if rhythm.only_when_present else text)


def _choices(line: _Line) -> Iterator[Choice]:
    interval_d = mean_interval_d(line.upkeep.rhythm)
    harm, usual = known(line.task.harm_after_days), known(line.task.every_days)
    least = number("least_chore_min_per_month")
    rarer = paced(line.upkeep.rhythm, RARER_RATIO)
    if rarer is not None and harm is not None and mean_interval_d(rarer) <= harm.value:
        saves = line.minutes_per_month * (1.0 - interval_d / mean_interval_d(rarer))
        if saves >= least:
            yield _choice(line, rarer, "rarer", "half as often")
    oftener = paced(line.upkeep.rhythm, OFTENER_RATIO)
    if oftener is None or usual is None or interval_d < number("stretched_ratio") * usual.value:
        return
    if line.minutes_per_month * (interval_d / mean_interval_d(oftener) - 1.0) >= least:
        yield _choice(line, oftener, "oftener", "twice as often")


def _choice(line: _Line, rhythm: Rhythm, kind: str, how: str) -> Choice:
    changed = replace(line.upkeep, rhythm=rhythm)
    name = line.task.name[0].lower() + line.task.name[1:]
    return Choice(
        id=f"{kind}:{line.upkeep.id}",
        kind="rarer" if kind == "rarer" else "oftener",
        words=f"{name}: {how}, every {rhythm.text}",
        change=partial(_with_line, changed, line.stated),
        group=WATER if line.task.id == WATER_CHANGE else f"chore:{line.upkeep.id}",
    )


def _with_line(changed: Upkeep, stated: bool, plan: Plan) -> Plan | None:  # noqa: FBT001  one of two places
    if not stated:
        return replace(plan, upkeep=(*plan.upkeep, changed))
    if all(line.id != changed.id for line in plan.upkeep):
        return None
    return replace(plan, upkeep=tuple(changed if line.id == changed.id else line for line in plan.upkeep))


def _lines(plan: Plan, catalogue: Catalogue) -> Iterator[_Line]:
    keeper = lay_out(plan, catalogue).keeper
    minutes: dict[str, InItsUnit] = defaultdict(float)
    for chore in keeper.chores:
        if _counts(chore):
            minutes[chore.task_id] += chore.minutes / keeper.days * DAYS_PER_MONTH
    stated = defaultdict(list)
    for line in plan.upkeep:
        stated[line.task].append(line)
    for task_id, spent in sorted(minutes.items()):
        task = catalogue.tasks[task_id]
        lines = stated[task_id]
        if len(lines) == 1 and lines[0].when is None and lines[0].by == BY_HAND:
            yield _Line(upkeep=lines[0], task=task, stated=True, minutes_per_month=spent)
        elif not lines and _comes_round(task_id) and known(task.every_days) is not None:
            yield _Line(upkeep=_implied(task), task=task, stated=False, minutes_per_month=spent)


def _comes_round(task_id: str) -> bool:
    """Whether a task that the plan does not state comes round in the catalogue's own rhythm."""
    rhythms = {rule.rhythm for rule in implied_rules() if rule.task == task_id}
    return rhythms == {"task"}


def _implied(task: Task) -> Upkeep:
    """The line that says what is implied."""
    usual = known(task.every_days)
    every = 1.0 if usual is None else usual.value
    return Upkeep(
        id=f"{OWN_PREFIX}{task.id}",
        task=task.id,
        share_frac=None,
        amount_g=None,
        amount_l=None,
        rhythm=Rhythm(kind="interval", text=f"{every:g} days", every_days=every),
        by=BY_HAND,
        when=None,
        minutes=None,
        at_hour=None,
    )
