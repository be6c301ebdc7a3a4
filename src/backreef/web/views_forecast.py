"""The forecast of a plan: asked for, watched while it runs, and read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from backreef.plots.markup import joined
from backreef.reports import html_sections as sections
from backreef.reports.html import report_html
from backreef.web import jobs
from backreef.web import tanks as shelf
from backreef.web.models import Job

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.http import HttpRequest

    from backreef.judgement.verdict import Forecast
    from backreef.plots.figure import Reading
    from backreef.plots.markup import Safe

PARTS = {
    "findings": "Findings",
    "water": "Water",
    "mouths": "Mouths",
    "hands": "Hands",
    "sure": "How sure",
}


@require_http_methods(["GET", "POST"])
def forecast(request: HttpRequest, stem: str, part: str = "findings") -> HttpResponse:
    """A part of the forecast; POST asks for a new one."""
    tank = shelf.tank_of(stem)
    if request.method == "POST":
        shelf.ask_for_forecast(tank)
        return redirect("forecast", stem=stem)
    if part not in PARTS:
        raise Http404
    standing = shelf.standing_of(tank)
    found = standing.forecast
    readings = () if found is None else shelf.readings_of(tank, found.start_on)
    about = {
        "tank": tank,
        "here": "forecast",
        "standing": standing,
        "job": standing.waiting,
        "refresh": standing.waiting is not None,
        "parts": PARTS,
        "part": part,
        "title": PARTS[part],
        "content": None if found is None else _content(found, readings, part),
    }
    return render(request, "web/forecast.html", about)


def _content(found: Forecast, readings: Sequence[Reading], part: str) -> Safe:
    if part == "water":
        return sections.water(found, readings)
    if part == "mouths":
        return joined([sections.mouths(found), sections.additions(found), sections.crew(found)])
    if part == "hands":
        return sections.hands(found)
    if part == "sure":
        return joined([sections.sureness(found), sections.doors(found), sections.assumptions(found)])
    return joined([sections.head(found, readings), sections.findings(found), sections.cautions(found)])


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
    response = render(request, "web/_job.html", {"job": found, "tank": tank})
    if not found.waits:
        response.headers["HX-Refresh"] = "true"
    return response
