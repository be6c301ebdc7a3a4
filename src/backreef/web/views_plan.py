"""The plan as a page to read, and its parts as forms to fill in; the file keeps every word it had."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import override
from django.views.decorators.http import require_GET, require_http_methods

from backreef.errors import Fault, InputFaults
from backreef.usecases import plan_form
from backreef.usecases.pages import title_of
from backreef.usecases.plan_desk import catalogue_beside, check_text, digest_of, text_of
from backreef.usecases.plan_form import LISTS, Field, Section
from backreef.web import tanks as shelf
from backreef.web.versions import keep, undoable
from backreef.web.views_change import change, look_at, wake_for, wake_for_a_newcomer

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from backreef.catalogue.entries import Catalogue
    from backreef.company.findings import CheckFinding
    from backreef.usecases.check import CheckResult

PARTS = {
    "tank": (_lazy("Tank"), ("tank",)),
    "first-day": (_lazy("The first day"), ("tank", "start")),
    "keeper": (_lazy("Keeper"), ("keeper",)),
    "goals": (_lazy("Goals"), ("goals",)),
    "file": (_lazy("About this plan"), ()),
}
LIST_TITLES = {
    "animals": _lazy("Animals"),
    "meals": _lazy("Meals"),
    "foods": _lazy("Labels of foods"),
    "upkeep": _lazy("Upkeep"),
    "devices": _lazy("Devices"),
}
SHELF_OF = {
    "animals": "species",
    "meals": "foods",
    "foods": "foods",
    "upkeep": "tasks",
    "devices": "devices",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One entry of a list of the plan, in a line."""

    number: int
    title: str
    says: tuple[Field, ...]
    faults: tuple[Fault, ...]
    findings: tuple[CheckFinding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A field of a form with what was typed into it and what is wrong with that."""

    field: Field
    value: str
    faults: tuple[Fault, ...]
    posted: Mapping[str, str]

    @property
    def rows(self) -> list[dict[str, object]]:
        """The rows of a list of small tables, with what was typed into their cells."""
        return [
            {
                "number": row.number,
                "spare": row.spare,
                "cells": [
                    {
                        "name": cell.name,
                        "label": cell.label,
                        "value": self.posted.get(cell.name, cell.written),
                        "example": cell.example,
                        "help": cell.help,
                    }
                    for cell in row.cells
                ],
            }
            for row in self.field.rows
        ]

    @property
    def ident(self) -> str:
        """An id that a selector can hold."""
        return "f-" + "".join(sign if sign.isalnum() else "-" for sign in self.field.name)


@require_GET
def plan(request: HttpRequest, stem: str) -> HttpResponse:
    """The plan as it stands in its file, with what stands out beside what it is about."""
    tank = shelf.tank_of(stem)
    text = text_of(tank.path)
    checked = check_text(text, tank.path)
    document = plan_form.document_of(text)
    catalogue = catalogue_beside(text, tank.path)
    lists = []
    told: set[str] = set()
    for section, title in LIST_TITLES.items():
        entries = document.get(section, [])
        lines = [
            _line(text, (section, number), entry, checked, title=entry_title(section, entry, catalogue))
            for number, entry in enumerate(entries)
        ]
        told |= {finding.id for line in lines for finding in line.findings}
        lists.append((section, str(title), lines))
    about = {
        "tank": tank,
        "here": "plan",
        "parts": [(key, title, plan_form.written_in(text, where)) for key, (title, where) in PARTS.items()],
        "lists": lists,
        "rest": [finding for finding in checked.findings if finding.id not in told],
        "checked": checked,
        "story": str(document.get("story", "")).replace("\\\n", ""),
        "undo": undoable(tank),
        "before": digest_of(text),
    }
    if not checked.faults:
        wake_for_a_newcomer(tank)
    return render(request, "web/plan.html", about)


@require_http_methods(["GET", "POST"])
def part(request: HttpRequest, stem: str, name: str) -> HttpResponse:
    """The form of a part that every plan has."""
    if name not in PARTS:
        raise Http404
    title, section = PARTS[name]
    return _form(request, stem, str(title), section)


@require_http_methods(["GET", "POST"])
def entry(request: HttpRequest, stem: str, section: str, number: int) -> HttpResponse:
    """The form of an entry of a list."""
    tank = shelf.tank_of(stem)
    entries = plan_form.document_of(text_of(tank.path)).get(section, [])
    if section not in LISTS or number >= len(entries):
        raise Http404
    title = entry_title(section, entries[number], catalogue_beside(text_of(tank.path), tank.path))
    if request.POST.get("do") == "remove":
        text = text_of(tank.path)
        without = plan_form.without_entry(text, section, number)
        try:
            keep(
                tank, without, before=digest_of(text), who=request.user.get_username(), why=f"without {title}"
            )
        except InputFaults as refusal:
            for fault in refusal.faults:
                words = f"{title} cannot simply go: {fault.key}: {fault.message}"
                messages.error(request, words, extra_tags="english")
            return redirect("plan-entry", stem=stem, section=section, number=number)
        said = _("%(name)s is out of the plan. Versions can bring it back.")
        messages.success(request, said % {"name": title})
        return redirect("plan", stem=stem)
    return _form(request, stem, title, (section, number))


def _form(request: HttpRequest, stem: str, title: str, section: Section) -> HttpResponse:
    tank = shelf.tank_of(stem)
    text = text_of(tank.path)
    posted: Mapping[str, str] = request.POST
    changed = plan_form.with_fields(text, section, posted)
    checked = check_text(changed.text, tank.path)
    faults = (*changed.faults, *checked.faults)
    tries = request.POST.get("do") == "try"
    looks = request.headers.get("HX-Request") == "true" and not tries
    overtaken = bool(posted) and posted.get("before") != digest_of(text)
    if tries and request.headers.get("HX-Request") == "true":
        words = tuple(f"{fault.key}: {fault.message}" for fault in faults)
        return change(request, tank, changed.text, on=_comes_on(changed.text, section), faults=words)
    if posted and not looks and not faults and not overtaken and not tries:
        if changed.text != text:
            who = request.user.get_username()
            why = f"changed: {_in_english(title, section)}"
            keep(tank, changed.text, before=digest_of(text), who=who, why=why)
            messages.success(request, _("Saved: %(what)s.") % {"what": title})
        return redirect("plan", stem=stem)
    asked = [asked_of(field, posted, faults) for field in plan_form.fields_of(text, section)]
    here = {fault.key for one in asked for fault in one.faults}
    about = {
        "tank": tank,
        "here": "plan",
        "title": title,
        "asked": [one for one in asked if one.value or one.faults or _is_common(one.field)],
        "more": [one for one in asked if not (one.value or one.faults or _is_common(one.field))],
        "elsewhere": [fault for fault in faults if fault.key not in here],
        "findings": _about(section, changed.text, checked),
        "overtaken": overtaken,
        "before": digest_of(text),
        "is_entry": len(section) > 1 and isinstance(section[-1], int),
        "looks": looks,
        "posted": bool(posted),
        "all_asked": asked,
        "change": look_at(tank, changed.text, on=_comes_on(changed.text, section))
        if tries and not faults
        else None,
    }
    if not posted:
        wake_for(tank, on=_comes_on(text, section))
    template = "web/_looked.html" if looks else "web/plan_form.html"
    return render(request, template, about, status=422 if posted and not (looks or tries) else 200)


def _in_english(title: str, section: Section) -> str:
    """What a section is called in the reasons that versions keep, whatever the reader speaks."""
    with override("en"):
        return next((str(words) for words, where in PARTS.values() if where == section), title)


def _comes_on(text: str, section: Section) -> tuple[date | None, ...]:
    """The day on which what a form is about comes into the plan, where it says one."""
    found: Any = plan_form.document_of(text)
    for part in section:
        there = part in found if isinstance(found, dict) else part in range(len(found))
        found = found[part] if there else {}
    on = found.get("arrives_on") if isinstance(found, dict) else None
    return (on,) if isinstance(on, date) else ()


_COMMON = frozenset(
    [
        *("name", "display", "rock", "sump", "temperature", "lid", "corals", "kind", "age", "start_on"),
        *("minutes_per_month", "presence", "horizon", "optimise", "id", "count", "length", "arrives_on"),
        *("gate", "why", "amount", "by", "times", "days", "every", "share", "minutes"),
        *("basis", "protein", "fat", "fibre", "ash", "moisture"),
    ]
)
"""Keys that are asked for even where the plan says nothing of them."""


def _is_common(field: Field) -> bool:
    """Whether a field is asked for even where the plan says nothing of it."""
    return str(field.path[-1]) in _COMMON


def asked_of(field: Field, posted: Mapping[str, str], faults: tuple[Fault, ...]) -> Asked:
    """A field with what was typed into it, and those of the faults that are about it."""
    mine = tuple(
        f for f in faults if f.key == field.name or f.key.startswith((f"{field.name}.", f"{field.name}["))
    )
    value = posted.get(field.name, field.written)
    return Asked(field=field, value=value, faults=mine, posted=posted)


def _about(section: Section, text: str, checked: CheckResult) -> tuple[CheckFinding, ...]:
    if len(section) < 2 or not isinstance(section[-1], int):  # noqa: PLR2004  a list and a number
        return ()
    entries = plan_form.document_of(text).get(str(section[0]), [])
    return _findings(entries[section[1]], str(section[0]), checked) if section[1] < len(entries) else ()  # type: ignore[operator]


def _line(
    text: str, where: tuple[str, int], entry: dict[str, object], checked: CheckResult, *, title: str
) -> Line:
    section, number = where
    place = f"{section}[{number}]"
    fields = plan_form.written_in(text, (section, number))
    return Line(
        number=number,
        title=title,
        says=tuple(f for f in fields if f.path[-1] not in ("id", "count", LISTS[section])),
        faults=tuple(f for f in checked.faults if f.key == place or f.key.startswith(f"{place}.")),
        findings=_findings(entry, section, checked),
    )


def entry_title(section: str, entry: dict[str, object], catalogue: Catalogue) -> str:
    """What an entry of a list is called."""
    thing = str(entry.get(LISTS[section], ""))
    name = title_of(SHELF_OF[section], thing, catalogue)
    count = entry.get("count", 1)
    return f"{count} × {name}" if count != 1 else name


def _findings(entry: dict[str, object], section: str, checked: CheckResult) -> tuple[CheckFinding, ...]:
    ident = str(entry.get("id", entry.get(LISTS[section], "")))
    return tuple(finding for finding in checked.findings if ident in finding.id.split(".")[1:])
