"""What a change would do, as a piece of a page: asked of the warm process, shown before anything is saved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from django.shortcuts import render

from backreef.errors import InputFaults
from backreef.plots.markup import Safe
from backreef.tongue.door import language
from backreef.usecases.plan_desk import plan_of_text, rests_on, text_of, text_rests_on
from backreef.usecases.plan_form import document_of
from backreef.usecases.preview import look_until
from backreef.web import quick
from backreef.web.quick_work import LOOK

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest, HttpResponse

    from backreef.usecases.plan_desk import PlanFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A look at a change."""

    content: Safe
    faults: tuple[str, ...] = ()


def wake_for(tank: PlanFile, *, on: tuple[date | None, ...] = (), whole: bool = False) -> None:
    """Get a look at a change of a plan ready: simulate it as it is, up to where a look would go."""
    quick.wake(partial(_as_it_is, tank, lambda _: on, whole=whole))


def wake_for_a_newcomer(tank: PlanFile) -> None:
    """Get a look at one more animal ready, which comes with the last ones unless somebody says otherwise."""
    quick.wake(partial(_as_it_is, tank, lambda text: (last_arrival(text),)))


def _as_it_is(
    tank: PlanFile, on: Callable[[str], tuple[date | None, ...]], *, whole: bool = False
) -> dict[str, object] | None:
    """What a look at a change of a plan can do beforehand; None where the plan cannot be simulated."""
    text = text_of(tank.path)
    try:
        plan, _ = plan_of_text(text, tank.path)
    except InputFaults:
        return None
    until = None if whole else look_until(plan, on(text)).isoformat()
    return {"before": text, "path": str(tank.path), "until": until}


def last_arrival(text: str) -> date | None:
    """The day on which the last animals of a plan come; None where all are there."""
    days = [one.get("arrives_on") for one in document_of(text).get("animals", []) if isinstance(one, dict)]
    return max((on for on in days if isinstance(on, date)), default=None)


def look_at(tank: PlanFile, changed: str, *, on: tuple[date | None, ...] = (), whole: bool = False) -> Look:
    """The plan of a tank beside a changed text of it, up to a year after the change or over all of it."""
    until = None
    if not whole:
        until = look_until(plan_of_text(changed, tank.path)[0], on).isoformat()
    asked = {
        "do": LOOK,
        "before": text_of(tank.path),
        "after": changed,
        "path": str(tank.path),
        "rests": [rests_on(tank.path), text_rests_on(changed, tank.path)],
        "until": until,
        "language": language(),
    }
    try:
        found = quick.ask(asked)
    except quick.TooSlow as refusal:
        return Look(content=Safe(), faults=(str(refusal),))
    return Look(content=Safe(found.get("html", "")), faults=tuple(found.get("faults", ())))


def change(
    request: HttpRequest,
    tank: PlanFile,
    changed: str,
    *,
    on: tuple[date | None, ...] = (),
    faults: tuple[str, ...] = (),
) -> HttpResponse:
    """The piece of a page that shows what a change would do."""
    look = Look(content=Safe(), faults=faults) if faults else look_at(tank, changed, on=on)
    return render(request, "web/_change.html", {"look": look, "tank": tank})
