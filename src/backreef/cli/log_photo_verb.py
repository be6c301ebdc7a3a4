"""`backreef log photo`: a photograph, kept beside the log."""

from __future__ import annotations

from pathlib import Path

import click

from backreef.cli.app import OK
from backreef.cli.bootstrap import existing_store, opened_store
from backreef.cli.log_verbs import Refused, Seat, seat_options
from backreef.cli.terminal import Terminal


@click.command("photo")
@click.argument("file", metavar="FILE")
@click.option("--caption", default="", metavar="WORDS", help="What is to be seen.")
@click.option("--at", default="", metavar="WHEN", help="When it was taken; else now.")
@seat_options
@click.pass_obj
def photograph(terminal: Terminal, /, file: str, *, caption: str, at: str, seat: Seat) -> int:
    """Keep a photograph (JPEG, PNG, WebP), freed of place, time and maker that the camera wrote into it.

    It is kept in the folder of the log, under the check sum of what is kept; the file that was given stays
    as it is.
    """
    from backreef.logbook.photographs import NotTaken
    from backreef.usecases.log import Shot, log_photograph, photograph_folder
    from backreef.usecases.log_desk import settle

    desk = seat.desk()
    with existing_store(desk.place, terminal) as store:
        tank = settle(desk, () if store is None else store.tanks()).tank or ""
    folder = photograph_folder(desk.place)
    try:
        with opened_store(desk.place, terminal, create=True) as store:
            shot = Shot(file=Path(file), caption=caption, at=at)
            entry = log_photograph(store, shot, folder, tank=tank, hand=seat.hand())
    except NotTaken as refusal:
        raise Refused(str(refusal)) from refusal
    terminal.say(f"{tank}: kept as entry {entry.id[:8]} in {folder}\n")
    return OK
