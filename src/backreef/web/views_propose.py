"""Wishes in, plans out: the worker searches; its plans are compared in words, and one is adopted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from backreef.errors import InputFaults
from backreef.plots.markup import Safe
from backreef.usecases import plan_form
from backreef.usecases.offers import Offers
from backreef.usecases.plan_desk import Overtaken, check_text, digest_of, text_of
from backreef.web import bootstrap, jobs
from backreef.web import tanks as shelf
from backreef.web.numbers import plain_number
from backreef.web.versions import keep
from backreef.web.views_change import Look, look_at, wake_for
from backreef.web.views_plan import asked_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from backreef.usecases.offers import Offer
    from backreef.usecases.plan_desk import PlanFile
    from backreef.web.models import Job

_WISHED = ("keeper.wishes", "keeper.minutes_per_month", "keeper.presence", "keeper.refuses")


@require_http_methods(["GET", "POST"])
def propose(request: HttpRequest, stem: str) -> HttpResponse:
    """The wishes of a plan, and what was last found for them; POST searches, looks closer, or adopts."""
    tank = shelf.tank_of(stem)
    do = request.POST.get("do", "")
    if do == "search":
        return _search(request, tank)
    job, found = newest_offers(tank)
    look: Look | None = None
    if do in ("adopt", "try"):
        offer = chosen(found, request.POST.get("offer", ""))
        if do == "adopt":
            return _adopted(request, tank, offer)
        look = look_at(tank, offer.text, whole=True)
        if request.headers.get("HX-Request") == "true":
            return render(request, "web/_change.html", {"look": look, "tank": tank})
    return _page(request, tank, (job, found), look)


def _page(
    request: HttpRequest,
    tank: PlanFile,
    last: tuple[Job | None, Offers | None],
    look: Look | None = None,
    *,
    faults: tuple[str, ...] = (),
) -> HttpResponse:
    job, found = last
    text = text_of(tank.path)
    waiting = jobs.waiting(jobs.PROPOSE, tank.stem)
    fields = plan_form.fields_of(text, ("keeper",))
    wake_for(tank, whole=True)
    about = {
        "tank": tank,
        "here": "propose",
        "asked": [asked_of(field, request.POST, ()) for field in fields if field.name in _WISHED],
        "before": digest_of(text),
        "faults": faults,
        "job": waiting,
        "refresh": waiting is not None,
        "so_far": None if waiting is None else jobs.so_far(waiting),
        "failed": jobs.last_failed(jobs.PROPOSE, tank.stem),
        "found": found,
        "outcomes": Safe(found.outcomes) if found else "",
        "stale": job is not None and job.digest != digest_of(text),
        "look": look,
    }
    return render(request, "web/propose.html", about, status=422 if faults else 200)


def newest_offers(tank: PlanFile) -> tuple[Job | None, Offers | None]:
    """What was last found for a plan, and the work that found it."""
    job = jobs.latest(jobs.PROPOSE, tank.stem)
    return job, None if job is None else jobs.answer_of(job, Offers)


def chosen(found: Offers | None, number: str) -> Offer:
    """One of the plans that were found, by its place."""
    plans = found.plans if found else ()
    place = plain_number(number)
    if place is None or place >= len(plans):
        raise Http404
    return plans[place]


def _search(request: HttpRequest, tank: PlanFile) -> HttpResponse:
    """Keep the wishes in the plan, and ask for the search."""
    text = text_of(tank.path)
    changed = plan_form.with_fields(text, ("keeper",), request.POST)
    checked = check_text(changed.text, tank.path)
    faults = tuple(f"{fault.key}: {fault.message}" for fault in (*changed.faults, *checked.faults))
    if not faults and request.POST.get("before") != digest_of(text):
        faults = ("The file was changed elsewhere meanwhile; look at it again, and repeat it.",)
    if faults:
        return _page(request, tank, newest_offers(tank), faults=faults)
    if changed.text != text:
        who = request.user.get_username()
        keep(tank, changed.text, before=digest_of(text), who=who, why="changed: what is wished for")
    asked = {"members": bootstrap.doors().members}
    jobs.ask(jobs.PROPOSE, tank.stem, digest=digest_of(changed.text), asked=asked)
    return redirect("propose", stem=tank.stem)


def _adopted(request: HttpRequest, tank: PlanFile, offer: Offer) -> HttpResponse:
    """Make a proposal the plan; what the plan said before stays among its versions."""
    text = text_of(tank.path)
    if request.POST.get("before") != digest_of(text):
        words = _("The file was changed elsewhere meanwhile; look at it again, and repeat it.")
        messages.error(request, words)
        return redirect("propose", stem=tank.stem)
    try:
        who = request.user.get_username()
        keep(tank, offer.text, before=digest_of(text), who=who, why=f"adopted: {offer.title.lower()}")
    except InputFaults as refusal:
        for fault in refusal.faults:
            words = f"It cannot be adopted: {fault.key}: {fault.message}"
            messages.error(request, words, extra_tags="english")
        return redirect("propose", stem=tank.stem)
    except Overtaken as refusal:
        messages.error(request, str(refusal), extra_tags="english")
        return redirect("propose", stem=tank.stem)
    said = _("Adopted: %(name)s. Undo, or Versions, bring the old plan back.")
    messages.success(request, said % {"name": offer.title.lower()})
    return redirect("plan", stem=tank.stem)
