"""`backreef rehearse`: try an absence out before it comes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import click

from backreef.cli.app import BREAKS, OK
from backreef.cli.options import (
    absence_options,
    deliver,
    ensemble_options,
    json_option,
    look_at,
    plan_argument,
)
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal
from backreef.schedule.away import Absence
from backreef.usecases.rehearse import MEMBERS, MOST_MEMBERS, SEED


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """How a rehearsal is made and where it goes."""

    html_file: str | None
    json_file: str | None
    members: int
    seed: int
    workings: bool


@click.command()
@plan_argument()
@absence_options
@click.option("html_file", "--html", metavar="FILE", help="Write the page as one self-contained HTML file.")
@click.option(
    "--workings",
    is_flag=True,
    help="Let the hours of the HTML page lead to their workings; this simulates each mishap once more.",
)
@json_option("the rehearsal")
@ensemble_options(members=MEMBERS, most=MOST_MEMBERS, seed=SEED)
@click.pass_obj
def rehearse(
    terminal: Terminal,
    /,
    plan: str,
    *,
    since: date,
    until: date,
    sitter: tuple[int, ...],
    **wanted: str | int | None,
) -> int:
    """Try an absence out: hour by hour, with what may go wrong, and what helps.

    The days away are simulated with nothing going wrong, then with each mishap that this plan can have, alone
    and in plausible pairs: how many hours until the first animal is at risk and which, how likely it is, what
    is found on return, and the cheapest things against it, each simulated. The exit code is 1 if animals come
    to risk even with nothing going wrong, or work falls where nobody can do it.
    """
    want = Wanted(**wanted)  # type: ignore[arg-type]
    look_at(want.html_file, want.json_file, plan=plan)
    if want.workings and want.html_file is None:
        raise click.UsageError("--workings goes with --html", click.get_current_context())
    from backreef.cli.interrupt import leaving_at_once
    from backreef.cli.progress import ProgressLine
    from backreef.usecases import rehearse as usecase

    absence = Absence(first_on=since, until_on=until, sitter_weekdays=sitter)
    with leaving_at_once(), ProgressLine(terminal, silent=False) as progress:
        found = usecase.rehearse(plan, absence, members=want.members, seed=want.seed, progress=progress)
    if want.json_file is not None:
        from backreef.reports.rehearsal_document import rehearsal_json

        deliver(rehearsal_json(found), want.json_file, terminal)
    if want.html_file is not None:
        from backreef.reports.rehearsal_html import figures_of, rehearsal_html
        from backreef.usecases.why import workings

        told = {}
        if want.workings:
            told = workings(plan, figures_of(found), members=want.members, seed=want.seed)
        deliver(rehearsal_html(found, told), want.html_file, terminal)
    if STANDARD_OUTPUT not in (want.html_file, want.json_file):
        from backreef.reports.rehearsal_text import rehearsal_page

        terminal.say(rehearsal_page(found, terminal.style()))
    return OK if found.holds else BREAKS
