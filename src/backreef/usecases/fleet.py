"""Many tanks at once: what becomes of each, what its log says, and the rounds of every carer this week."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.errors import Fault, InputFaults
from backreef.usecases.fleet_tank import Asked, TankOrder, TankWeek, own_entries_of, tank_week

if TYPE_CHECKING:
    from backreef.aquarium.plan import Plan
    from backreef.logbook.entries import Entry
    from backreef.planning.rounds import Rounds
    from backreef.simulation.workers import Workers

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class CarerWeek:
    """The rounds of one person through the week."""

    carer: str
    rounds: Rounds


@dataclass(frozen=True, slots=True, kw_only=True)
class Fleet:
    """Every tank of a firm, the most pressing first, and who goes where on which day."""

    week_from: date
    members: int
    seed: int
    tanks: tuple[TankWeek, ...]
    carers: tuple[CarerWeek, ...]
    faulty: tuple[Fault, ...]
    """Of plan files that cannot be read; their tanks are missing above."""
    without_plan: tuple[str, ...]
    """Tanks that only the log knows."""

    @property
    def holds(self) -> bool:
        """Every plan holds, and every fitted tank stays within its harm bounds."""
        return all(one.holds and (one.outlook is None or one.outlook.holds) for one in self.tanks)

    def day(self, number: int) -> date:
        """A day of the week by its number."""
        return self.week_from + timedelta(days=number)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanText:
    """A plan that was kept elsewhere than in a file."""

    name: str
    """What a message calls it."""
    text: str


def no_log(_tank: str) -> tuple[Entry, ...]:
    """What is known of a tank without a log."""
    return ()


def fleet(
    plans: Sequence[Path | PlanText],
    asked: Asked,
    *,
    log_of: Callable[[str], Sequence[Entry]] = no_log,
    logged: Sequence[str] = (),
    workers: Workers | None = None,
    progress: Progress | None = None,
) -> Fleet:
    """Look at every tank whose plan is in one of the files or texts.

    `log_of` gives the entries of a tank by its name, `logged` names those that the log knows. Each tank is a
    piece of work of its own; `workers` says who does them. A plan with faults keeps nobody else from being
    looked at. Equal seeds give equal answers, whoever does the work.

    Raises
    ------
    ValueError
        If members, seed or weeks are out of bounds.
    """
    from backreef.simulation.workers import Cores
    from backreef.usecases.forecast import refuse_impossible

    refuse_impossible(asked.members, asked.seed)
    if asked.weeks_ahead < 1:
        raise ValueError(f"weeks_ahead is {asked.weeks_ahead}, but it is 1 or more")
    read, faulty = read_plans(plans)
    orders = (_order(plan, log_of, asked) for plan in read)
    found: list[TankWeek] = []
    for one in (workers or Cores()).each(tank_week, orders):
        found.append(one)
        if progress is not None:
            progress(f"looking at the tanks, last {one.tank}", len(found), len(read))
    return Fleet(
        week_from=asked.week_from,
        members=asked.members,
        seed=asked.seed,
        tanks=tuple(sorted(found, key=urgency)),
        carers=_carers(found, asked.seed),
        faulty=tuple(faulty),
        without_plan=tuple(sorted(set(logged) - {one.tank for one in found})),
    )


def read_plans(plans: Sequence[Path | PlanText]) -> tuple[list[Plan], list[Fault]]:
    """The plans of the tanks, each tank once, and what is wrong with the others."""
    read: list[Plan] = []
    faults: list[Fault] = []
    by_name: dict[str, str] = {}
    for path in sorted(plans, key=_called):
        try:
            plan = _plan_of(path)
        except InputFaults as refusal:
            faults += refusal.faults
            continue
        name = plan.tank.name
        if name in by_name:
            twice = f"the tank '{name}' has a plan already, {by_name[name]}; give one of them another name"
            faults.append(Fault(file=_called(path), line=None, key="tank.name", message=twice))
            continue
        by_name[name] = _called(path)
        read.append(plan)
    return read, faults


def _called(one: Path | PlanText) -> str:
    return one.name if isinstance(one, PlanText) else str(one)


def _plan_of(one: Path | PlanText) -> Plan:
    """The plan of a file, or of a text, beside which there are no files.

    Raises
    ------
    InputFaults
        With every fault of it.
    """
    from backreef.aquarium.faults import key_text
    from backreef.aquarium.load import load_plan_text
    from backreef.catalogue.load import load_catalogue
    from backreef.usecases.check import load_plan
    from backreef.usecases.plan_desk import files_named

    if isinstance(one, Path):
        return load_plan(one)
    faults = [
        Fault(
            file=one.name,
            line=None,
            key=key_text(at),
            message=f"'{named[:80]}' stands beside the plan, and only the plan's text is kept here; "
            "run fleet on the folder of the plans",
        )
        for at, named in files_named(one.text)
    ]
    if faults:
        raise InputFaults(faults)
    return load_plan_text(one.text, one.name, load_catalogue())


def _order(plan: Plan, log_of: Callable[[str], Sequence[Entry]], asked: Asked) -> TankOrder:
    log = tuple(log_of(plan.tank.name))
    return TankOrder(plan=plan, own_entries=own_entries_of(plan), log=log, asked=asked)


def urgency(one: TankWeek) -> tuple[int, date, str]:
    """What stands first: alarms and harm ahead, work that nobody can do, plans that break soon."""
    outlook = one.outlook
    if outlook is not None and (outlook.alarms or not outlook.holds):
        grade = 0
    elif one.missed:
        grade = 1
    elif not one.holds:
        grade = 2
    else:
        grade = 3
    return grade, one.first_break or date.max, one.tank


def _carers(tanks: Sequence[TankWeek], seed: int) -> tuple[CarerWeek, ...]:
    from backreef.planning.rounds import Job, rounds_of

    jobs: dict[str, list[Job]] = defaultdict(list)
    for tank in sorted(tanks, key=lambda one: one.tank):
        for one in tank.jobs:
            jobs[one.carer].append(
                Job(
                    tank=tank.tank,
                    what=f"{one.what}, if {one.only_if}" if one.only_if else one.what,
                    minutes=one.minutes,
                    setup_group=one.setup_group,
                    setup_minutes=one.setup_minutes,
                    days=one.days,
                    look=one.look,
                )
            )
    return tuple(
        CarerWeek(carer=carer, rounds=rounds_of(mine, seed=seed)) for carer, mine in sorted(jobs.items())
    )
