"""What pages show of a forecast, drawn by the worker as soon as it is there, or when somebody first looks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django.urls import reverse
from django.utils.translation import gettext_lazy as _lazy

from backreef.plots.markup import Safe, element, joined
from backreef.plots.small_ribbon import small_ribbon
from backreef.reports import html_sections as sections
from backreef.reports.html_parts import WhyPage, asked
from backreef.reports.words import certainty, headline, reason
from backreef.usecases.told_numbers import told_name
from backreef.web import jobs
from backreef.web import tanks as shelf
from backreef.web.drawn import drawn, shown_readings

if TYPE_CHECKING:
    from backreef.judgement.verdict import Forecast
    from backreef.plots.figure import Reading
    from backreef.usecases.plan_desk import PlanFile
    from backreef.web.models import Job

PARTS = {
    "findings": _lazy("Findings"),
    "water": _lazy("Water"),
    "mouths": _lazy("Mouths"),
    "hands": _lazy("Hands"),
    "sure": _lazy("How sure"),
}
_WITHOUT_READINGS = frozenset({"mouths", "hands", "sure"})


def card(job: Job, tank: PlanFile) -> Safe | None:
    """The verdict of a forecast with its ribbon in small; None where the forecast is gone."""
    if not jobs.has_answer(job):
        return None
    mark = shelf.mark_of(tank)

    def draw() -> str:
        forecast = shelf.forecast_of(job)
        return "" if forecast is None else _card(forecast, tank, ident=f"tank-{job.pk}")

    return drawn(job, "card", (mark,), draw) or None


def part_of(job: Job, forecast: Forecast, readings: Sequence[Reading], part: str) -> Safe:
    """A part of a forecast."""
    shown = () if part in _WITHOUT_READINGS else readings
    why = why_page(job.stem)
    return drawn(job, part, (shown_readings(shown),), lambda: _part(forecast, shown, part, why))


def draw_all(job: Job, tank: PlanFile) -> None:
    """Draw everything of a forecast that has just been found."""
    forecast = shelf.forecast_of(job)
    if forecast is not None:
        card(job, tank)
        readings = shelf.readings_of(tank, forecast.start_on)
        for part in PARTS:
            part_of(job, forecast, readings, part)


def _card(forecast: Forecast, tank: PlanFile, *, ident: str) -> Safe:
    picture = small_ribbon(forecast, shelf.readings_of(tank, forecast.start_on), ident=ident)
    title = element("strong", headline(forecast), class_=None if forecast.holds else "breaks")
    why = "" if forecast.holds else f" {reason(forecast)}"
    sure = asked(certainty(forecast), told_name(forecast, "share_holding"), why_page(tank.stem))
    wide = element("div", picture.wide, class_="for-wide")
    narrow = element("div", picture.narrow, class_="for-narrow")
    return joined(
        [
            element("p", title, why, class_="verdict"),
            element("p", sure, class_="quiet small"),
            element("div", wide, narrow, class_="picture"),
        ]
    )


def why_page(stem: str) -> WhyPage:
    """Where the numbers of a tank's forecast are worked out."""
    return WhyPage(reverse("why", args=[stem]))


def _part(found: Forecast, readings: Sequence[Reading], part: str, why: WhyPage) -> Safe:
    if part == "water":
        return sections.water(found, readings, why)
    if part == "mouths":
        shown = (sections.mouths, sections.additions, sections.crew)
        return joined([one(found, why) for one in shown])
    if part == "hands":
        return sections.hands(found, why)
    if part == "sure":
        sure = (sections.sureness(found, why), sections.doors(found, why))
        return joined([*sure, sections.assumptions(found)])
    troubles = sections.findings(found, noted=False, told=why)
    return joined([sections.head(found, readings, why), troubles, sections.cautions(found, why)])
