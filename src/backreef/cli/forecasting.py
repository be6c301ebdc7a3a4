"""What the verbs that forecast share: the page, the progress, the report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.judgement.verdict import Forecast


def show_page(forecast: Forecast, terminal: Terminal, *, fluxes: bool = False) -> None:
    """Print the page of a forecast and, if asked for, the table of its fluxes."""
    from backreef.reports.text import fluxes_page, forecast_page

    style = terminal.style()
    page = forecast_page(forecast, style.width, colour=style.colour, ascii_only=style.ascii_only)
    if fluxes:
        page += "\n" + fluxes_page(forecast, style.width, colour=style.colour, ascii_only=style.ascii_only)
    terminal.say(page)
