"""Every chore of the horizon: what falls due when, on which day and by whom it is done, how long it takes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cache

from backreef.aquarium.plan import BY_HAND, Condition, Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.effects import OTHER, Effect
from backreef.schedule.feeder_meals import REFILL
from backreef.schedule.implied import implied_dues
from backreef.schedule.meals import MealBook
from backreef.schedule.people import Doers, doers, hour_of
from backreef.schedule.presence import Presence
from backreef.schedule.settling import Visit, settle_alone
from backreef.schedule.tables import hand_task
from backreef.schedule.upkeep import due_when_there, task_line, upkeep_line
from backreef.schedule.visits import plan_visits
from backreef.schedule.work import Due, LeftOut, Line
from backreef.schedule.workload import NO_MINUTES, task_minutes
from backreef.units import DAYS_PER_MONTH

DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Chore:
    """One occurrence of a task."""

    id: str
    """Entry, task and due date; the same plan gives the same ids."""
    task_id: str
    name: str
    entry_id: str
    """Id of the plan's entry that brings it; 'keeper' or 'tank' where no entry does."""
    due_day: int
    done_day: int | None
    """None: nobody is there within what it can slip."""
    hour: float
    """Hour of the day at which it is done."""
    minutes_low: float
    minutes: float
    """Typical; `minutes_low` and `minutes_high` bound what is likely. All without the set-up."""
    minutes_high: float
    setup_minutes: float
    """Its part of the set-up, when all chores of its visit are done."""
    setup_own_minutes: float
    """The whole set-up, if it were the only chore of its group on the visit."""
    setup_group: str
    needs_presence: bool
    by: str
    """'keeper', a helper's name or a device id; empty where nobody is there."""
    look: bool
    """A look of two minutes or less: listed apart from the budget."""
    condition: Condition | None
    """Done only if this was true at the last test."""
    effect: Effect
    merged_into: str | None
    """Id of the later chore of the same kind, on the same day, that does its work; it takes no minutes."""

    @property
    def minutes_typ(self) -> float:
        """The same as `minutes`. [min]"""
        return self.minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """All chores of the horizon, and what is left undone for good."""

    chores: tuple[Chore, ...]
    """In order of the day on which they are done, or due where nobody does them."""
    left_out: tuple[LeftOut, ...]


def chores(plan: Plan, catalogue: Catalogue, *, presence: Presence, meals: MealBook) -> list[Chore]:
    """Every chore of the horizon, in order of days."""
    return list(work_of(plan, catalogue, presence=presence, meals=meals).chores)


def work_of(plan: Plan, catalogue: Catalogue, *, presence: Presence, meals: MealBook) -> Work:
    """Every chore of the horizon, and the tasks that nobody does."""

    @cache
    def doers_of(task_id: str) -> Doers:
        return doers(plan, catalogue, presence=presence, task_id=task_id)

    left_out: dict[tuple[str, str], LeftOut] = {}
    dues = [
        due
        for due in _all_dues(plan, catalogue, presence=presence, meals=meals, doers_of=doers_of)
        if not _is_left_out(due, plan, able=doers_of(due.line.task_id), left_out=left_out)
    ]
    visits = plan_visits(
        dues,
        doers={due.line.task_id: doers_of(due.line.task_id) for due in dues},
        presence=presence,
        weekly_minutes=plan.keeper.minutes_per_month * DAYS_PER_WEEK / DAYS_PER_MONTH,
    )
    done = list(_chores(dues, visits, presence=presence))
    done.sort(key=lambda chore: (chore.due_day if chore.done_day is None else chore.done_day, chore.hour))
    return Work(chores=tuple(done), left_out=(*meals.left_out, *left_out.values()))


# --- what falls due -----------------------------------------------------------------------------------------


def _all_dues(
    plan: Plan, catalogue: Catalogue, *, presence: Presence, meals: MealBook, doers_of: Callable[[str], Doers]
) -> Iterator[Due]:
    for upkeep in plan.upkeep:
        line = upkeep_line(upkeep, plan=plan, catalogue=catalogue)
        for day in due_when_there(upkeep.rhythm, presence=presence, begun_d=plan.begun_d):
            due = Due(line=line, day=day)
            if upkeep.task == REFILL and meals.feeders and line.device is None:
                due = settle_alone(due, doers=doers_of(upkeep.task), days=presence.days)
            yield due
    yield from _meal_dues(plan, catalogue, meals=meals)
    yield from implied_dues(plan, catalogue, presence=presence, meals=meals, doers_of=doers_of)


def _meal_dues(plan: Plan, catalogue: Catalogue, *, meals: MealBook) -> Iterator[Due]:
    lines = {
        (meal.id, None): _meal_line(meal.id, meal.food, plan=plan, catalogue=catalogue)
        for meal in plan.meals
        if meal.by not in meals.feeders
    }
    at_hours: dict[tuple[str, float], Line] = {}
    for occasion in meals.occasions:
        if occasion.by != BY_HAND:
            continue
        key = (occasion.meal_id, occasion.hour)
        line = at_hours.get(key)
        if line is None:
            usual = lines[occasion.meal_id, None]
            # Food is made ready anew at each hour, so a set-up is shared within one hour only.
            line = replace(usual, setup_group=f"{usual.setup_group} {clock(occasion.hour)}")
            at_hours[key] = line
        yield Due(line=line, day=occasion.day, done_on=occasion.day, hour=occasion.hour)


def _meal_line(meal_id: str, food_id: str, *, plan: Plan, catalogue: Catalogue) -> Line:
    task = catalogue.tasks[hand_task(catalogue.foods[food_id])]
    minutes = task_minutes(task, plan=plan)
    return replace(task_line(task, entry_id=meal_id, minutes=minutes, interval_d=1.0), repeats=False)


def _is_left_out(due: Due, plan: Plan, *, able: Doers, left_out: dict[tuple[str, str], LeftOut]) -> bool:
    """Whether nobody does a chore because the keeper refuses or has dropped the task; noted once."""
    line = due.line
    if line.device is not None or able.helpers:
        return False
    refused = line.task_id in plan.keeper.refuses
    if not refused and due.day < able.stop_day:
        return False
    reason = "the keeper refuses it" if refused else "the keeper has dropped it"
    left_out.setdefault(
        (line.entry_id, line.task_id),
        LeftOut(
            task_id=line.task_id,
            entry_id=line.entry_id,
            from_day=0 if refused else able.stop_day,
            reason=reason,
        ),
    )
    return True


# --- what is done -------------------------------------------------------------------------------------------


@dataclass(slots=True, kw_only=True)
class _Draft:
    """A chore before its set-up is known."""

    id: str
    due: Due
    line: Line
    visit: Visit
    hour: float
    main: bool
    """False for work that is done along with another chore."""


def _chores(dues: Sequence[Due], visits: Sequence[Visit], *, presence: Presence) -> Iterator[Chore]:
    days = [(presence.start_on + timedelta(days=day)).isoformat() for day in range(presence.days)]
    drafts: list[_Draft] = []
    ids = [_id(due, due.line, days=days) for due in dues]
    for due, visit, chore_id in zip(dues, visits, ids, strict=True):
        if visit.past_end:
            continue
        hour = _hour(due, visit, presence=presence)
        drafts.append(_Draft(id=chore_id, due=due, line=due.line, visit=visit, hour=hour, main=True))
        companion = due.line.companion
        if companion is not None:
            second = _id(due, companion, days=days)
            drafts.append(_Draft(id=second, due=due, line=companion, visit=visit, hour=hour, main=False))
    setups = _setups(drafts)
    for draft, setup in zip(drafts, setups, strict=True):
        into = None if draft.visit.merged_into is None else ids[draft.visit.merged_into]
        yield _chore(draft, setup_minutes=setup, merged_into=into)


def _chore(draft: _Draft, *, setup_minutes: float, merged_into: str | None) -> Chore:
    line, due, visit = draft.line, draft.due, draft.visit
    minutes = (due.minutes if draft.main else None) or line.minutes
    effect = (due.effect if draft.main else None) or line.effect
    if merged_into is not None:
        minutes, effect = NO_MINUTES, OTHER
    return Chore(
        id=draft.id,
        task_id=line.task_id,
        name=line.name,
        entry_id=line.entry_id,
        due_day=due.day,
        done_day=visit.day,
        hour=draft.hour,
        minutes_low=minutes.low_min,
        minutes=minutes.typ_min,
        minutes_high=minutes.high_min,
        setup_minutes=setup_minutes,
        setup_own_minutes=0.0 if merged_into is not None else line.setup_minutes,
        setup_group=line.setup_group,
        needs_presence=line.needs_presence,
        by=visit.by,
        look=line.look,
        condition=line.condition,
        effect=effect,
        merged_into=merged_into,
    )


def _setups(drafts: Sequence[_Draft]) -> list[float]:
    """The part of its visit's set-up that each chore carries.

    The longest set-up of a group is spent once. Chores without a condition carry it first, so that those that
    may not be done add only what they add.
    """
    result = [0.0] * len(drafts)
    shared: dict[tuple[int, str, str], list[int]] = defaultdict(list)
    for index, draft in enumerate(drafts):
        if draft.line.setup_minutes > 0 and draft.visit.day is not None and draft.visit.merged_into is None:
            shared[draft.visit.day, draft.visit.by, draft.line.setup_group].append(index)
    for indices in shared.values():
        spent = 0.0
        for index in sorted(indices, key=lambda each: _carries_first(drafts[each])):
            own = drafts[index].line.setup_minutes
            result[index] = max(0.0, own - spent)
            spent = max(spent, own)
    return result


def _carries_first(draft: _Draft) -> tuple[bool, float, str]:
    return draft.line.condition is not None, -draft.line.setup_minutes, draft.id


def _hour(due: Due, visit: Visit, *, presence: Presence) -> float:
    if due.hour is not None:
        return due.hour
    if visit.day is None or due.line.device is not None:
        day = due.day if visit.day is None else visit.day
        return due.line.at_hour if due.line.at_hour is not None else hour_of(presence, day)
    return hour_of(presence, visit.day, at_hour=due.line.at_hour, by=visit.by)


def _id(due: Due, line: Line, *, days: Sequence[str]) -> str:
    at = "" if due.hour is None else f".{clock(due.hour)}"
    return f"{line.entry_id}.{line.task_id}.{days[due.day]}{at}"


def clock(hour: float) -> str:
    """An hour of the day as four digits, as 1830."""
    minutes = round(hour * 60)
    return f"{minutes // 60:02d}{minutes % 60:02d}"
