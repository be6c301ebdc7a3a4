"""`backreef fleet`: every tank of a firm, and the rounds of its people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from backreef.cli.app import BREAKS, FAULTY, OK
from backreef.cli.bootstrap import existing_store
from backreef.cli.log_verbs import Refused
from backreef.cli.options import (
    deliver,
    ensemble_options,
    json_option,
    look_at,
    read_day,
    store_option,
    weeks_option,
)
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal
from backreef.logbook.store import LogbookStore, StoreTrouble
from backreef.logbook.store import Wanted as Which
from backreef.usecases.fleet_tank import MEMBERS, SEED, WEEKS_AHEAD, Asked
from backreef.usecases.forecast import MOST_MEMBERS

if TYPE_CHECKING:
    from backreef.simulation.workers import Workers
    from backreef.usecases.fleet import PlanText

MOST_WEEKS = 52


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which week, how closely, by whom, and where the answer goes."""

    week_from: date | None
    weeks: int
    members: int
    seed: int
    store: str | None
    scheduler: str | None
    json_file: str | None


def _day_or_none(ctx: click.Context, param: click.Parameter, value: str | None) -> date | None:
    return None if value is None else read_day(ctx, param, value)


@click.command()
@click.argument("folder", metavar="FOLDER|DATABASE")
@click.option(
    "week_from",
    "--from",
    callback=_day_or_none,
    metavar="DATE",
    help="First day of the week; today unless you say otherwise.",
)
@weeks_option(" of each tank", usual=WEEKS_AHEAD, most=MOST_WEEKS)
@store_option(
    "Where the logs are, if not in the folder or the database: a file, or postgresql://user@host/database."
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Let other machines do it: the address of a Dask scheduler, as tcp://host:8786.",
)
@json_option("the fleet")
@ensemble_options(members=MEMBERS, most=MOST_MEMBERS, seed=SEED)
@click.pass_obj
def fleet(terminal: Terminal, /, folder: str, **wanted: str | int | date | None) -> int:
    """Look at every tank of a folder or a database, and make the week's rounds of each carer.

    A database is the one in which a page keeps its tables: postgresql://user@host/database, or the file
    .backreef/web.sqlite3 of a folder; the newest text of each plan is taken from it.

    Each plan (a file ending in .toml) is forecast; where the log has readings of its tank, they are put
    together as `reconcile` does. The most pressing tank stands first. Then, for each person, the week's work
    is laid on days: the fewest visits, and with these the shortest longest day; ways are left out. The exit
    code is 2 if a plan cannot be read (the others are looked at all the same), 1 if one breaks.
    """
    want = Wanted(**wanted)  # type: ignore[arg-type]
    look_at(None, want.json_file, plan=folder)
    from backreef.cli.interrupt import leaving_at_once
    from backreef.cli.progress import ProgressLine
    from backreef.usecases import fleet as usecase

    plans, log = plans_at(folder)
    place = want.store or log
    with (
        _opened(place, terminal) as store,
        _workers(want.scheduler) as workers,
        leaving_at_once(),
        ProgressLine(terminal, silent=False) as progress,
    ):
        found = usecase.fleet(
            plans,
            Asked(
                week_from=want.week_from or datetime.now().astimezone().date(),
                members=want.members,
                seed=want.seed,
                weeks_ahead=want.weeks,
            ),
            log_of=usecase.no_log if store is None else lambda tank: store.entries(Which(tank=tank)),
            logged=() if store is None else store.tanks(),
            workers=workers,
            progress=progress,
        )
    if want.json_file is not None:
        from backreef.reports.fleet_document import fleet_json

        deliver(fleet_json(found), want.json_file, terminal)
    if want.json_file != STANDARD_OUTPUT:
        from backreef.reports.fleet_text import fleet_page

        terminal.say(fleet_page(found, terminal.style()))
    if found.faulty:
        return FAULTY
    return OK if found.holds else BREAKS


def plans_at(place: str) -> tuple[Sequence[Path | PlanText], str]:
    """The plans of a folder, or of the database of a page, and where their log is unless it is named."""
    from backreef.usecases.log_desk import STORE_NAME

    if Path(place).is_dir():
        plans = sorted(Path(place).glob("*.toml"))
        if not plans:
            raise Refused(f"{place}: no plan here; plans are files that end in .toml")
        return plans, str(Path(place) / STORE_NAME)
    from backreef.web.bootstrap import newest_plans

    try:
        texts = newest_plans(place)
    except StoreTrouble as refusal:
        raise Refused(str(refusal)) from refusal
    if not texts:
        raise Refused("no plan in this database yet; a page keeps them there once it is served")
    return texts, place if "://" in place else str(Path(place).resolve().parent.parent / STORE_NAME)


@contextmanager
def _opened(place: str, terminal: Terminal) -> Iterator[LogbookStore | None]:
    """The log at a place, if there is one."""
    try:
        with existing_store(place, terminal) as store:
            yield store
    except StoreTrouble as refusal:
        raise Refused(str(refusal)) from refusal


@contextmanager
def _workers(scheduler: str | None) -> Iterator[Workers | None]:
    """The machines behind a scheduler, or None for the cores of this one."""
    if scheduler is None:
        yield None
        return
    from backreef.usecases.machines import Machines, MachinesTrouble

    try:
        machines = Machines(scheduler)
    except MachinesTrouble as refusal:
        raise Refused(str(refusal)) from refusal
    with machines:
        yield machines
