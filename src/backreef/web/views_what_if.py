"""What if: toggles that change the plan for a look, and plans laid over one another."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from backreef.aquarium.differences import differences
from backreef.aquarium.edits import CannotEdit
from backreef.errors import InputFaults
from backreef.plots.markup import Safe, joined
from backreef.reports.change_html import balances_changed, side_by_side
from backreef.usecases import what_if as wondering
from backreef.usecases.compare import Compared, Comparison, pairing
from backreef.usecases.plan_desk import Overtaken, catalogue_beside, digest_of, plan_of_text, text_of
from backreef.usecases.what_if import WhatIf
from backreef.web import jobs
from backreef.web import tanks as shelf
from backreef.web.drawn import drawn
from backreef.web.models import Version
from backreef.web.numbers import plain_number, row_number
from backreef.web.versions import keep
from backreef.web.views_change import Look, look_at, wake_for

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse, QueryDict

    from backreef.usecases.plan_desk import PlanFile

_SHOWN_VERSIONS = 12


@require_http_methods(["GET", "POST"])
def what_if(request: HttpRequest, stem: str) -> HttpResponse:
    """Toggles and their look; POST makes what was wondered about the plan."""
    tank = shelf.tank_of(stem)
    said = request.POST if request.method == "POST" else request.GET
    asked, faults = _asked(said)
    if request.method == "POST":
        return _kept(request, tank, asked, faults)
    beside = said.get("beside", "")
    look: Look | None = None
    if faults:
        look = Look(content=Safe(), faults=faults)
    elif beside:
        look = _laid_over(request, tank, beside)
    elif not asked.nothing:
        look = _wondered(tank, asked)
    if request.headers.get("HX-Request") == "true":
        about: dict[str, object] = {"look": look, "tank": tank, "asked": asked, "away": said.get("away", "")}
        return render(request, "web/_wondered.html", about | {"before": digest_of(text_of(tank.path))})
    text = text_of(tank.path)
    catalogue = catalogue_beside(text, tank.path)
    wake_for(tank, whole=True)
    about = {
        "tank": tank,
        "here": "forecast",
        "look": look,
        "asked": asked,
        "chores": wondering.choices(text, "upkeep", catalogue, asked.skipped),
        "animals": wondering.choices(text, "animals", catalogue, asked.more),
        "meals": wondering.swaps(text, catalogue, asked.foods),
        "foods": wondering.food_names(catalogue),
        "away": said.get("away", ""),
        "others": [one for one in shelf.tanks_for(request.user) if one.stem != stem],
        "versions": Version.objects.filter(stem=stem)
        .exclude(digest=digest_of(text))
        .order_by("-pk")[:_SHOWN_VERSIONS],
        "beside": beside,
        "before": digest_of(text),
    }
    return render(request, "web/what_if.html", about)


def _asked(said: QueryDict) -> tuple[WhatIf, tuple[str, ...]]:
    """What somebody wonders about, and what of it cannot be read."""
    faults: list[str] = []
    away_on = None
    if away := said.get("away", "").strip():
        try:
            away_on = date.fromisoformat(away)
        except ValueError:
            faults.append(f"'{away}' is no date; write it as 2027-08-02")
    foods = {
        number: str(said[name])
        for name in said
        if name.startswith("food-") and (number := plain_number(name.removeprefix("food-"))) is not None
    }
    numbers = {
        key: tuple(number for one in said.getlist(key) if (number := plain_number(one)) is not None)
        for key in ("skip", "more")
    }
    asked = WhatIf(skipped=numbers["skip"], more=numbers["more"], foods=foods, away_on=away_on)
    return asked, tuple(faults)


def _wondered(tank: PlanFile, asked: WhatIf) -> Look:
    try:
        return look_at(tank, wondering.changed(text_of(tank.path), asked), whole=True)
    except InputFaults as refusal:
        words = tuple(f"{fault.key}: {fault.message}" for fault in refusal.faults)
    except CannotEdit as refusal:
        words = (str(refusal),)
    return Look(content=Safe(), faults=words)


def _kept(request: HttpRequest, tank: PlanFile, asked: WhatIf, faults: tuple[str, ...]) -> HttpResponse:
    """Make what was wondered about the plan."""
    words = list(faults)
    before = request.POST.get("before", "")
    if not faults and not asked.nothing:
        try:
            text = wondering.changed(text_of(tank.path), asked)
            keep(tank, text, before=before, who=request.user.get_username(), why="what was wondered about")
        except InputFaults as refusal:
            words += [f"{fault.key}: {fault.message}" for fault in refusal.faults]
        except (CannotEdit, Overtaken) as refusal:
            words.append(str(refusal))
        else:
            said = _("This is the plan now. Undo, or Versions, bring the old one back.")
            messages.success(request, said)
            return redirect("plan", stem=tank.stem)
    for one in words:
        messages.error(request, one, extra_tags="english")
    if not words:
        messages.error(request, _("Nothing is changed yet."))
    return redirect("what-if", stem=tank.stem)


def _laid_over(request: HttpRequest, tank: PlanFile, beside: str) -> Look:
    """An earlier version, or the kept forecast of another plan, over this one."""
    kind, _, name = beside.partition(":")
    if kind == "version":
        version = Version.objects.filter(pk=row_number(name), stem=tank.stem).first()
        if version is None:
            return Look(content=Safe(), faults=("There is no such version of this plan.",))
        return look_at(tank, version.text, whole=True)
    other = next((one for one in shelf.tanks_for(request.user) if one.stem == name), None)
    if other is None:
        raise Http404
    return _forecasts_over(tank, other)


def _forecasts_over(tank: PlanFile, other: PlanFile) -> Look:
    found = [jobs.latest(jobs.FORECAST, one.stem) for one in (tank, other)]
    forecasts = [None if job is None else shelf.forecast_of(job) for job in found]
    first, second = forecasts
    job = found[0]
    if first is None or second is None or job is None or found[1] is None:
        missing = tank if first is None else other
        return Look(content=Safe(), faults=(f"{missing.tank} has no forecast yet; forecast it first.",))
    if first.members != second.members:
        return Look(content=Safe(), faults=("The two forecasts have not the same members.",))
    plans = [plan_of_text(text_of(one.path), one.path)[0] for one in (tank, other)]
    comparison = Comparison(
        plans=(
            Compared(letter=tank.tank, forecast=first, differences=(), pairing=pairing(first, first)),
            Compared(
                letter=other.tank,
                forecast=second,
                differences=differences(*plans),
                pairing=pairing(first, second),
            ),
        )
    )
    shows = (
        str(found[1].pk),
        str(found[1].ended_at),
        *(digest_of(text_of(one.path)) for one in (tank, other)),
    )
    content = drawn(
        job,
        "over",
        shows,
        lambda: joined([balances_changed(first, second), side_by_side(comparison, ident="over")]),
    )
    return Look(content=content)
