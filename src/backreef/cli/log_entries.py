"""What the log of a plan's tank holds, for commands that put the two together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from backreef.cli.bootstrap import opened_store
from backreef.cli.log_verbs import Refused
from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.logbook.entries import Entry


def logged_entries(plan: str, place: str | None, terminal: Terminal) -> tuple[Entry, ...]:
    """Everything that the log of the plan's tank holds."""
    from pathlib import Path

    from backreef.logbook.store import StoreTrouble
    from backreef.logbook.store import Wanted as Asked
    from backreef.usecases.check import load_plan
    from backreef.usecases.log_desk import desk_of, settle

    load_plan(plan)
    desk = desk_of(tank=str(Path(plan)), place=place, folder=Path(plan).parent)
    try:
        with opened_store(desk.place, terminal, create=False) as store:
            tank = settle(desk, store.tanks()).tank
            return store.entries(Asked(tank=tank))
    except StoreTrouble as refusal:
        raise Refused(str(refusal)) from refusal
