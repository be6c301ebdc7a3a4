"""One quantity over the horizon with its band and its bounds."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backreef.judgement.verdict import Band, Forecast, WaterBand
from backreef.judgement.water import days_outside
from backreef.plots.bounds import bound_marks, over_edge
from backreef.plots.figure import Drawing, Figure, Reading, Table, figure_of, path
from backreef.plots.markup import Safe, element
from backreef.plots.months import Span, month_asked, months, span_band, whole_asked
from backreef.plots.panel import Panel, ground, panel, ticks
from backreef.plots.path import series_paths
from backreef.plots.ribbon_data import harmed_days
from backreef.plots.scale import ValueScale
from backreef.plots.value_range import starts_at_zero, value_range
from backreef.plots.words import (
    bound_words,
    capital,
    month_name,
    plural,
    reading,
    series_words,
    short_date,
    spread_words,
    water_band,
)


def series_chart(
    forecast: Forecast, series: str, readings: Sequence[Reading] = (), *, ident: str = ""
) -> Figure:
    """A quantity of the forecast by its series name, with what was measured of it."""
    ident = ident or f"series-{series.replace('_', '-')}"
    band, bounds = forecast.series[series], water_band(forecast, series)
    words, unit = series_words(forecast, series)
    title = f"{capital(words)}, {unit}" if unit else capital(words)
    description = series_description(forecast, series)
    mine = [r for r in readings if r.series == series]

    def draw(ident: str, *, narrow: bool) -> Drawing:
        on = panel(forecast, ident, narrow=narrow, height=96.0 if narrow else 112.0)
        return _drawn(on, band, bounds, mine, zero=starts_at_zero(series, bounds)), on.size

    return figure_of(
        (ident, title, description),
        draw,
        table=_table(forecast, series, bounds, title),
        caption=description,
        ask=whole_asked(series, forecast.dates),
    )


def series_description(forecast: Forecast, series: str) -> str:
    """A quantity's course in two sentences."""
    band, bounds = forecast.series[series], water_band(forecast, series)
    known = np.flatnonzero(np.isfinite(band.p50))
    if not known.size:
        return "Nothing is known of it."
    first, last = int(known[0]), int(known[-1])
    most = int(known[np.argmax(band.p50[known])])
    words = f"In the middle of the members {reading(float(band.p50[first]))} at the start, "
    words += f"{reading(float(band.p50[last]))} at the end, "
    words += f"at most {reading(float(band.p50[most]))} on {short_date(forecast.dates[most])}."
    if bounds is None:
        return words
    harmed = harmed_days(band.p50, bounds)
    acted = _outside(band, bounds)
    told = f"outside its act bounds on {plural(acted, 'day')}" if acted else "never outside its act bounds"
    told += f", of these {harmed} outside the harm bounds" if harmed else ""
    return f"{words} It is {told} ({bound_words(bounds)})."


def _drawn(
    on: Panel, band: Band, bounds: WaterBand | None, readings: Sequence[Reading], *, zero: bool
) -> list[Safe]:
    low, high = value_range(band, bounds, zero=zero)
    scale = on.scale(low, high)
    area, line = series_paths(on.time, scale, (band.p05, band.p50, band.p95))
    return [
        ground(on),
        ticks(on, scale, about=3 if on.narrow else 4),
        *bound_marks(on.time, scale, bounds),
        path(area, class_="area"),
        path(line, class_="line"),
        over_edge(on.time, scale, band.p50),
        *_readings(on, scale, readings),
    ]


def _readings(on: Panel, scale: ValueScale, readings: Sequence[Reading]) -> list[Safe]:
    return [
        element("circle", class_="reading", r=3, cx=round(on.time.x(r.on), 1), cy=round(scale.y(r.value), 1))
        for r in readings
        if on.time.has(r.on) and np.isfinite(r.value)
    ]


def _table(forecast: Forecast, series: str, bounds: WaterBand | None, title: str) -> Table:
    band = forecast.series[series]
    columns = ("month", "middle (5 to 95 %)", "days outside act", "days outside harm")
    rows = tuple(_row(band, bounds, span) for span in months(forecast.dates))
    wide = columns if bounds is not None else columns[:2]
    asked = (series, f"{series}.days_outside_act", f"{series}.days_outside_harm")
    return Table(
        caption=f"{title}, by month",
        columns=wide,
        rows=tuple(row[: len(wide)] for row in rows),
        asks=tuple(
            ("", *(month_asked(name, span) for name in asked))[: len(wide)] for span in months(forecast.dates)
        ),
    )


def _row(band: Band, bounds: WaterBand | None, span: Span) -> tuple[str, ...]:
    piece = Band(p05=band.p05[span.part], p50=band.p50[span.part], p95=band.p95[span.part])
    days = (
        (str(_outside(piece, bounds)), str(harmed_days(piece.p50, bounds)))
        if bounds is not None
        else ("", "")
    )
    return (f"{month_name(span.on.month)} {span.on.year}", spread_words(span_band(band, span)), *days)


def _outside(band: Band, bounds: WaterBand) -> int:
    """Days on which the middle of the members stands outside the bounds to act."""
    return days_outside(band.p50, bounds.act_low, bounds.act_high)
