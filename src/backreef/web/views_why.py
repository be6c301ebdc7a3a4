"""Why a number is what it is: its working, found by the worker, kept while the plan stays as it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods

from backreef.plots.markup import Safe
from backreef.usecases.offers import asked_of_offer
from backreef.usecases.plan_desk import rests_on, text_of, text_rests_on
from backreef.usecases.told_numbers import FIT
from backreef.usecases.why_answers import WhyAnswers
from backreef.web import bootstrap, jobs, quick
from backreef.web import tanks as shelf
from backreef.web.models import Job
from backreef.web.quick_work import FIGURES
from backreef.web.views_propose import chosen, newest_offers
from backreef.web.views_reconcile import state_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from backreef.usecases.offers import Offer
    from backreef.usecases.plan_desk import PlanFile

_LONGEST = 160
_LOOKED_THROUGH = 12


@require_http_methods(["GET", "POST"])
def why(request: HttpRequest, stem: str) -> HttpResponse:
    """The working of a figure; POST has it worked out. Without a figure, all that can be asked."""
    tank = shelf.tank_of(stem)
    of = (request.POST.get("of") or request.GET.get("of", "")).strip()[:_LONGEST]
    if not of:
        return _all_that_can_be_asked(request, tank)
    of_fit = of.startswith(FIT)
    offer = _offered(tank, of)
    text = text_of(tank.path) if offer is None else offer.text
    digest = state_of(tank) if of_fit else text_rests_on(text, tank.path)
    if request.method == "POST":
        asked: dict[str, object] = {"figure": of, "members": bootstrap.doors().members}
        asked |= {} if offer is None else {"text": offer.text}
        jobs.ask(jobs.WHY, stem, digest=digest, asked=asked)
        return redirect(f"{reverse('why', args=[stem])}?{urlencode({'of': of})}")
    content = _known(stem, digest, of)
    waiting = None if content else _waiting(stem, digest, of)
    failed = jobs.last_failed(jobs.WHY, stem)
    about = {
        "tank": tank,
        "here": "reconcile" if of_fit else "forecast" if offer is None else "propose",
        "of": of,
        "content": content,
        "job": waiting,
        "refresh": waiting is not None,
        "failed": failed if failed is not None and failed.asked.get("figure") == of else None,
    }
    return render(request, "web/why.html", about)


def _offered(tank: PlanFile, of: str) -> Offer | None:
    """The plan that was found and is asked about; None for the plan itself."""
    asked = asked_of_offer(of)
    return None if asked is None else chosen(newest_offers(tank)[1], str(asked[0]))


def _known(stem: str, digest: str, of: str) -> Safe | None:
    done = Job.objects.filter(kind=jobs.WHY, stem=stem, digest=digest, state=Job.DONE).order_by("-pk")
    for job in done[:_LOOKED_THROUGH]:
        found = jobs.answer_of(job, WhyAnswers)
        if found is not None and of in found.by_figure:
            return Safe(found.by_figure[of])
    return None


def _waiting(stem: str, digest: str, of: str) -> Job | None:
    """Work that will answer, be it asked of another series of the same day."""
    day = of.partition("@")[2]
    for job in Job.objects.filter(kind=jobs.WHY, stem=stem, digest=digest, state__in=Job.WAITING):
        figure = str(job.asked.get("figure", ""))
        if figure == of or (day and not of.startswith(FIT) and figure.endswith(f"@{day}")):
            return job
    return None


def _all_that_can_be_asked(request: HttpRequest, tank: PlanFile) -> HttpResponse:
    asked = {"do": FIGURES, "path": str(tank.path), "digest": rests_on(tank.path)}
    asked["address"] = reverse("why", args=[tank.stem])
    about: dict[str, object] = {"tank": tank, "here": "forecast", "of": ""}
    part = request.headers.get("HX-Request") == "true"
    if part or request.GET.get("list") == "now":
        try:
            found = quick.ask(asked)
        except quick.TooSlow as refusal:
            found = {"faults": [str(refusal)]}
        about |= {"list": Safe(found.get("html", "")), "faults": found.get("faults", ())}
    return render(request, "web/_figures.html" if part else "web/why.html", about)
