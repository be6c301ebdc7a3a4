"""What the verbs that forecast share: the page, the progress, the report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.judgement.verdict import Forecast


def show_page(forecast: Forecast, terminal: Terminal, *, fluxes: bool = False, work: bool = False) -> None:
    """Print the page of a forecast and, if asked for, its fluxes and its work."""
    from backreef.reports.text import fluxes_page, forecast_page

    style = terminal.style()
    page = forecast_page(forecast, style.width, colour=style.colour, ascii_only=style.ascii_only)
    if fluxes:
        page += "\n" + fluxes_page(forecast, style.width, colour=style.colour, ascii_only=style.ascii_only)
    if work:
        from backreef.reports.work_text import work_page

        page += "\n" + work_page(forecast, style)
    terminal.say(page)
