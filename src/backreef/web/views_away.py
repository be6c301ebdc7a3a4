"""Days away: tried out beforehand, written down for whoever looks in, shared by a link."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from backreef.errors import BackreefError, InputFaults
from backreef.reports.html import policy
from backreef.reports.rehearsal_html import rehearsal_content
from backreef.reports.sheet import sheet_html, whole_style
from backreef.usecases.plan_desk import rests_on
from backreef.usecases.rehearse import MEMBERS, absence_of, weekdays_of
from backreef.usecases.sheet import away_sheet
from backreef.web import access, bootstrap, jobs
from backreef.web import tanks as shelf
from backreef.web.models import Link, Tick
from backreef.web.numbers import row_number
from backreef.web.pieces import why_page

if TYPE_CHECKING:
    from django.http import HttpRequest

    from backreef.schedule.away import Absence

_AFTER_RETURN = timedelta(days=2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The days of an absence as they were filled in."""

    first: str
    until: str
    sitter: str
    calls: str
    absence: Absence | None
    faults: tuple[str, ...]

    @property
    def says(self) -> dict[str, Any]:
        """The absence as plain data."""
        assert self.absence is not None  # noqa: S101  asked before
        return {
            "first_on": self.absence.first_on.isoformat(),
            "until_on": self.absence.until_on.isoformat(),
            "sitter_weekdays": list(self.absence.sitter_weekdays),
        }

    @property
    def call_list(self) -> tuple[str, ...]:
        """Whom to call, in order."""
        return tuple(line.strip() for line in self.calls.splitlines() if line.strip())


def wanted_of(said: Any) -> Wanted:  # noqa: ANN401  Django's dictionary of what was sent
    """The absence that a form or an address speaks of, or what is wrong with it."""
    first, until, sitter, calls = (
        str(said.get(key, "")).strip() for key in ("first", "until", "sitter", "calls")
    )
    faults: list[str] = []
    days = []
    for words, text in ((_("The first day away"), first), (_("The day of return"), until)):
        try:
            days.append(date.fromisoformat(text))
        except ValueError:
            said_wrong = _("%(which)s: '%(text)s' is no date; write it as 2027-08-02.")
            faults.append(said_wrong % {"which": words, "text": text})
    try:
        weekdays = weekdays_of(sitter)
    except ValueError as refusal:
        faults.append(_("The days of the sitter: %(reason)s") % {"reason": refusal})
    absence = None if faults else absence_of(days[0], days[1], weekdays)
    return Wanted(first=first, until=until, sitter=sitter, calls=calls, absence=absence, faults=tuple(faults))


@require_http_methods(["GET", "POST"])
def away(request: HttpRequest, stem: str) -> HttpResponse:
    """Pick the days; rehearse them, read the sheet, share it."""
    from backreef.judgement.rehearsal import Rehearsal

    tank = shelf.tank_of(stem)
    do = request.POST.get("do", "")
    if do == "revoke":
        found = Link.objects.filter(
            pk=row_number(request.POST.get("link", "")), kind=Link.SHEET, stem=stem
        ).first()
        if found is not None and access.use_up(found):
            messages.success(request, _("The link is closed; whoever has it sees nothing any more."))
        return redirect("away", stem=stem)
    said = request.POST or request.GET
    wanted = wanted_of(said) if said.get("first") or request.method == "POST" else None
    faults = list(wanted.faults) if wanted else []
    secret = ""
    if wanted is not None and wanted.absence is not None:
        try:
            away_sheet(tank.path, wanted.absence)
            if do == "rehearse":
                asked = {**wanted.says, "members": min(MEMBERS, bootstrap.doors().members)}
                jobs.ask(jobs.REHEARSAL, stem, digest=rests_on(tank.path), asked=asked)
                return redirect("away", stem=stem)
            if do == "share":
                says = {**wanted.says, "calls": list(wanted.call_list)}
                life = wanted.absence.until_on + _AFTER_RETURN - date.today()  # noqa: DTZ011  the day at this place
                life = max(life, timedelta(days=1))
                secret = access.make_link(Link.SHEET, stem=stem, says=says, life=life)[0]
        except InputFaults as refusal:
            faults += [fault.message for fault in refusal.faults]
        except BackreefError as refusal:
            faults.append(str(refusal))
    job = jobs.latest(jobs.REHEARSAL, stem)
    rehearsal = None if job is None else jobs.answer_of(job, Rehearsal)
    waiting = jobs.waiting(jobs.REHEARSAL, stem)
    about = {
        "tank": tank,
        "here": "away",
        "wanted": wanted,
        "faults": faults,
        "ready": wanted is not None and not faults,
        "address": request.build_absolute_uri(reverse("sitter", args=[secret])) if secret else "",
        "links": _links(stem),
        "job": waiting,
        "refresh": waiting is not None,
        "failed": jobs.last_failed(jobs.REHEARSAL, stem),
        "rehearsal": None if rehearsal is None else rehearsal_content(rehearsal, why_page(stem)),
        "stale": job is not None and job.digest != rests_on(tank.path),
    }
    return render(request, "web/away.html", about, status=422 if faults else 200)


def _links(stem: str) -> list[dict[str, object]]:
    """The open links to sheets of a tank, with what was ticked."""
    open_ones = Link.objects.filter(kind=Link.SHEET, stem=stem, closed_at=None)
    return [
        {
            "link": link,
            "first_on": date.fromisoformat(link.says["first_on"]),
            "until_on": date.fromisoformat(link.says["until_on"]),
            "ticks": list(Tick.objects.filter(link=link).order_by("on", "pk")),
        }
        for link in open_ones
    ]


@require_http_methods(["GET", "POST"])
def sheet(request: HttpRequest, stem: str) -> HttpResponse:
    """The sheet as a page of its own, for paper; no telephone number ever stands in its address."""
    tank = shelf.tank_of(stem)
    wanted = wanted_of(request.POST)
    if wanted.absence is None:
        for fault in wanted.faults if request.method == "POST" else ():
            messages.error(request, fault)
        return redirect("away", stem=stem)
    found = away_sheet(tank.path, wanted.absence, calls=wanted.call_list)
    return HttpResponse(
        sheet_html(found),
        headers={"Content-Security-Policy": policy(whole_style(found)) + "; frame-ancestors 'none'"},
    )


@require_http_methods(["GET", "POST"])
def calendar(request: HttpRequest, stem: str) -> HttpResponse:
    """A secret address under which a calendar finds the work of the plan; a new one closes the old ones."""
    tank = shelf.tank_of(stem)
    secret = ""
    if request.method == "POST":
        for old in Link.objects.filter(kind=Link.FEED, stem=stem, closed_at=None):
            access.use_up(old)
        if request.POST.get("do") == "make":
            secret = access.make_link(Link.FEED, stem=stem, life=None)[0]
        else:
            messages.success(request, _("The calendar address is closed."))
            return redirect("calendar", stem=stem)
    about = {
        "tank": tank,
        "here": "plan",
        "address": request.build_absolute_uri(reverse("feed", args=[secret])) if secret else "",
        "open": Link.objects.filter(kind=Link.FEED, stem=stem, closed_at=None).first(),
    }
    return render(request, "web/calendar.html", about)
