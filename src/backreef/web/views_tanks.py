"""The first page: every tank with its year ribbon in small, and what to know of it today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from backreef.plots.small_ribbon import small_ribbon
from backreef.reports.reconcile_text import gate_words, to_do_words
from backreef.reports.words import certainty, headline, reason
from backreef.web import tanks as shelf
from backreef.web.views_reconcile import newest, state_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from backreef.plots.figure import Figure
    from backreef.usecases.plan_desk import PlanFile
    from backreef.web.tanks import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One tank of the list."""

    tank: PlanFile
    standing: Standing
    title: str
    why: str
    sure: str
    picture: Figure | None
    week_from: date | None = None
    week: tuple[str, ...] = ()
    """What is to be done in the week after the last reading, where log and plan were put together."""


@require_GET
def tanks(request: HttpRequest) -> HttpResponse:
    """Every tank of the folder; an empty folder leads to the start."""
    found = shelf.all_tanks()
    if not found:
        return redirect("start")
    rows = [_row(tank, number) for number, tank in enumerate(found)]
    return render(request, "web/tanks.html", {"rows": rows, "here": "tanks"})


def _row(tank: PlanFile, number: int) -> Row:
    standing = shelf.standing_of(tank)
    forecast = standing.forecast
    week_from, week = _week(tank)
    if forecast is None:
        return Row(
            tank=tank,
            standing=standing,
            title="",
            why="",
            sure="",
            picture=None,
            week_from=week_from,
            week=week,
        )
    readings = shelf.readings_of(tank, forecast.start_on)
    return Row(
        tank=tank,
        standing=standing,
        title=headline(forecast),
        why=reason(forecast),
        sure=certainty(forecast),
        picture=small_ribbon(forecast, readings, ident=f"tank-{number}"),
        week_from=week_from,
        week=week,
    )


def _week(tank: PlanFile) -> tuple[date | None, tuple[str, ...]]:
    """The list of the week, as long as plan and log are those that it was made from."""
    job, found = newest(tank)
    if found is None or job is None or job.digest != state_of(tank):
        return None, ()
    things = [to_do_words(one) for one in found.this_week] + [gate_words(one) for one in found.gates]
    return found.week_from, tuple(things)
