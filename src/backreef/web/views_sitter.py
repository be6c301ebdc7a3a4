"""What a secret link shows: one sheet with boxes to tick, or one calendar; nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from backreef.errors import BackreefError, InputFaults
from backreef.logbook.changes import Hand
from backreef.reports.ical import calendar_text
from backreef.usecases.log import draft_line, save
from backreef.usecases.plan_desk import now_at
from backreef.usecases.rehearse import absence_of
from backreef.usecases.sheet import away_sheet
from backreef.usecases.work import lay_out_file
from backreef.web import access, bootstrap
from backreef.web import tanks as shelf
from backreef.web.models import Link, Tick

if TYPE_CHECKING:
    from django.http import HttpRequest

    from backreef.usecases.plan_desk import PlanFile
    from backreef.usecases.sheet_page import Sheet

SITTER = "sitter"
_MOST_TICKS = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A step of a visit, with whether it was ticked."""

    words: str
    done: bool
    only_if: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """A day on which somebody comes."""

    on: date
    who: str
    steps: tuple[Step, ...]
    today: bool


@login_not_required
@require_http_methods(["GET", "POST"])
def sheet(request: HttpRequest, secret: str) -> HttpResponse:
    """The sheet of an absence for whoever has its link; they may tick and write into the log."""
    link = access.find_link(Link.SHEET, secret)
    if link is None:
        raise Http404
    tank = shelf.tank_of(link.stem)
    away = absence_of(
        date.fromisoformat(link.says["first_on"]),
        date.fromisoformat(link.says["until_on"]),
        tuple(link.says["sitter_weekdays"]),
    )
    found = away_sheet(tank.path, away, calls=tuple(link.says.get("calls", ())))
    if request.method == "POST":
        return _told(request, secret, link, tank, found)
    calls = [call for call in found.calls if call]
    about = {"sheet": found, "days": _days(found, link), "secret": secret, "tank": tank, "calls": calls}
    return render(request, "web/sitter.html", about)


def _days(found: Sheet, link: Link) -> list[Day]:
    ticked = set(Tick.objects.filter(link=link).values_list("on", "step"))
    today = date.today()  # noqa: DTZ011  the day at this place
    return sorted(
        (
            Day(
                on=on,
                who=visit.who,
                steps=(
                    *(
                        Step(words=words, done=(on, words) in ticked)
                        for words in (*found.each_time, *visit.steps)
                    ),
                    *(Step(words=words, done=(on, words) in ticked, only_if=True) for words in visit.only_if),
                ),
                today=on == today,
            )
            for visit in found.visits
            for on in visit.days
        ),
        key=lambda day: day.on,
    )


def _told(request: HttpRequest, secret: str, link: Link, tank: PlanFile, found: Sheet) -> HttpResponse:
    if request.POST.get("do") == "log":
        _logged(request, tank)
        return redirect("sitter", secret=secret)
    days = {day.on.isoformat(): day for day in _days(found, link)}
    day = days.get(request.POST.get("on", ""))
    if day is not None and Tick.objects.filter(link=link).count() < _MOST_TICKS:
        wanted = set(request.POST.getlist("step"))
        for step in day.steps:
            if step.words in wanted and not step.done:
                Tick.objects.get_or_create(link=link, on=day.on, step=step.words)
            elif step.done and step.words not in wanted:
                Tick.objects.filter(link=link, on=day.on, step=step.words).delete()
        messages.success(request, _("Kept. Thank you."))
    return redirect("sitter", secret=secret)


def _logged(request: HttpRequest, tank: PlanFile) -> None:
    """Write a sitter's words into the log: as a line if it can be read as one, else as a note."""
    words = " ".join(request.POST.get("line", "").split())
    if not words:
        return
    hand = Hand(who=SITTER, now=now_at(tank.path))
    try:
        draft = draft_line(words, tank=tank.tank, plan=tank.path, at="", hand=hand)
    except InputFaults:
        draft = draft_line(f"note: {words}", tank=tank.tank, plan=tank.path, at="", hand=hand)
    store = bootstrap.log_store(create=True)
    if store is None:
        return
    try:
        save(store, draft)
        messages.success(request, _("Written down for the keeper. Thank you."))
    except BackreefError as refusal:
        messages.error(request, str(refusal), extra_tags="english")


@login_not_required
@require_GET
def feed(request: HttpRequest, secret: str) -> HttpResponse:  # noqa: ARG001  Django's
    """The work of a plan for a calendar that has its secret address."""
    link = access.find_link(Link.FEED, secret)
    if link is None:
        raise Http404
    tank = shelf.tank_of(link.stem)
    plan, schedule, catalogue = lay_out_file(tank.path)
    return HttpResponse(
        calendar_text(plan, schedule, catalogue),
        content_type="text/calendar; charset=utf-8",
        headers={"Content-Disposition": f'inline; filename="{tank.stem}.ics"'},
    )
