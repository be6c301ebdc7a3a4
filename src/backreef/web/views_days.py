"""A season of the forecast at full width, and a day of it: what is eaten, done and measured."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from math import isfinite
from typing import TYPE_CHECKING

from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.dates import MONTHS as MONTH_NAMES
from django.utils.dates import MONTHS_3, WEEKDAYS, WEEKDAYS_ABBR
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from backreef.aquarium.phrases import write_hour
from backreef.catalogue.load import load_catalogue
from backreef.logbook.store import Wanted
from backreef.plots.living import energy_met_of
from backreef.plots.ribbon import ribbon_piece
from backreef.plots.words import capital, percent, reading, spread_words
from backreef.reports.html_parts import WhyPage, figure
from backreef.units import unit_words
from backreef.usecases.day_book import Day, DayBook
from backreef.usecases.plan_desk import catalogue_beside, text_of
from backreef.usecases.plan_form import document_of
from backreef.usecases.why import daily_series, is_fed
from backreef.web import bootstrap, jobs
from backreef.web import tanks as shelf
from backreef.web.drawn import drawn, shown_readings
from backreef.web.pieces import why_page
from backreef.web.views_log import said_of
from backreef.working.steps import InItsUnit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.http import HttpRequest, HttpResponse

    from backreef.judgement.verdict import Forecast, WaterBand
    from backreef.plots.figure import Reading
    from backreef.usecases.plan_desk import PlanFile
    from backreef.web.models import Job
    from backreef.web.views_log import Said

MONTHS = 3
WHOLE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A day of a month to be chosen."""

    on: date
    inside: bool
    """Whether the forecast has it."""
    marks: str
    """What is special about it, in words."""
    away: bool
    arrival: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A quantity of the water on a day."""

    label: str
    unit: str
    words: str
    state: str
    """'act' or 'harm' where the middle of the members stands outside of such a bound."""
    asked: str
    """What to ask why; empty where it cannot be asked."""
    read: tuple[str, ...]
    """What was measured on the day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Eater:
    """An animal on a day."""

    name: str
    condition: str
    fed: str
    ident: str
    """Its entry's id in the plan; empty where its numbers cannot be asked."""
    asked: bool
    """Whether it is known what it got."""


def season_of(on: date) -> date:
    """The first day of the quarter that a day lies in."""
    return date(on.year, on.month - (on.month - 1) % MONTHS, 1)


def seasons(forecast: Forecast) -> list[date]:
    """The first day of each quarter that a forecast touches."""
    found = [season_of(forecast.start_on)]
    while (after := _months_on(found[-1], MONTHS)) <= forecast.dates[-1]:
        found.append(after)
    return found


def season_words(first: date) -> str:
    """Jul to Sep 2027."""
    months = {"first": str(MONTHS_3[first.month]).capitalize()}
    months["last"] = str(MONTHS_3[first.month + MONTHS - 1]).capitalize()
    return _("%(first)s to %(last)s %(year)s") % {**months, "year": first.year}


def _months_on(on: date, count: int) -> date:
    months = on.year * 12 + on.month - 1 + count
    return date(months // 12, months % 12 + 1, 1)


@require_GET
def season(request: HttpRequest, stem: str, year: int, month: int) -> HttpResponse:
    """Three months of the ribbon at full width, with their days to choose from."""
    tank = shelf.tank_of(stem)
    job, forecast = _found(tank)
    if job is None or forecast is None:
        return redirect("forecast", stem=stem)
    all_seasons = seasons(forecast)
    if not 1 <= month <= 12 or date(year, month, 1) not in all_seasons:  # noqa: PLR2004  months of a year
        raise Http404
    first = date(year, month, 1)
    at = all_seasons.index(first)
    last = _months_on(first, MONTHS) - WHOLE_DAY
    readings = shelf.readings_of(tank, forecast.start_on)
    shows = (first.isoformat(), shown_readings([one for one in readings if first <= one.on <= last]))
    about = {
        "tank": tank,
        "here": "forecast",
        "title": season_words(first),
        "picture": drawn(
            job, "season", shows, lambda: _piece(forecast, readings, (first, last), why_page(stem))
        ),
        "months": [_month(forecast, _months_on(first, number)) for number in range(MONTHS)],
        "before": all_seasons[at - 1] if at else None,
        "after": all_seasons[at + 1] if at + 1 < len(all_seasons) else None,
        "seasons": [(one, season_words(one)) for one in all_seasons],
        "first": max(first, forecast.start_on),
        "days": (min(last, forecast.dates[-1]) - max(first, forecast.start_on)).days + 1,
        "now": first,
        "weekdays": [(str(WEEKDAYS_ABBR[number])[:2], WEEKDAYS[number]) for number in WEEKDAYS],
        "current": shelf.is_current(job, tank),
    }
    return render(request, "web/season.html", about)


def _piece(forecast: Forecast, readings: Sequence[Reading], days: tuple[date, date], why: WhyPage) -> str:
    return figure(ribbon_piece(forecast, readings, *days, ident="season"), heading="", told=why)


def _month(forecast: Forecast, first: date) -> dict[str, object]:
    weeks = calendar.Calendar().monthdatescalendar(first.year, first.month)
    arrivals = {one.on for one in forecast.additions}
    cells = [
        [_cell(forecast, on, arrivals) if on.month == first.month else None for on in week] for week in weeks
    ]
    return {"title": f"{MONTH_NAMES[first.month]} {first.year}", "weeks": cells}


def _cell(forecast: Forecast, on: date, arrivals: set[date]) -> Cell:
    inside = forecast.start_on <= on <= forecast.dates[-1]
    away = any(one.first_on <= on <= one.last_on for one in forecast.away)
    marks = [
        words for words, true in ((_("animals arrive"), on in arrivals), (_("nobody there"), away)) if true
    ]
    return Cell(on=on, inside=inside, marks=", ".join(marks), away=away, arrival=on in arrivals)


@require_GET
def day(request: HttpRequest, stem: str, on: date) -> HttpResponse:
    """One day of the forecast; alone, or as a piece of the page of its season."""
    tank = shelf.tank_of(stem)
    job, forecast = _found(tank)
    if job is None or forecast is None:
        return redirect("forecast", stem=stem)
    if not forecast.start_on <= on <= forecast.dates[-1]:
        raise Http404
    index = (on - forecast.start_on).days
    book = jobs.beside(job, DayBook)
    about = {
        "tank": tank,
        "here": "forecast",
        "on": on,
        "title": f"{WEEKDAYS[on.weekday()]}, {date_format(on, 'DATE_FORMAT')}",
        "season": season_of(on),
        "season_words": season_words(season_of(on)),
        "before": on - WHOLE_DAY if on > forecast.start_on else None,
        "after": on + WHOLE_DAY if on < forecast.dates[-1] else None,
        "present": bool(forecast.present[index]),
        "arrivals": [one for one in forecast.additions if one.on == on],
        "known": book is not None,
        **_fed_and_done(book.of(on) if book is not None else None),
        "eaters": _eaters(forecast, index, _fed_ids(tank)),
        "water": _water(forecast, index, shelf.readings_of(tank, on), on),
        "logged": _logged(tank, on),
        "current": shelf.is_current(job, tank),
    }
    part = request.headers.get("HX-Request") == "true"
    about |= {"part": part, "level": "h4" if part else "h2"}
    return render(request, "web/_day.html" if part else "web/day.html", about)


def _found(tank: PlanFile) -> tuple[Job | None, Forecast | None]:
    job = jobs.latest(jobs.FORECAST, tank.stem)
    return job, None if job is None else shelf.forecast_of(job)


def _fed_and_done(found: Day | None) -> dict[str, object]:
    if found is None:
        return {"meals": [], "done": [], "looks": [], "grams": "", "minutes": ""}
    meals = [
        {
            "hour": write_hour(one.hour),
            "what": one.food,
            "grams": reading(one.food_g),
            "by": _("by hand")
            if one.by == "hand"
            else _("by %(feeder)s") % {"feeder": one.by.replace("_", " ")},
        }
        for one in found.meals
    ]
    done = [
        {"hour": write_hour(one.hour), "one": one, "minutes": f"{one.minutes:.0f}"}
        for one in found.done
        if not one.look
    ]
    minutes = sum(one.minutes for one in found.done if one.counted)
    return {
        "meals": meals,
        "done": done,
        "looks": [one.name for one in found.done if one.look],
        "grams": number_format(reading(sum(one.food_g for one in found.meals))),
        "minutes": f"{minutes:.0f}",
    }


def _fed_ids(tank: PlanFile) -> frozenset[str]:
    """Entries of the plan as it stands that can be asked how they are fed."""
    text = text_of(tank.path)
    catalogue = catalogue_beside(text, tank.path)
    entries = document_of(text).get("animals", [])
    return frozenset(
        str(one.get("id", one.get("species")))
        for one in entries
        if is_fed(str(one.get("species")), catalogue)
    )


def _eaters(forecast: Forecast, index: int, fed_ids: frozenset[str]) -> list[Eater]:
    rows = []
    for one in forecast.animals:
        band = one.condition
        middle = float(band.p50[index])
        later = one.arrives_on is not None and forecast.dates[index] < one.arrives_on
        if later or not isfinite(middle):
            continue
        spread = (float(band.p05[index]), middle, float(band.p95[index]))
        fed = float(energy_met_of(forecast, one).p50[index])
        rows.append(
            Eater(
                name=one.common_name,
                condition=spread_words(spread),
                fed=percent(fed),
                ident=one.id if one.id in fed_ids else "",
                asked=one.id in fed_ids and isfinite(fed),
            )
        )
    return rows


def _water(forecast: Forecast, index: int, readings: Sequence[Reading], on: date) -> list[Quantity]:
    askable = frozenset(daily_series())
    rows = []
    for bounds in forecast.water_bands:
        band = forecast.series.get(bounds.series)
        if band is None:
            continue
        middle = float(band.p50[index])
        spread = (float(band.p05[index]), middle, float(band.p95[index]))
        rows.append(
            Quantity(
                label=capital(bounds.label),
                unit=unit_words(bounds.unit),
                words=spread_words(spread),
                state=_state(middle, bounds),
                asked=f"{bounds.series}@{on.isoformat()}" if bounds.series in askable else "",
                read=tuple(
                    reading(one.value) for one in readings if one.series == bounds.series and one.on == on
                ),
            )
        )
    return rows


def _state(value: InItsUnit, bounds: WaterBand) -> str:
    for state, low, high in (
        ("harm", bounds.harm_low, bounds.harm_high),
        ("act", bounds.act_low, bounds.act_high),
    ):
        if (low is not None and value < low) or (high is not None and value > high):
            return state
    return ""


def _logged(tank: PlanFile, on: date) -> list[Said]:
    store = bootstrap.log_store()
    if store is None:
        return []
    start = datetime.combine(on, time(), tzinfo=UTC)
    around = Wanted(tank=tank.tank, since=start - WHOLE_DAY, until=start + 2 * WHOLE_DAY)
    entries = [one for one in store.entries(around) if one.at.date() == on]
    return said_of(entries, load_catalogue())
