"""`backreef reconcile`: the plan and its log put together."""

from __future__ import annotations

from dataclasses import dataclass

import click

from backreef.cli.app import BREAKS, OK
from backreef.cli.log_entries import logged_entries
from backreef.cli.options import deliver, json_option, look_at, plan_argument
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal
from backreef.usecases.reconcile import (
    LANES,
    LEAST_MEMBERS,
    MEMBERS,
    MOST_MEMBERS,
    MOST_WEEKS,
    SEED,
    WEEKS_AHEAD,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """How a log is fitted and where the answer goes."""

    html_file: str | None
    json_file: str | None
    store: str | None
    members: int
    seed: int
    weeks: int
    fresh: bool


@click.command()
@plan_argument()
@click.option(
    "--weeks",
    type=click.IntRange(1, MOST_WEEKS),
    default=WEEKS_AHEAD,
    show_default=True,
    metavar="N",
    help="How many weeks to look ahead from the last reading.",
)
@click.option(
    "--store",
    envvar="BACKREEF_LOG",
    metavar="PLACE",
    help="Where the log is, if not beside the plan: a file, or postgresql://user@host/database.",
)
@click.option("html_file", "--html", metavar="FILE", help="Write it as one self-contained HTML file.")
@json_option("the reconciliation")
@click.option(
    "--members",
    type=click.IntRange(LEAST_MEMBERS, MOST_MEMBERS),
    default=MEMBERS,
    show_default=True,
    metavar="N",
    help="Runs of the ensemble, each with all uncertain numbers drawn; rounded up to blocks of eight.",
)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=SEED,
    show_default=True,
    metavar="N",
    help="Where the draws start; the same seed gives the same answer.",
)
@click.option(
    "--fresh",
    is_flag=True,
    help="Fit the tank afresh, even where the last fit could be gone on from or nothing has changed.",
)
@click.pass_obj
def reconcile(terminal: Terminal, /, plan: str, **wanted: str | int | None) -> int:
    """Put the plan and its log together: what came, what moved, what comes.

    The readings of the log are set against the plan, with what was fed and done otherwise, who came and who
    died. The numbers that differ between tanks are moved to what was read, no further than the kits allow;
    readings that cannot be right are named and not believed. Asked again, it goes on from its last fit where
    that is honest, and says so. The exit code is 1 if, as fitted, the water
    leaves a harm bound in the weeks ahead.
    """
    want = Wanted(**wanted)  # type: ignore[arg-type]
    look_at(want.html_file, want.json_file, plan=plan)
    from backreef.cli.interrupt import leaving_at_once
    from backreef.cli.progress import ProgressLine
    from backreef.usecases.kept_fits import reconcile_again

    members = -(-want.members // LANES) * LANES
    entries = logged_entries(plan, want.store, terminal)
    with leaving_at_once(), ProgressLine(terminal, silent=False) as progress:
        asked = members, want.seed, want.weeks
        found = reconcile_again(plan, entries, asked=asked, afresh=want.fresh, progress=progress)
    if want.json_file is not None:
        from backreef.reports.reconcile_document import reconcile_json

        deliver(reconcile_json(found), want.json_file, terminal)
    if want.html_file is not None:
        from backreef.reports.reconcile_html import reconcile_html

        deliver(reconcile_html(found), want.html_file, terminal)
    if STANDARD_OUTPUT not in (want.json_file, want.html_file):
        from backreef.reports.reconcile_text import reconcile_page

        terminal.say(reconcile_page(found, terminal.style()))
        if want.html_file is not None:
            terminal.say(f"\nReport: {want.html_file}\n")
    return OK if found.holds else BREAKS
