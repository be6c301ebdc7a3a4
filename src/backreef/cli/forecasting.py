"""What the verbs that forecast share: the page, the progress, the report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.judgement.verdict import Forecast


def with_log(forecast: Forecast, plan: str, place: str | None, terminal: Terminal) -> Forecast:
    """The forecast with the minutes of the tank's log, if there is one; a log that cannot be read is told."""
    from backreef.cli.bootstrap import existing_store
    from backreef.logbook.store import StoreTrouble
    from backreef.usecases.true_minutes import chores_of, desk_of_plan, with_true_minutes

    desk = desk_of_plan(plan, place)
    try:
        with existing_store(desk.place, terminal) as store:
            entries = () if store is None else chores_of(store, desk.tank or "")
    except StoreTrouble as trouble:
        terminal.tell(f"The log is left out: {trouble}\n")
        return forecast
    return with_true_minutes(forecast, entries) if entries else forecast


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
