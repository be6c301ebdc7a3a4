"""The first visit: from the sizes of a tank to a first plan, or the example, or a file one has."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.views.decorators.http import require_http_methods, require_POST

from backreef.errors import BackreefError, Fault, InputFaults
from backreef.usecases.first_plan import ASKED, copy_example, first_text, free_path, keep_first
from backreef.web import bootstrap
from backreef.web import tanks as shelf

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

_MOST_BYTES = 1_000_000
_WORDS = {
    "start_on": (_lazy("First day of the forecast"), "2027-01-04", ""),
    "tank.name": (_lazy("What the tank is called"), "Reading-room reef", ""),
    "tank.display": (
        _lazy("Inner size of the display"),
        "120 x 50 x 50 cm",
        _lazy("Length, front to back, height; or a volume as 300 L or 66 gal US."),
    ),
    "tank.rock": (
        _lazy("Rock"),
        "36 kg",
        _lazy("Weighed dry. Leave it empty if you do not know; then it is assumed, and said so."),
    ),
    "tank.start.kind": (_lazy("How it starts"), "", ""),
    "keeper.minutes_per_month": (
        _lazy("Minutes a month you give it"),
        "240 min",
        _lazy("Hands in or at the tank, without looking at it."),
    ),
    "keeper.presence": (
        _lazy("When you are there"),
        "Mon-Fri 18:00-22:00",
        _lazy("A line for each: Tue-Fri 8:00-19:00. Empty: every day, all day."),
    ),
}
KINDS = {
    "dry_rock": _lazy("new, with dry rock"),
    "live_rock": _lazy("new, with live rock"),
    "seeded": _lazy("new, with bacteria or media of a ripe tank"),
    "established": _lazy("it has been running"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A question of the first visit."""

    name: str
    ident: str
    label: str
    example: str
    help: str
    value: str
    faults: tuple[str, ...]


@require_http_methods(["GET", "POST"])
def start(request: HttpRequest) -> HttpResponse:
    """Ask for the least that a plan needs, and make it."""
    folder = bootstrap.served().folder
    said = {name: request.POST.get(name, "") for name, _ in ASKED}
    path = free_path(folder, said["tank.name"])
    faults: tuple[Fault, ...] = ()
    if request.method == "POST":
        made = first_text(said, path)
        faults = made.faults
        if not faults:
            keep_first(path, made.text)
            messages.success(request, _("The plan is there. Now its animals and their food."))
            return redirect("plan", stem=path.stem)
    else:
        said["start_on"] = date.today().isoformat()  # noqa: DTZ011  the day at this place
        said["tank.start.kind"] = "live_rock"
    questions = [
        Question(
            name=name,
            ident=f"q-{name.replace('.', '-')}",
            label=str(_WORDS[name][0]),
            example=_WORDS[name][1],
            help=str(_WORDS[name][2]),
            value=said[name],
            faults=tuple(f.message for f in faults if f.key == name or f.key.startswith(f"{name}.")),
        )
        for name, _ in ASKED
    ]
    shown = {one.name for one in questions if one.faults}
    others = [fault for fault in faults if not any(fault.key.startswith(name) for name in shown)]
    about = {
        "questions": questions,
        "kinds": KINDS,
        "others": others,
        "here": "start",
        "any": shelf.all_tanks(),
    }
    return render(request, "web/start.html", about, status=422 if faults else 200)


@require_POST
def example(request: HttpRequest) -> HttpResponse:  # noqa: ARG001  Django's
    """Put the reading room's plan into the folder and ask for its forecast."""
    tank = shelf.tank_of(copy_example(bootstrap.served().folder))
    if shelf.standing_of(tank).forecast is None:
        shelf.ask_for_forecast(tank)
    return redirect("forecast", stem=tank.stem)


@require_POST
def open_file(request: HttpRequest) -> HttpResponse:
    """Take a plan file that somebody has."""
    upload = request.FILES.get("plan")
    if upload is None or upload.size is None or upload.size > _MOST_BYTES:
        messages.error(request, _("Choose a plan file; it is a text of less than a megabyte."))
        return redirect("start")
    name = str(upload.name).removesuffix(".toml")
    path = free_path(bootstrap.served().folder, name)
    try:
        keep_first(path, upload.read().decode("utf-8").replace("\r\n", "\n"))
    except UnicodeDecodeError:
        messages.error(request, _("%(name)s is no text in UTF-8.") % {"name": upload.name})
        return redirect("start")
    except InputFaults as refusal:
        for fault in refusal.faults:
            place = f"line {fault.line}, " if fault.line else ""
            key = f"{fault.key}: " if fault.key else ""
            messages.error(request, f"{upload.name}: {place}{key}{fault.message}", extra_tags="english")
        return redirect("start")
    except BackreefError as refusal:
        messages.error(request, str(refusal), extra_tags="english")
        return redirect("start")
    return redirect("plan", stem=path.stem)
