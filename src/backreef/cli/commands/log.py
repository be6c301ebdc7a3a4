"""`backreef log`: what came of the plan, a line at a time; never overwritten."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from backreef.cli.app import OK
from backreef.cli.bootstrap import existing_store, keeping, opened_store
from backreef.cli.log_photo_verb import photograph
from backreef.cli.log_table_verbs import export_table, import_table
from backreef.cli.log_verbs import LINE, LogVerbs, Refused, Seat, agreed, seat_options, yes_option
from backreef.cli.options import deliver, json_option, look_at
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from backreef.logbook.entries import Entry
    from backreef.usecases.log import Draft

LISTED_COUNT = 20


@click.group(cls=LogVerbs, invoke_without_command=True, subcommand_metavar="'LINE' | VERB ...")
@click.pass_context
def log(ctx: click.Context) -> None:
    """Keep the log of a tank: readings, feedings, chores, deaths, sightings.

    log 'no3 12 ppm, po4 0.08, fed double, 1 snail died' is shown as it was understood, and saved when you
    agree. Several things go in a line, with commas between. What a kit's number means is taken from its
    word and unit (as ion or element, dKH, meq/L, ppm), and what had to be assumed is said. Nothing is ever
    overwritten: corrections keep who, when, and what stood before.
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


@log.command(LINE)
@click.argument("words", nargs=-1, metavar="'LINE'")
@click.option("--at", default="", metavar="WHEN", help="When it happened: '18:30', 'yesterday', 'Tue 8:00'.")
@click.option("--undo", is_flag=True, help="Take back what was logged or corrected last for the tank.")
@yes_option
@seat_options
@click.pass_obj
def line(terminal: Terminal, /, words: tuple[str, ...], *, at: str, undo: bool, yes: bool, seat: Seat) -> int:
    """Log a line; 'log LINE' is short for it."""
    from backreef.usecases.log import draft_line, draft_undo, save
    from backreef.usecases.log_desk import settle

    if undo == bool(words):
        raise click.UsageError("say what to log, or --undo, not both", click.get_current_context())
    desk = seat.desk()
    with existing_store(desk.place, terminal) as store:
        desk = settle(desk, () if store is None else store.tanks())
        tank = desk.tank or ""
        if undo:
            draft = draft_undo(store, tank=tank, hand=seat.hand())
        else:
            draft = draft_line(" ".join(words), tank=tank, plan=desk.plan, at=at, hand=seat.hand())
    _show(draft, tank, terminal)
    if agreed("Take this back?" if undo else "Save this?", terminal, yes=yes):
        with opened_store(desk.place, terminal, create=True) as store:
            saved = save(store, draft)
        terminal.say(f"{'Taken back' if undo else 'Saved'}: {_counted(saved)}.\n")
    return OK


@log.command("list")
@click.option(
    "--kind", "kinds", multiple=True, metavar="KIND", help="Only readings, deaths, ...: reading, death."
)
@click.option("--since", default="", metavar="WHEN", help="Only from then on.")
@click.option("--all", "everything", is_flag=True, help=f"All of them, not only the last {LISTED_COUNT}.")
@json_option("the entries")
@seat_options
@click.pass_obj
def list_entries(
    terminal: Terminal,
    /,
    kinds: tuple[str, ...],
    *,
    since: str,
    everything: bool,
    json_file: str | None,
    seat: Seat,
) -> int:
    """List what is in the log, old to new."""
    look_at(json_file)
    from backreef.usecases.log import listed
    from backreef.usecases.log_desk import settle

    desk = seat.desk()
    with opened_store(desk.place, terminal, create=False) as store:
        tank = settle(desk, store.tanks()).tank or ""
        most = None if everything or since else LISTED_COUNT
        found = listed(store, tank=tank, kinds=kinds, since=since, newest_count=most, now=seat.hand().now)
    _give(found, tank, json_file, terminal)
    return OK


@log.command("show")
@click.argument("entry", metavar="ID")
@json_option("every revision of the entry")
@seat_options
@click.pass_obj
def show_entry(terminal: Terminal, /, entry: str, *, json_file: str | None, seat: Seat) -> int:
    """Show one entry with everything that it once said, who changed it and when."""
    look_at(json_file)
    from backreef.catalogue.load import load_catalogue
    from backreef.cli.log_page import history_page
    from backreef.usecases.log import history_of

    with opened_store(seat.desk().place, terminal, create=False) as store:
        history = history_of(store, entry)
    if json_file is not None:
        _give(history, history[-1].tank, json_file, terminal)
    if json_file != STANDARD_OUTPUT:
        terminal.say(history_page(history, load_catalogue(), terminal.style()))
    return OK


@log.command("correct")
@click.argument("entry", metavar="ID")
@click.argument("words", nargs=-1, metavar="['LINE']")
@click.option("--at", default="", metavar="WHEN", help="When it happened, if that was wrong.")
@click.option("--withdraw", is_flag=True, help="It was no such thing: it no longer counts.")
@click.option("--why", default="", metavar="WORDS", help="Why; kept with the correction.")
@yes_option
@seat_options
@click.pass_obj
def correct_entry(
    terminal: Terminal, /, entry: str, words: tuple[str, ...], *, yes: bool, seat: Seat, **wanted: str | bool
) -> int:
    """Correct an entry; what stood before is kept."""
    from backreef.usecases.log import Correction, draft_correction, history_of, save
    from backreef.usecases.log_desk import settle

    desk = seat.desk()
    with opened_store(desk.place, terminal, create=False) as store:
        tank = history_of(store, entry)[-1].tank
        plan = dict(settle(desk, store.tanks()).plans).get(tank) if desk.plan is None else desk.plan
        correction = Correction(line=" ".join(words), **wanted)  # type: ignore[arg-type]
        draft = draft_correction(store, entry, correction, plan=plan, hand=seat.hand())
        _show(draft, tank, terminal)
        if agreed("Save this correction?", terminal, yes=yes):
            terminal.say(f"Saved: {_counted(save(store, draft))}.\n")
    return OK


@log.command("backup")
@click.argument("target", metavar="FILE")
@seat_options
@click.pass_obj
def back_up_log(terminal: Terminal, /, target: str, *, seat: Seat) -> int:
    """Copy the log into a file, while it may be in use, and look the copy over.

    Photographs stand in a folder of their own beside the log; copy that folder too.
    """
    with opened_store(seat.desk().place, terminal, create=False) as store:
        looked = keeping().back_up(store, Path(target))
    terminal.say(
        f"{looked.entries_count} entries in {looked.revisions_count} revisions are now in {target} too.\n"
    )
    return OK


@log.command("restore")
@click.argument("copy", metavar="FILE")
@yes_option
@seat_options
@click.pass_obj
def restore_log(terminal: Terminal, /, copy: str, *, yes: bool, seat: Seat) -> int:
    """Put a backup in the place of the log, which is copied aside first."""
    place, hand = seat.desk().place, seat.hand()
    if agreed(f"Put {copy} in the place of the log?", terminal, yes=yes):
        looked, aside = keeping().put_back(place, Path(copy), now=hand.now)
        kept = "" if aside is None else f" What stood there is in {aside}."
        terminal.say(
            f"Restored: {looked.entries_count} entries in {looked.revisions_count} revisions.{kept}\n"
        )
    return OK


@log.command("verify")
@seat_options
@click.pass_obj
def verify_log(terminal: Terminal, /, *, seat: Seat) -> int:
    """Look the whole log over: every revision against its check sum and its neighbours."""
    from backreef.usecases.log import photograph_folder, unsound_photographs

    place = seat.desk().place
    with opened_store(place, terminal, create=False) as store:
        looked = keeping().look_at(store)
        faults = looked.faults
        if not faults and "://" not in place:
            faults = unsound_photographs(store, photograph_folder(place))
    for fault in faults:
        terminal.tell(f"{fault}\n")
    if faults:
        raise Refused(f"{len(faults)} faults; 'log restore' puts a backup in its place")
    tanks = ", ".join(looked.tanks) or "no tank"
    terminal.say(
        f"No faults: {looked.entries_count} entries in {looked.revisions_count} revisions, of {tanks}.\n"
    )
    return OK


log.add_command(import_table)
log.add_command(export_table)
log.add_command(photograph)


def _show(draft: Draft, tank: str, terminal: Terminal) -> None:
    from backreef.cli.log_page import draft_page

    terminal.say(draft_page(draft, terminal.style(), tank=tank))


def _give(entries: Sequence[Entry], tank: str, json_file: str | None, terminal: Terminal) -> None:
    from backreef.catalogue.load import load_catalogue
    from backreef.cli.log_page import entries_page
    from backreef.usecases.documents import json_text
    from backreef.usecases.log_document import log_document

    catalogue = load_catalogue()
    if json_file is not None:
        deliver(json_text(log_document(entries, catalogue, tank=tank)), json_file, terminal)
    else:
        terminal.say(entries_page(entries, catalogue, terminal.style(), tank=tank))


def _counted(entries: Sequence[Entry]) -> str:
    return f"{len(entries)} {'entry' if len(entries) == 1 else 'entries'}"
