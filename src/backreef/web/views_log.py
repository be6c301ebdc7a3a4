"""The log: a line to type, shown as understood before it is saved; what was written, and its course."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from backreef.errors import BackreefError, InputFaults
from backreef.logbook.store import Wanted
from backreef.logbook.words import assumptions_of, moment_words, what_words
from backreef.plots.course import course
from backreef.plots.series import series_chart
from backreef.usecases.log import draft_line, draft_undo, save
from backreef.web import bootstrap
from backreef.web import tanks as shelf

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.http import HttpRequest, HttpResponse

    from backreef.catalogue.entries import Catalogue
    from backreef.logbook.entries import Entry
    from backreef.plots.figure import Figure
    from backreef.usecases.plan_desk import PlanFile

SHOWN_COUNT = 25
BEGINNINGS = (
    (gettext_lazy("nitrate"), "no3 "),
    (gettext_lazy("phosphate"), "po4 "),
    (gettext_lazy("alkalinity"), "kh "),
    (gettext_lazy("temperature"), "temp "),
    (gettext_lazy("salinity"), "salinity "),
    (gettext_lazy("water change"), "water change 10 %"),
    (gettext_lazy("fed double"), "fed double"),
    (gettext_lazy("algae seen"), "film algae 10 %"),
    (gettext_lazy("a death"), "1 snail died"),
    (gettext_lazy("a note"), "note: "),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """An entry in words."""

    ident: str
    when: str
    what: str
    who: str
    assumed: tuple[str, ...]
    picture: str
    """Check sum of its photograph; empty where it is none."""


@require_http_methods(["GET", "POST"])
def log(request: HttpRequest, stem: str) -> HttpResponse:
    """The log of a tank; POST looks at a line, saves it, or takes the last one back."""
    tank = shelf.tank_of(stem)
    do = request.POST.get("do", "")
    if do == "undo":
        return _taken_back(request, tank)
    line, at = (request.POST.get(key, request.GET.get(key, "")) for key in ("line", "at"))
    about: dict[str, object] = {
        "tank": tank,
        "here": "log",
        "line": line,
        "at": at,
        "draft": [],
        "faults": [],
    }
    status = 200
    if request.method == "POST" and line.strip():
        try:
            draft = draft_line(line, tank=tank.tank, plan=tank.path, at=at, hand=shelf.hand_of(request, tank))
            about["draft"] = said_of(draft.entries, draft.catalogue)
            if do == "save":
                store = bootstrap.log_store(create=True)
                assert store is not None  # noqa: S101  made just now
                words = "; ".join(one.what for one in said_of(save(store, draft), draft.catalogue))
                messages.success(request, _("Saved: %(what)s.") % {"what": words})
                return redirect("log", stem=stem)
        except InputFaults as refusal:
            about["faults"], status = [fault.message for fault in refusal.faults], 422
        except BackreefError as refusal:
            about["faults"], status = [str(refusal)], 422
    if request.headers.get("HX-Request") == "true":
        return render(request, "web/_draft.html", about)
    return render(request, "web/log.html", about | _history(request, tank), status=status)


def said_of(entries: Sequence[Entry], catalogue: Catalogue) -> list[Said]:
    """Entries in words, in their order."""
    return [
        Said(
            ident=entry.id,
            when=moment_words(entry),
            what=what_words(entry.what, catalogue),
            who=entry.who,
            assumed=assumptions_of(entry.what),
            picture=getattr(entry.what, "sha256", ""),
        )
        for entry in entries
    ]


def _taken_back(request: HttpRequest, tank: PlanFile) -> HttpResponse:
    store = bootstrap.log_store()
    draft = draft_undo(store, tank=tank.tank, hand=shelf.hand_of(request, tank))
    if store is not None:
        words = "; ".join(one.what for one in said_of(draft.before, draft.catalogue))
        save(store, draft)
        messages.success(request, _("Taken back: %(what)s.") % {"what": words})
    return redirect("log", stem=tank.stem)


def _history(request: HttpRequest, tank: PlanFile) -> dict[str, object]:
    from backreef.catalogue.load import load_catalogue

    store = bootstrap.log_store()
    beginnings = [(words, line) for words, line in BEGINNINGS]
    if store is None:
        return {"history": [], "beginnings": beginnings, "quantities": [], "picture": None}
    before = _moment(request.GET.get("before", ""))
    wanted = Wanted(tank=tank.tank, until=before, newest_count=SHOWN_COUNT + 1)
    entries = store.entries(wanted)
    older = entries[1].at.isoformat() if len(entries) > SHOWN_COUNT else ""
    shown = list(reversed(entries[1:] if older else entries))
    quantities = {one.series: one.label for one in shelf.measured(tank)}
    chosen = request.GET.get("show", "")
    chosen = chosen if chosen in quantities else next(iter(quantities), "")
    return {
        "history": said_of(shown, load_catalogue()),
        "older": older,
        "beginnings": beginnings,
        "quantities": list(quantities.items()),
        "chosen": chosen,
        "picture": _picture(tank, chosen) if chosen else None,
    }


def _moment(text: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None


def _picture(tank: PlanFile, series: str) -> Figure:
    """The readings of a quantity: against its forecast where there is one, else by themselves."""
    forecast = shelf.standing_of(tank).forecast
    if forecast is not None and series in forecast.series:
        return series_chart(forecast, series, shelf.readings_of(tank, forecast.start_on), ident="course")
    found = [one for one in shelf.measured(tank) if one.series == series]
    label, unit = (found[0].label, found[0].unit) if found else ("", "")
    return course([(one.on, one.value) for one in found], called=label, unit=unit, ident="course")
