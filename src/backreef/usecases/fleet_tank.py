"""One tank of a fleet: what becomes of its plan, what its log says, and the work of a week, as plain data.

What goes in and what comes out are small and can be sent to another machine; the same order gives the same
answer wherever it is done.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from backreef.errors import InputFaults

if TYPE_CHECKING:
    from backreef.aquarium.plan import Plan
    from backreef.calibration.outcome import Reconciled, ToDo
    from backreef.calibration.week import Known
    from backreef.catalogue.entries import Catalogue
    from backreef.logbook.entries import Entry
    from backreef.schedule.chores import Chore

MEMBERS, SEED, WEEKS_AHEAD = 64, 1, 8
DAYS_PER_WEEK = 7
LEAST_FITTED = 32
"""Members with which a log is fitted at least; fewer learn by chance."""
LANES = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Which week, and how closely the tanks are looked at."""

    week_from: date
    members: int = MEMBERS
    seed: int = SEED
    weeks_ahead: int = WEEKS_AHEAD
    """From the last reading of each tank."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TankOrder:
    """A tank to be looked at."""

    plan: Plan
    own_entries: tuple[tuple[str, str], ...]
    """Path and text of each own entry of the catalogue that the plan names."""
    log: tuple[Entry, ...]
    asked: Asked


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekJob:
    """Work of the week at a tank that somebody has to do."""

    task: str
    what: str
    carer: str
    """Name of the person."""
    minutes: float
    setup_group: str
    setup_minutes: float
    days: tuple[int, ...]
    """Days of the week, 0 for its first, on which the person can do it."""
    only_if: str
    """Condition that has to be true; empty where it is done in any case."""
    look: bool
    """A look of two minutes or less, listed apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What the log makes of the plan."""

    last_reading_on: date
    holds: bool
    """The water stays within its harm bounds in the weeks ahead."""
    water: tuple[str, ...]
    """Bounds that are left ahead, in words."""
    alarms: tuple[str, ...]
    gates: tuple[str, ...]
    """Animals that may come now."""
    to_do: tuple[ToDo, ...]
    """Checks and readings, without the work of the plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TankWeek:
    """A tank in a fleet."""

    tank: str
    file: str
    carer: str
    holds: bool | None
    """Of the plan; None where it was not judged."""
    share_holding: float
    first_break: date | None
    cause: str
    outlook: Outlook | None
    """None: the log has no reading that can be used."""
    jobs: tuple[WeekJob, ...]
    missed: tuple[str, ...]
    """Work of the week for which nobody is there."""
    notices: tuple[str, ...] = ()


def tank_week(order: TankOrder) -> TankWeek:
    """A tank's plan judged, its log put to it, and the work of the week that begins on a day."""
    from backreef.judgement.least_food import with_least_food

    with TemporaryDirectory(prefix="backreef-own-") as folder:
        catalogue = _catalogue(order, Path(folder))
    return _week(replace(order, plan=with_least_food(order.plan, catalogue)), catalogue)


def own_entries_of(plan: Plan) -> tuple[tuple[str, str], ...]:
    """Path and text of each file of the folder of own entries that a plan names."""
    if not plan.catalogue:
        return ()
    folder = Path(plan.file).parent / plan.catalogue
    files = sorted(path for path in folder.rglob("*") if path.is_file() and path.suffix in (".toml", ".csv"))
    return tuple((str(path.relative_to(folder)), path.read_text(encoding="utf-8")) for path in files)


def _catalogue(order: TankOrder, folder: Path) -> Catalogue:
    from backreef.catalogue.labels import with_labels
    from backreef.catalogue.load import load_catalogue

    for name, text in order.own_entries:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    shelves = load_catalogue(extra=folder if order.own_entries else None)
    return with_labels(shelves, order.plan.foods)


def _week(order: TankOrder, catalogue: Catalogue) -> TankWeek:
    from backreef.calibration.deeds import deeds_of
    from backreef.calibration.evidence import taken_of
    from backreef.calibration.week import Known, is_wanted
    from backreef.judgement.judge import judge_plan
    from backreef.usecases.work import lay_out

    asked = order.asked
    forecast = judge_plan(order.plan, catalogue, members=asked.members, seed=asked.seed, remedies="none")
    found, notices = _reconciled(order, catalogue)
    first_day = (asked.week_from - order.plan.start_on).days
    jobs: tuple[WeekJob, ...] = ()
    missed: tuple[str, ...] = ()
    if -DAYS_PER_WEEK < first_day < order.plan.horizon_days:
        lived = deeds_of(order.log, order.plan, catalogue, last_day=first_day).plan
        known = Known(
            plan=lived,
            catalogue=catalogue,
            schedule=lay_out(lived, catalogue),
            entries=order.log,
            taken=taken_of(order.log, lived.start_on)[0],
            first_day=first_day,
        )
        chores = list(_of_the_week(known))
        jobs = tuple(
            _job(chore, known)
            for chore in chores
            if chore.done_day is not None and is_wanted(known, chore.condition)
        )
        missed = tuple(sorted({chore.name for chore in chores if chore.done_day is None}))
    else:
        when = "has not begun" if first_day < 0 else "has ended"
        notices = (*notices, f"the plan {when} by {asked.week_from.isoformat()}, so the week has no work")
    return TankWeek(
        tank=order.plan.tank.name,
        file=order.plan.file,
        carer=order.plan.keeper.name,
        holds=forecast.holds,
        share_holding=forecast.share_holding,
        first_break=forecast.first_break,
        cause=forecast.first_break_cause,
        outlook=None if found is None else _outlook(found),
        jobs=jobs,
        missed=missed,
        notices=(*notices, *(one for one in forecast.notices if "slow engine" in one)),
    )


# --- the log ------------------------------------------------------------------------------------------------


def _reconciled(order: TankOrder, catalogue: Catalogue) -> tuple[Reconciled | None, tuple[str, ...]]:
    from backreef.calibration import together

    if not order.log:
        return None, ()
    members = max(LEAST_FITTED, -(-order.asked.members // LANES) * LANES)
    asked = together.Asked(members=members, seed=order.asked.seed, weeks_ahead=order.asked.weeks_ahead)
    try:
        return together.reconcile_log(order.plan, catalogue, order.log, asked), ()
    except InputFaults as refusal:
        return None, tuple(fault.message for fault in refusal.faults)


def _outlook(found: Reconciled) -> Outlook:
    return Outlook(
        last_reading_on=found.last_on,
        holds=found.holds,
        water=tuple(
            f"{one.label} {'below' if one.low_side else 'above'} {one.bound:g} {one.unit}".rstrip()
            for one in found.water
            if one.harm and one.share_fitted > one.share_planned
        ),
        alarms=tuple(
            f"{one.label} {'rose' if one.upward else 'fell'} since {one.since_on.isoformat()} ({one.kind})"
            for one in found.alarms
        ),
        gates=tuple(f"{one.count} {one.who}: {one.why}" for one in found.gates if one.state == "open"),
        to_do=tuple(one for one in found.this_week if one.kind != "chore"),
    )


# --- the work -----------------------------------------------------------------------------------------------


def _of_the_week(known: Known) -> Iterator[Chore]:
    """Work by people that falls into the week, looks and hand-fed meals included."""
    from backreef.aquarium.plan import BY_HAND

    devices = {device.id for device in known.plan.devices if device.id != BY_HAND}
    days = range(known.first_day, known.first_day + DAYS_PER_WEEK)
    for chore in known.schedule.chores:
        day = chore.due_day if chore.done_day is None else chore.done_day
        if day in days and chore.merged_into is None and chore.by not in devices:
            yield chore


def _job(chore: Chore, known: Known) -> WeekJob:
    from backreef.schedule.people import KEEPER

    return WeekJob(
        task=chore.task_id,
        what=chore.name,
        carer=known.plan.keeper.name if chore.by == KEEPER else chore.by,
        minutes=chore.minutes,
        setup_group=chore.setup_group,
        setup_minutes=chore.setup_own_minutes,
        days=_days(chore, known),
        only_if="" if chore.condition is None else chore.condition.text,
        look=chore.look,
    )


def _days(chore: Chore, known: Known) -> tuple[int, ...]:
    """The days of the week on which it can be done: its own and, where nothing ties it to that, more.

    Work by a rhythm of days may move between the day it falls due and the day the plan does it on, and on by
    what the task tolerates; work on a weekday, meals and the work of helpers stay where they are.
    """
    from backreef.schedule.feeder_meals import tolerated_days
    from backreef.schedule.people import KEEPER

    assert chore.done_day is not None  # noqa: S101  only work that somebody does is asked for
    own = chore.done_day - known.first_day
    rhythm = next((one.rhythm for one in known.plan.upkeep if one.id == chore.entry_id), None)
    if chore.by != KEEPER or rhythm is None or rhythm.kind != "interval":
        return (own,)
    first = min(chore.due_day, chore.done_day)
    last = max(chore.done_day, chore.due_day + tolerated_days(known.catalogue, chore.task_id))
    there = known.schedule.presence.present
    free = [
        day - known.first_day
        for day in range(known.first_day, known.first_day + DAYS_PER_WEEK)
        if first <= day <= last and 0 <= day < len(there) and there[day]
    ]
    return tuple(sorted({own, *free}))
