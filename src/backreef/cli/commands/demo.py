"""`backreef demo`: the reading room's reef from plan to report, to see what the program does."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import click

from backreef.cli.app import OK
from backreef.cli.target import CannotWrite, check_target, write_target
from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.judgement.verdict import Forecast

REPORT = "reading_room.html"


@click.command()
@click.pass_obj
def demo(terminal: Terminal) -> int:
    """Forecast the reading room's reef, an example, and write its report.

    A public library keeps 300 litres in its reading room: shut on Sundays, Mondays, public holidays and two
    weeks in August, ninety minutes of work a month. The report is written into this folder, or into a
    temporary one if this folder cannot be written to; the last line is its path. The exit code is 0 once the
    report is written, whatever it says.
    """
    from backreef.cli.forecasting import show_page
    from backreef.cli.interrupt import leaving_at_once
    from backreef.cli.progress import ProgressLine
    from backreef.reports.html import Sections, drawn_sections, report_html
    from backreef.usecases.demo import run_demo

    drawn: Sections = {}

    def draw(untried: Forecast) -> None:
        nonlocal drawn
        drawn = drawn_sections(untried)

    with leaving_at_once(), ProgressLine(terminal) as progress:
        found = run_demo(progress=progress, untried=draw)
    show_page(found, terminal)
    path = _written(report_html(found, drawn=drawn))
    terminal.say("\nThe report, for a browser:\n")
    terminal.path(path)
    return OK


def _written(page: str) -> Path:
    """Where the report now stands: in the current folder, or in one of its own."""
    try:
        path = Path.cwd() / REPORT
        check_target(path)
        write_target(path, page)
    except (CannotWrite, OSError):
        path = Path(tempfile.mkdtemp(prefix="backreef-")) / REPORT
        write_target(path, page)
    return path
