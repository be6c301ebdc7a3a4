"""The plan's text, its versions, its file, and further entries for its lists."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from backreef.errors import InputFaults
from backreef.usecases import plan_form
from backreef.usecases.pages import shelves_of, title_of
from backreef.usecases.plan_desk import Overtaken, check_text, digest_of, text_differences, text_of
from backreef.usecases.plan_form import LISTS
from backreef.web import tanks as shelf
from backreef.web.models import Version
from backreef.web.versions import keep
from backreef.web.views_plan import LIST_TITLES, SHELF_OF

if TYPE_CHECKING:
    from django.http import HttpRequest

    from backreef.aquarium.differences import Difference

_SHOWN_VERSIONS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A version and what it says otherwise than the one before it."""

    version: Version
    differences: tuple[Difference, ...]
    first: bool
    now: bool


@require_http_methods(["GET", "POST"])
def text(request: HttpRequest, stem: str) -> HttpResponse:
    """The whole file as text, with every fault of what was typed beside its line."""
    tank = shelf.tank_of(stem)
    stands = text_of(tank.path)
    typed = request.POST.get("text", stands).replace("\r\n", "\n")
    checked = check_text(typed, tank.path)
    overtaken = request.method == "POST" and request.POST.get("before") != digest_of(stands)
    saving = request.method == "POST" and request.POST.get("do") == "save"
    if saving and checked.ok and not overtaken:
        if typed != stands:
            keep(
                tank, typed, before=digest_of(stands), who=request.user.get_username(), why="changed as text"
            )
        messages.success(request, "Saved.")
        return redirect("plan", stem=stem)
    about = {
        "tank": tank,
        "here": "plan",
        "text": typed,
        "checked": checked,
        "posted": request.method == "POST",
        "overtaken": overtaken,
        "before": digest_of(stands),
        "rows": min(max(typed.count("\n") + 2, 20), 60),
    }
    return render(request, "web/plan_text.html", about, status=422 if checked.faults and saving else 200)


@require_GET
def file(request: HttpRequest, stem: str) -> HttpResponse:  # noqa: ARG001  Django's
    """The plan file itself, byte by byte."""
    tank = shelf.tank_of(stem)
    return HttpResponse(
        tank.path.read_bytes(),
        content_type="application/toml; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{tank.path.name}"'},
    )


@require_http_methods(["GET", "POST"])
def versions(request: HttpRequest, stem: str) -> HttpResponse:
    """What the plan once said, in words; POST brings a version back."""
    tank = shelf.tank_of(stem)
    now = text_of(tank.path)
    if request.method == "POST":
        wanted = get_object_or_404(Version, pk=request.POST.get("version"), stem=stem)
        who, why = request.user.get_username(), f"brought back from {wanted.kept_at:%Y-%m-%d %H:%M}"
        keep(tank, wanted.text, before=digest_of(now), who=who, why=why)
        messages.success(request, "The plan is as it was then.")
        return redirect("plan", stem=stem)
    found = list(Version.objects.filter(stem=stem).order_by("-pk")[:_SHOWN_VERSIONS])
    before = [*found[1:], None][: len(found)]
    steps = [
        Step(
            version=one,
            differences=() if last is None else text_differences(last.text, one.text, tank.path),
            first=last is None,
            now=one.digest == digest_of(now),
        )
        for one, last in zip(found, before, strict=True)
    ]
    return render(request, "web/plan_versions.html", {"tank": tank, "here": "plan", "steps": steps})


@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, stem: str, section: str) -> HttpResponse:
    """Look for a thing of the catalogue and put it into a list of the plan."""
    tank = shelf.tank_of(stem)
    if section not in LISTS:
        raise Http404
    thing = request.POST.get("thing", "")
    if request.method == "POST" and thing:
        stands = text_of(tank.path)
        extra = _needed(section, request.POST.get("amount", ""))
        try:
            longer = plan_form.with_entry(stands, section, thing, extra)
            name = title_of(SHELF_OF[section], thing)
            who = request.user.get_username()
            keep(tank, longer, before=digest_of(stands), who=who, why=f"with {name}")
        except InputFaults as refusal:
            for fault in refusal.faults:
                messages.error(request, f"{fault.key}: {fault.message}")
            return redirect(request.get_full_path())
        except Overtaken as refusal:
            messages.error(request, str(refusal))
            return redirect(request.get_full_path())
        messages.success(request, f"{name} is in the plan. Say more about it here.")
        number = len(plan_form.document_of(longer)[section]) - 1
        return redirect("plan-entry", stem=stem, section=section, number=number)
    query = request.GET.get("q", "").strip()[:100]
    about = {
        "tank": tank,
        "here": "plan",
        "section": section,
        "title": LIST_TITLES[section],
        "query": query,
        "found": shelves_of(query, SHELF_OF[section]),
        "kind": SHELF_OF[section],
    }
    part = request.headers.get("HX-Request") == "true"
    return render(request, "web/_addable.html" if part else "web/plan_add.html", about)


def _needed(section: str, amount: str) -> dict[str, str]:
    """What an entry must say to be one: of a meal, how much."""
    if section != "meals":
        return {}
    return {"amount": plan_form.as_text(amount)} if amount.strip() else {"enough_for": '"maintenance"'}
