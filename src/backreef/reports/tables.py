"""Tables that the page and the report both show."""

from __future__ import annotations

import numpy as np

from backreef.judgement.verdict import Band, Forecast, WaterBand
from backreef.plots.figure import Table
from backreef.plots.flux import ELEMENTS, ordered, remaining
from backreef.plots.months import Span, quarter_asked, quarters, span_band
from backreef.plots.words import UNKNOWN, figure, month_name, percent, reading, spread_words
from backreef.units import unit_words
from backreef.usecases.told_numbers import told_name

OVER_ACT = "!"
OVER_HARM = "!!"


def water_rows(forecast: Forecast) -> list[WaterBand]:
    """The bounded quantities that the forecast has a series for."""
    return [band for band in forecast.water_bands if band.series in forecast.series]


def quarter_name(forecast: Forecast, span: Span) -> str:
    """2027 Apr-Jun."""
    until = forecast.dates[span.last - 1]
    same = span.on.month == until.month
    months = month_name(span.on.month) if same else f"{month_name(span.on.month)}–{month_name(until.month)}"
    return f"{span.on.year} {months}"


def water_by_quarter(forecast: Forecast) -> Table:
    """Each bounded quantity quarter by quarter: middle, band, and marks where a bound is passed."""
    bands = water_rows(forecast)
    rows = tuple(
        (quarter_name(forecast, span), *(water_cell(forecast.series[b.series], b, span) for b in bands))
        for span in quarters(forecast.dates)
    )
    caption = "Water by season: middle of the members (lowest 5 % to highest 95 %)"
    return Table(
        caption=caption,
        columns=("season", *(f"{b.label}, {unit_words(b.unit)}" for b in bands)),
        rows=rows,
        asks=tuple(
            ("", *(quarter_asked(b.series, span) for b in bands)) for span in quarters(forecast.dates)
        ),
    )


def water_at_the_end(forecast: Forecast) -> Table:
    """Each bounded quantity on the last day, in the middle of the members."""
    bands = water_rows(forecast)
    last = forecast.dates[-1] if forecast.dates else None
    return Table(
        caption=f"Water at the end, {last}: middle of the members",
        columns=("quantity", "unit", "value"),
        rows=tuple((b.label, unit_words(b.unit), reading(forecast.series[b.series].p50[-1])) for b in bands),
        asks=tuple(("", "", f"{b.series}@{last}") for b in bands),
    )


def water_cell(band: Band, bounds: WaterBand, span: Span) -> str:
    """Middle and band of a quantity in a span, with its mark."""
    return f"{spread_words(span_band(band, span))} {bound_mark(band, bounds, span)}".rstrip()


def bound_mark(band: Band, bounds: WaterBand, span: Span) -> str:
    """Nothing inside the bounds, ! outside the act bounds, !! outside the harm bounds, by the middle."""
    values = band.p50[span.part]
    values = values[np.isfinite(values)]
    for low, high, mark in (
        (bounds.harm_low, bounds.harm_high, OVER_HARM),
        (bounds.act_low, bounds.act_high, OVER_ACT),
    ):
        above = high is not None and bool((values > high).any())
        below = low is not None and bool((values < low).any())
        if above or below:
            return mark
    return ""


def meals_table(forecast: Forecast) -> Table:
    """The meals: by whom, on how many days, how much, and how much of it is eaten."""
    rows = []
    for meal in forecast.meals:
        given = meal.grams_as_fed_per_day
        rows.append(
            (
                meal.label,
                meal.by,
                f"{meal.given_days or 0} of {given.size}",
                "–" if meal.given_g_per_d is None else f"{reading(meal.given_g_per_d)} g",
                percent(meal.eaten_share_p50),
            )
        )
    columns = ("meal", "by", "days with it", "a day, as fed", "is eaten")
    asks = tuple(
        ("", "", told_name(m, "given_days"), told_name(m, "given_g_per_d"), told_name(m, "eaten_share_p50"))
        for m in forecast.meals
    )
    return Table(caption="Meals of the plan", columns=columns, rows=tuple(rows), asks=asks)


def flux_table(forecast: Forecast) -> Table:
    """The doors by element, g a month; in is positive, out is negative."""
    doors: dict[str, dict[str, float]] = {}
    for line in ordered(list(forecast.fluxes)):
        doors.setdefault(line.door, {})[line.element] = line.g_per_month_p50
    rows = [
        (door, *(_signed(amounts.get(element)) for element, _ in ELEMENTS)) for door, amounts in doors.items()
    ]
    if rows:
        totals = [[line for line in forecast.fluxes if line.element == element] for element, _ in ELEMENTS]
        rows.append(("left in the tank", *(_signed(remaining(t)) if t else "–" for t in totals)))
    columns = ("door", *(f"{name}, g {element}" for element, name in ELEMENTS))
    return Table(caption="Doors in and out, g of the element a month", columns=columns, rows=tuple(rows))


def _signed(g_per_month: float | None) -> str:
    if g_per_month is None:
        return "–"
    words = figure(g_per_month)
    return f"+{words}" if g_per_month > 0 and words != UNKNOWN else words
