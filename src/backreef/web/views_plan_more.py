"""The plan's text, its versions, its file, and further entries for its lists."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from backreef.aquarium.edits import CannotEdit
from backreef.errors import InputFaults
from backreef.usecases import plan_form
from backreef.usecases.first_plan import free_path, keep_first
from backreef.usecases.pages import shelves_of, title_of
from backreef.usecases.plan_desk import (
    Overtaken,
    catalogue_beside,
    check_text,
    digest_of,
    text_differences,
    text_of,
)
from backreef.usecases.plan_form import LISTS
from backreef.web import tanks as shelf
from backreef.web.models import Grant, Version
from backreef.web.numbers import row_number
from backreef.web.versions import UNDONE, keep, undoable
from backreef.web.views_change import change, last_arrival, wake_for_a_newcomer
from backreef.web.views_plan import LIST_TITLES, SHELF_OF

if TYPE_CHECKING:
    from django.http import HttpRequest

    from backreef.aquarium.differences import Difference
    from backreef.usecases.plan_desk import PlanFile

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
        messages.success(request, _("Saved."))
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
    if request.POST.get("do") == "undo":
        return _taken_back(request, tank)
    if request.method == "POST":
        wanted = get_object_or_404(Version, pk=row_number(request.POST.get("version", "")), stem=stem)
        who, why = request.user.get_username(), f"brought back from {wanted.kept_at:%Y-%m-%d %H:%M}"
        keep(tank, wanted.text, before=digest_of(now), who=who, why=why)
        messages.success(request, _("The plan is as it was then."))
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


def _taken_back(request: HttpRequest, tank: PlanFile) -> HttpResponse:
    """Take the last change back, if the plan is still the one that the reader saw."""
    before = digest_of(text_of(tank.path))
    found = undoable(tank)
    if found is None or request.POST.get("before") != before:
        words = _("There is nothing to take back: the plan is not what was last saved here.")
        messages.error(request, words)
        return redirect("plan", stem=tank.stem)
    try:
        keep(tank, found.text, before=before, who=request.user.get_username(), why=f"{UNDONE}{found.what}")
    except InputFaults as refusal:
        for fault in refusal.faults:
            words = f"It cannot be taken back: {fault.key}: {fault.message}"
            messages.error(request, words, extra_tags="english")
    else:
        messages.success(request, f"Taken back: {found.what}.", extra_tags="english")
    return redirect("plan", stem=tank.stem)


@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, stem: str, section: str) -> HttpResponse:
    """Look for a thing of the catalogue and put it into a list of the plan."""
    tank = shelf.tank_of(stem)
    if section not in LISTS:
        raise Http404
    thing = request.POST.get("thing", request.GET.get("thing", ""))
    tries = request.POST.get("do") == "try"
    if request.method == "POST" and thing:
        stands = text_of(tank.path)
        try:
            longer = _with_thing(stands, section, thing, request.POST)
            if tries and request.headers.get("HX-Request") == "true":
                return change(request, tank, longer, on=_days_in(request.POST))
            name = title_of(SHELF_OF[section], thing, catalogue_beside(stands, tank.path))
            who = request.user.get_username()
            keep(tank, longer, before=digest_of(stands), who=who, why=f"with {name}")
        except InputFaults as refusal:
            return _refused(request, tank, [f"{fault.key}: {fault.message}" for fault in refusal.faults])
        except (Overtaken, CannotEdit) as refusal:
            return _refused(request, tank, [str(refusal)])
        said = _("%(name)s is in the plan. Say more about it here.")
        messages.success(request, said % {"name": name})
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
        "chosen": _chosen(tank, section, thing) if thing else None,
    }
    part = request.headers.get("HX-Request") == "true"
    if not part:
        wake_for_a_newcomer(tank)
    return render(request, "web/_addable.html" if part else "web/plan_add.html", about)


def _refused(request: HttpRequest, tank: PlanFile, words: list[str]) -> HttpResponse:
    if request.headers.get("HX-Request") == "true":
        return change(request, tank, "", faults=tuple(words))
    for one in words:
        messages.error(request, one, extra_tags="english")
    return redirect(request.get_full_path())


@require_http_methods(["GET", "POST"])
def copy(request: HttpRequest, stem: str) -> HttpResponse:
    """A further plan for the same tank, beginning as this one; open to the same people, with the same log."""
    tank = shelf.tank_of(stem)
    name = request.POST.get("name", "").strip()
    faults: list[str] = []
    if request.method == "POST" and not any(sign.isalnum() for sign in name):
        faults.append(_("Give the file a name of letters or digits."))
    elif request.method == "POST":
        path = free_path(tank.path.parent, name)
        keep_first(path, text_of(tank.path))
        for grant in Grant.objects.filter(stem=stem):
            Grant.objects.create(person=grant.person, stem=path.stem, role=grant.role)
        messages.success(request, _("The further plan is there; it still says what the other one says."))
        return redirect("plan", stem=path.stem)
    about = {"tank": tank, "here": "plan", "name": name or f"{stem} 2", "faults": faults}
    return render(request, "web/plan_copy.html", about, status=422 if faults else 200)


_ASKED = {
    "animals": ("count", "arrives_on"),
    "meals": ("amount", "times"),
    "foods": (),
    "upkeep": ("every", "share"),
    "devices": ("count",),
}
"""What is asked of a thing before it is put into the plan."""


def _chosen(tank: PlanFile, section: str, thing: str) -> dict[str, object] | None:
    """A thing that somebody looks at, with what is asked of it; None where the catalogue lacks it."""
    text = text_of(tank.path)
    name = title_of(SHELF_OF[section], thing, catalogue_beside(text, tank.path))
    if name == thing:
        return None
    fields = {str(field.path[-1]): field for field in plan_form.fields_of(text, (section, 10_000))}
    return {
        "thing": thing,
        "name": name,
        "asked": [
            {
                "key": key,
                "label": fields[key].label,
                "help": fields[key].help,
                "example": fields[key].example,
                "value": _usual(text, section, key),
            }
            for key in _ASKED[section]
        ],
    }


def _usual(text: str, section: str, key: str) -> str:
    """What stands in a field at first: of newcomers, the day of the last ones."""
    if key == "count":
        return "1"
    if section == "animals" and key == "arrives_on":
        on = last_arrival(text)
        return "" if on is None else on.isoformat()
    return ""


def _with_thing(text: str, section: str, thing: str, posted: Mapping[str, str]) -> str:
    """The text with a thing of the catalogue, and what was said of it.

    Raises
    ------
    InputFaults
        With everything that cannot be put into it.
    """
    amount = posted.get("amount", "").strip()
    least = {"enough_for": '"maintenance"'} if section == "meals" and not amount else {}
    longer = plan_form.with_entry(text, section, thing, least)
    number = len(plan_form.document_of(longer)[section]) - 1
    said = {f"{section}[{number}].{key}": posted.get(key, "") for key in _ASKED[section]}
    changed = plan_form.with_fields(longer, (section, number), said)
    if changed.faults:
        raise InputFaults(changed.faults)
    return changed.text


def _days_in(posted: Mapping[str, str]) -> tuple[date | None, ...]:
    try:
        return (date.fromisoformat(posted.get("arrives_on", "")),)
    except ValueError:
        return ()
