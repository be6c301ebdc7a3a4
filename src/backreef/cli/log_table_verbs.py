"""`backreef log import` and `export`: tables of spreadsheets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from backreef.cli.app import OK
from backreef.cli.bootstrap import existing_store, opened_store
from backreef.cli.log_verbs import Seat, agreed, seat_options, yes_option
from backreef.cli.options import deliver, look_at
from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.reports.text_layout import Style
    from backreef.usecases.log_table import DateOrder, Incoming

_SHOWN_COUNT = 5


@click.command("import")
@click.argument("file", metavar="FILE")
@click.option(
    "--map",
    "mapped",
    multiple=True,
    metavar="COLUMN=WORD",
    help="What a column holds: 'Nitrat=no3', 'Tag=date'.",
)
@click.option("--ignore", "ignored", multiple=True, metavar="COLUMN", help="Leave a column out.")
@click.option(
    "--dates", type=click.Choice(["dmy", "mdy"]), help="Whether 2/3/2027 is in March or in February."
)
@click.option("--dry-run", is_flag=True, help="Only say what would be saved.")
@yes_option
@seat_options
@click.pass_obj
def import_table(
    terminal: Terminal,
    /,
    file: str,
    *,
    dates: DateOrder | None,
    dry_run: bool,
    yes: bool,
    seat: Seat,
    **columns: tuple[str, ...],
) -> int:
    """Bring a table (CSV) into the log: a column for when, one for each quantity, 'line' or 'note'.

    The first row names the columns, a second one may hold units, as may brackets: 'NO3 (mg/L)'. A column
    'line' holds what could be logged. The same row twice is one row, in the table and in the log.
    """
    from backreef.usecases.log import save
    from backreef.usecases.log_desk import settle
    from backreef.usecases.log_table import draft_table, incoming, layout_of

    layout = layout_of(columns["mapped"], columns["ignored"])
    desk = seat.desk()
    with existing_store(desk.place, terminal) as store:
        desk = settle(desk, () if store is None else store.tanks())
        tank = desk.tank or ""
        draft = draft_table(Path(file), layout, tank=tank, plan=desk.plan, dates=dates, hand=seat.hand())
        found = incoming(draft, store)
    terminal.say(incoming_page(found, terminal.style(), tank=tank))
    if not found.draft.entries or dry_run:
        terminal.say("Nothing was saved.\n")
    elif agreed("Save this?", terminal, yes=yes):
        with opened_store(desk.place, terminal, create=True) as store:
            saved = save(store, found.draft)
        terminal.say(f"Saved: {len(saved)} entries.\n")
    return OK


def incoming_page(found: Incoming, style: Style, *, tank: str) -> str:
    """What a table would bring: how many of what, the first and the last, what was assumed."""
    from backreef.cli.log_page import entries_page
    from backreef.reports.text_layout import paragraph

    entries = sorted(found.draft.entries, key=lambda entry: entry.at)
    counted = ", ".join(f"{count} x {kind}" for kind, count in found.counts.items()) or "nothing new"
    lines = paragraph(f"{tank}: {counted}", style)
    if found.there:
        lines += paragraph(f"{found.there} are in the log already, or stand in the table twice", style)
    shown = (
        entries if len(entries) <= 2 * _SHOWN_COUNT else [*entries[:_SHOWN_COUNT], *entries[-_SHOWN_COUNT:]]
    )
    if shown:
        lines += ["", *entries_page(shown, found.draft.catalogue, style, tank=tank).splitlines()]
        if len(shown) < len(entries):
            lines += paragraph(f"(the first {_SHOWN_COUNT} and the last {_SHOWN_COUNT})", style)
        lines.append("")
    for note, count in found.assumed.items():
        told = paragraph(f"assumed for {count}: {note}", style, rest="  ")
        lines += [style.paint(line, "quiet") for line in told]
    return "\n".join(lines) + "\n"


@click.command("export")
@click.argument("target", metavar="FILE")
@click.option("--withdrawn", is_flag=True, help="With what no longer counts.")
@seat_options
@click.pass_obj
def export_table(terminal: Terminal, /, target: str, *, withdrawn: bool, seat: Seat) -> int:
    """Write the log of a tank as a table (CSV) for spreadsheets; - for standard output.

    No cell can be taken for a formula: a sign stands before what would begin one. 'log import' reads the
    table back, without doubling anything. For programs, 'log list --all --json' says more.
    """
    look_at(target)
    from backreef.catalogue.load import load_catalogue
    from backreef.logbook.store import Wanted
    from backreef.logbook.table_write import table_of
    from backreef.usecases.log_desk import settle

    desk = seat.desk()
    with opened_store(desk.place, terminal, create=False) as store:
        tank = settle(desk, store.tanks()).tank
        entries = store.entries(Wanted(tank=tank, with_withdrawn=withdrawn))
    deliver(table_of(entries, load_catalogue()), target, terminal)
    return OK
