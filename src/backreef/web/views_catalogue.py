"""Animals, foods, devices and tasks: found by any word, read as a page each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404
from django.shortcuts import render
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET

from backreef.usecases.pages import SHELVES, page_of, shelves_of
from backreef.web import tanks as shelf
from backreef.web.roles import Role

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


SHELF_WORDS = {
    "species": gettext_lazy("All animals"),
    "foods": gettext_lazy("All foods"),
    "devices": gettext_lazy("All devices"),
    "tasks": gettext_lazy("All tasks"),
}


@require_GET
def search(request: HttpRequest) -> HttpResponse:
    """What the catalogue has under some words; everything of a kind without words."""
    query = request.GET.get("q", "").strip()[:100]
    kind = request.GET.get("kind", "")
    if kind not in SHELVES:
        kind = "" if query else "species"
    found = shelves_of(query, kind or None)
    about = {
        "here": "catalogue",
        "query": query,
        "kind": kind,
        "kinds": [(key, SHELF_WORDS[key]) for key in SHELVES],
        "found": found,
        "near": found.near,
        "count": sum(len(one.things) for one in found.shelves),
    }
    part = request.headers.get("HX-Request") == "true"
    return render(request, "web/_found.html" if part else "web/catalogue.html", about)


@require_GET
def thing(request: HttpRequest, kind: str, ident: str) -> HttpResponse:
    """One entry as a page."""
    page = page_of(kind, ident)
    if page is None:
        raise Http404
    tanks = shelf.tanks_for(request.user, Role.OWNER)
    about = {"here": "catalogue", "page": page, "kind": kind, "ident": ident, "tanks": tanks}
    about["section"] = {"species": "animals", "foods": "meals", "devices": "devices", "tasks": "upkeep"}[kind]
    return render(request, "web/thing.html", about)
