"""Numbers of the keeper's own, for an animal or a food of the catalogue, and foods of their own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from backreef.errors import Fault
from backreef.usecases import own_entries as own
from backreef.usecases.own_entries import NotOwn, OwnField
from backreef.usecases.plan_desk import digest_of, text_of
from backreef.usecases.plan_form import with_fields
from backreef.web import tanks as shelf
from backreef.web.versions import keep

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from backreef.usecases.plan_desk import PlanFile

PARTS = ("value", "low", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A number with what was typed for it and what is wrong with that."""

    field: OwnField
    cells: tuple[tuple[str, str], ...]
    """Part and what stands in it."""
    faults: tuple[Fault, ...]


@require_GET
def entries(request: HttpRequest, stem: str) -> HttpResponse:
    """Every entry of one's own beside a plan."""
    tank = shelf.tank_of(stem)
    about = {"tank": tank, "here": "plan", "entries": own.own_entries(tank.path)}
    return render(request, "web/own.html", about)


@require_http_methods(["GET", "POST"])
def entry(request: HttpRequest, stem: str, kind: str, ident: str) -> HttpResponse:
    """The numbers of an entry as a form; POST keeps them, or takes one's own back."""
    tank = shelf.tank_of(stem)
    try:
        found = own.entry_of(tank.path, kind, ident)
        if request.POST.get("do") == "take":
            own.take_back(tank.path, kind, ident)
            messages.success(request, _("What ships counts again: %(name)s.") % {"name": found.title})
            return redirect("own", stem=stem)
    except NotOwn as refusal:
        if request.method == "GET":
            raise Http404 from None
        messages.error(request, str(refusal), extra_tags="english")
        return redirect("own-entry", stem=stem, kind=kind, ident=ident)
    faults: tuple[Fault, ...] = ()
    if request.method == "POST":
        change = own.changed(tank.path, kind, ident, request.POST)
        faults = change.faults
        if not faults:
            _name_the_folder(tank, own.keep(tank.path, kind, change), request.user.get_username())
            messages.success(request, _("Your own numbers count from the next forecast on."))
            return redirect("own", stem=stem)
    asked = [
        Asked(
            field=field,
            cells=tuple((part, request.POST.get(f"{field.key}.{part}", field.now[part])) for part in PARTS),
            faults=tuple(f for f in faults if f.key == field.key or f.key.startswith(f"{field.key}.")),
        )
        for field in found.fields
    ]
    here = {fault.key for one in asked for fault in one.faults}
    about = {
        "tank": tank,
        "here": "plan",
        "entry": found,
        "asked": asked,
        "posted": request.POST,
        "elsewhere": [fault for fault in faults if fault.key not in here],
    }
    return render(request, "web/own_entry.html", about, status=422 if faults else 200)


def _name_the_folder(tank: PlanFile, folder: str, who: str) -> None:
    """Say in the plan where its own entries stand, if it does not yet."""
    text = text_of(tank.path)
    named = with_fields(text, (), {"catalogue": folder})
    if named.text != text and not named.faults:
        keep(tank, named.text, before=digest_of(text), who=who, why="with entries of its own")
