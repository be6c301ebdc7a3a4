"""`backreef sheet`: one page for somebody who looks in while the keeper is away."""

from __future__ import annotations

from datetime import date

import click

from backreef.cli.app import OK
from backreef.cli.options import absence_options, deliver, look_at, plan_argument
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal
from backreef.schedule.away import Absence


@click.command()
@plan_argument()
@absence_options
@click.option(
    "--call", multiple=True, metavar="WHOM", help="Whom to call, in this order; without it, lines to fill in."
)
@click.option("html_file", "--html", metavar="FILE", help="Write the page as one self-contained HTML file.")
@click.option(
    "pdf_file", "--pdf", metavar="FILE", help="Write the page as a PDF file; needs the extra 'pdf'."
)
@click.option(
    "--paper",
    type=click.Choice(["A4", "Letter"], case_sensitive=False),
    default="A4",
    show_default=True,
    help="The paper of the PDF file.",
)
@click.pass_obj
def sheet(
    terminal: Terminal,
    /,
    plan: str,
    *,
    since: date,
    until: date,
    sitter: tuple[int, ...],
    **wanted: str | None,
) -> int:
    """Write one page for whoever looks in while the keeper is away.

    For somebody who knows nothing of tanks: what to do on which day, in pots and jugs that can be counted,
    what to leave alone, what is normal, what is not and what to do then, whom to call. What the keeper weighs
    and fills before leaving comes last and is not printed. Fits one page of A4 or US Letter.
    """
    html_file, pdf_file, calls = wanted["html_file"], wanted["pdf_file"], wanted["call"]
    look_at(html_file, pdf_file, plan=plan)
    from backreef.reports.sheet import sheet_html
    from backreef.usecases.sheet import away_sheet

    absence = Absence(first_on=since, until_on=until, sitter_weekdays=sitter)
    found = away_sheet(plan, absence, calls=tuple(calls or ()))
    if html_file is not None:
        deliver(sheet_html(found), html_file, terminal)
    if pdf_file is not None:
        from backreef.reports.pdf import pdf_of

        deliver(pdf_of(sheet_html(found), paper=str(wanted["paper"])), pdf_file, terminal)
    if STANDARD_OUTPUT not in (html_file, pdf_file):
        from backreef.reports.sheet_text import sheet_text

        terminal.say(sheet_text(found, terminal.style()))
    return OK
