"""The plan and its log put together: what came, what moved, what to do this week."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from backreef.reports.reconcile_html import reconcile_content
from backreef.usecases.plan_desk import digest_of, rests_on
from backreef.web import jobs
from backreef.web import tanks as shelf
from backreef.web.pieces import why_page

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from backreef.calibration.outcome import Reconciled
    from backreef.usecases.plan_desk import PlanFile
    from backreef.web.models import Job


@require_http_methods(["GET", "POST"])
def reconcile(request: HttpRequest, stem: str) -> HttpResponse:
    """What was found when the log was last put to the plan; POST does it anew."""
    tank = shelf.tank_of(stem)
    digest = state_of(tank)
    if request.method == "POST":
        jobs.ask(jobs.RECONCILE, stem, digest=digest)
        return redirect("reconcile", stem=stem)
    job, found = newest(tank)
    waiting = jobs.waiting(jobs.RECONCILE, stem)
    stale = job is not None and job.digest != digest
    about = {
        "tank": tank,
        "here": "reconcile",
        "job": waiting,
        "refresh": waiting is not None,
        "failed": jobs.last_failed(jobs.RECONCILE, stem),
        "found": found,
        "content": None if found is None else reconcile_content(found, () if stale else why_page(stem)),
        "stale": stale,
        "has_log": shelf.mark_of(tank) != "",
    }
    return render(request, "web/reconcile.html", about)


def newest(tank: PlanFile) -> tuple[Job | None, Reconciled | None]:
    """The last answer for a tank, and the work that found it."""
    from backreef.calibration.outcome import Reconciled

    job = jobs.latest(jobs.RECONCILE, tank.stem)
    return job, None if job is None else jobs.answer_of(job, Reconciled)


def state_of(tank: PlanFile) -> str:
    """A check sum of what an answer rests on: the plan, and what was last written into the log."""
    return digest_of(rests_on(tank.path) + shelf.mark_of(tank))
