"""The first page: every tank with its year ribbon in small, and what to know of it today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from backreef.reports.reconcile_text import gate_words, to_do_words
from backreef.web import jobs
from backreef.web import tanks as shelf
from backreef.web.pieces import card
from backreef.web.roles import Role, role_of, stems_of
from backreef.web.views_change import wake_for_a_newcomer
from backreef.web.views_reconcile import newest, state_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from backreef.plots.markup import Safe
    from backreef.usecases.plan_desk import PlanFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One tank of the list."""

    tank: PlanFile
    card: Safe | None
    """The verdict and the ribbon in small; None before the first forecast."""
    current: bool
    """Whether the forecast is about the plan as it is now."""
    waiting: bool
    may_ask: bool
    """Whether the reader may ask for a forecast."""
    week_from: date | None
    week: tuple[str, ...]
    """What is to be done in the week after the last reading, where log and plan were put together."""


@require_GET
def tanks(request: HttpRequest) -> HttpResponse:
    """Every tank of the folder; an empty folder leads to the start."""
    found = shelf.tanks_for(request.user)
    if not found and role_of(request.user, None) is Role.KEEPER:
        return redirect("start")
    if found:
        wake_for_a_newcomer(found[0])
    theirs = stems_of(request.user, Role.CARER)
    rows = [_row(tank, may_ask=theirs is None or tank.stem in theirs) for tank in found]
    return render(request, "web/tanks.html", {"rows": rows, "here": "tanks"})


def _row(tank: PlanFile, *, may_ask: bool) -> Row:
    job = jobs.latest(jobs.FORECAST, tank.stem)
    found = None if job is None else card(job, tank)
    week_from, week = _week(tank)
    return Row(
        tank=tank,
        card=found,
        current=found is not None and job is not None and shelf.is_current(job, tank),
        waiting=jobs.waiting(jobs.FORECAST, tank.stem) is not None,
        may_ask=may_ask,
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
