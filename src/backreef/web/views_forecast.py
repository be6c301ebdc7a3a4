"""The forecast of a plan: asked for, watched while it runs, and read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from backreef.reports.html import report_html
from backreef.reports.words import untried_note
from backreef.web import jobs
from backreef.web import tanks as shelf
from backreef.web.models import Job
from backreef.web.pieces import PARTS, part_of
from backreef.web.views_days import season_words, seasons

if TYPE_CHECKING:
    from django.http import HttpRequest

    from backreef.plots.markup import Safe
    from backreef.usecases.plan_desk import PlanFile
    from backreef.web.tanks import Standing


@require_http_methods(["GET", "POST"])
def forecast(request: HttpRequest, stem: str, part: str = "findings") -> HttpResponse:
    """A part of the forecast; POST asks for a new one."""
    tank = shelf.tank_of(stem)
    if request.method == "POST":
        shelf.ask_for_forecast(tank, thorough=request.POST.get("do") == "thorough")
        return redirect("forecast", stem=stem)
    if part not in PARTS:
        raise Http404
    standing = shelf.standing_of(tank)
    about = {
        "tank": tank,
        "here": "forecast",
        "standing": standing,
        "job": standing.waiting,
        "refresh": standing.waiting is not None,
        "parts": PARTS,
        "part": part,
        "title": PARTS[part],
        "untried": standing.forecast is not None and bool(untried_note(standing.forecast.findings)),
        "seasons": []
        if standing.forecast is None
        else [(o, season_words(o)) for o in seasons(standing.forecast)],
        "content": _content(tank, standing, part),
    }
    return render(request, "web/forecast.html", about)


def _content(tank: PlanFile, standing: Standing, part: str) -> Safe | None:
    if standing.job is None or standing.forecast is None:
        return None
    readings = shelf.readings_of(tank, standing.forecast.start_on)
    return part_of(standing.job, standing.forecast, readings, part)


@require_GET
def report(request: HttpRequest, stem: str) -> HttpResponse:  # noqa: ARG001  Django's
    """The whole report as one file to keep or to send."""
    tank = shelf.tank_of(stem)
    found = shelf.standing_of(tank).forecast
    if found is None:
        raise Http404
    text = report_html(found, shelf.readings_of(tank, found.start_on))
    return HttpResponse(text, headers={"Content-Disposition": f'attachment; filename="{stem}-forecast.html"'})


@require_http_methods(["GET", "POST"])
def job(request: HttpRequest, pk: int) -> HttpResponse:
    """How far long work is; POST stops it. A page that waits for it is told when it has ended."""
    found = get_object_or_404(Job, pk=pk)
    tank = shelf.tank_of(found.stem)
    if request.method == "POST":
        jobs.cancel(found)
        return redirect(jobs.PAGES[found.kind], stem=tank.stem)
    about = {"job": found, "tank": tank, "so_far": jobs.so_far(found) if found.kind == jobs.PROPOSE else None}
    response = render(request, "web/_job.html", about)
    if not found.waits:
        response.headers["HX-Refresh"] = "true"
    return response
