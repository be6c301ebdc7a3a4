"""How many of a grazer the tank feeds, quarter after quarter."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import groupby

import numpy as np

from backreef.judgement.verdict import Band, CrewSeason, CrewSize, Forecast
from backreef.plots.crew import size_words
from backreef.plots.figure import Drawing, Figure, KeyEntry, Table, figure_of, path
from backreef.plots.panel import ground, panel, ticks
from backreef.plots.path import line_path, series_paths
from backreef.plots.pattern import sample
from backreef.plots.scale import nice_ceiling
from backreef.plots.words import UNKNOWN, listed, month_name, percent, spread_words
from backreef.usecases.told_numbers import told_name

_FLAT = "M0 8L34 8"
_QUARTERS = 4
_MANY = 10
_QUARTER_NAMES = ("Jan-Mar", "Apr-Jun", "Jul-Sep", "Oct-Dec")
COLUMNS = ("quarter", "what grows holds, middle (5 to 95 %)", "for a year from then on", "thin for weeks")


def seasons_chart(forecast: Forecast, size: CrewSize) -> Figure:
    """A grazer's number in the plan against what the tank feeds in each quarter."""
    ident = f"crew-{size.animal_id}".replace("_", "-")
    title = f"{size.common_name}: how many the tank feeds, by season"
    words = f"{size_words(size)} {lasting_words(size)}".strip()
    band = _band(forecast, size)
    top = nice_ceiling(max(float(np.nanmax(band.p95, initial=0.0)), size.count * 1.1))

    def draw(ident: str, *, narrow: bool) -> Drawing:
        on = panel(forecast, ident, narrow=narrow, height=96.0 if narrow else 112.0)
        scale = on.scale(0.0, top)
        area, line = series_paths(on.time, scale, (band.p05, band.p50, band.p95))
        planned = np.where(np.isfinite(band.p50), float(size.count), np.nan)
        parts = (
            ground(on),
            ticks(on, scale, about=3 if narrow else 4),
            path(area, class_="area"),
            path(line, class_="line"),
            path(line_path(on.time.middles(), scale.ys(planned)), class_="line-second"),
        )
        return parts, on.size

    return figure_of(
        (ident, title, words),
        draw,
        table=seasons_table(size),
        caption=words,
        ask=told_name(size, "held_count_p50"),
        key=(
            KeyEntry(
                sample=sample(path(_FLAT, class_="line")),
                words="what grows holds: middle of the members, with 5 to 95 %",
            ),
            KeyEntry(sample=sample(path(_FLAT, class_="line-second")), words="as many as the plan has"),
        ),
    )


def seasons_table(size: CrewSize) -> Table:
    """The numbers by quarter."""
    return Table(
        caption=f"{size.common_name}, by quarter",
        columns=COLUMNS,
        rows=tuple(
            (
                season_name(season),
                spread_words((season.held_count_p05, season.held_count_p50, season.held_count_p95)),
                UNKNOWN if season.lasting_count is None else str(season.lasting_count),
                percent(season.starving_share),
            )
            for season in size.seasons
        ),
        asks=tuple(
            (
                "",
                f"{size.animal_id}.held_count@{season.first_on}",
                "" if season.lasting_count is None else f"{size.animal_id}.lasting_count@{season.first_on}",
                told_name(season, "starving_share", within=size.animal_id),
            )
            for season in size.seasons
        ),
    )


def season_name(season: CrewSeason) -> str:
    """Jan to Mar 2028."""
    first, last = season.first_on, season.last_on
    begins = month_name(first.month) + (f" {first.year}" if first.year != last.year else "")
    ends = f"{month_name(last.month)} {last.year}"
    return ends if begins == month_name(last.month) else f"{begins} to {ends}"


def grazer_words(size: CrewSize, arrives_on: date | None) -> str:
    """How many of a grazer the tank feeds, when it starves, and how large a crew may be when.

    Quarters before it comes, and the one in which it does, say nothing: there is what had grown before.
    """
    since = arrives_on or date.min
    settled = replace(size, seasons=tuple(one for one in size.seasons if one.first_on >= since))
    return f"{size_words(size)} {_lasting(settled)}".strip()


def lasting_words(size: CrewSize) -> str:
    """How large a crew finds food for a year, and when that changes; empty where it is not known."""
    told = _lasting(size)
    if not told or not _more(size):
        return told
    return f"{told} The plan has more than the first: let them come in steps, film seen first."


def _lasting(size: CrewSize) -> str:
    told = [f"{count} from {_month(season)}" for count, season in _changes(size)]
    return f"So many find enough for a year from then on: {listed(told)}." if told else ""


def _changes(size: CrewSize) -> Iterator[tuple[int, CrewSeason]]:
    for count, seasons in groupby(size.seasons, key=lambda each: each.lasting_count):
        if count is not None:
            yield count, next(iter(seasons))


def _more(size: CrewSize) -> bool:
    counts = [count for count, _ in _changes(size)]
    return bool(counts) and size.count > counts[0]


def _month(season: CrewSeason) -> str:
    return f"{month_name(season.first_on.month)} {season.first_on.year}"


def _band(forecast: Forecast, size: CrewSize) -> Band:
    """The quarters as days."""
    days = len(forecast.dates)
    p05, p50, p95 = (np.full(days, np.nan) for _ in range(3))
    for season in size.seasons:
        part = slice(
            (season.first_on - forecast.start_on).days, (season.last_on - forecast.start_on).days + 1
        )
        p05[part], p50[part], p95[part] = season.held_count_p05, season.held_count_p50, season.held_count_p95
    return Band(p05=p05, p50=p50, p95=p95)


def years_table(size: CrewSize) -> Table:
    """The same with a row for each year and the four quarters side by side, for a narrow page."""
    rows: dict[int, list[CrewSeason | None]] = {}
    for season in size.seasons:
        middle = season.first_on + (season.last_on - season.first_on) / 2
        rows.setdefault(middle.year, [None] * _QUARTERS)[(middle.month - 1) * _QUARTERS // 12] = season
    return Table(
        caption=size.common_name,
        columns=("year", *_QUARTER_NAMES, "thin"),
        rows=tuple((str(year), *map(_held_words, row), _thin_words(row)) for year, row in rows.items()),
    )


def _held_words(season: CrewSeason | None) -> str:
    if season is None:
        return ""
    if not math.isfinite(season.held_count_p50):
        return "none there"
    low, middle, high = (
        _few(value) for value in (season.held_count_p05, season.held_count_p50, season.held_count_p95)
    )
    return f"{middle} ({low}–{high})"


def _few(count: float) -> str:
    """A number of animals: halves matter below ten."""
    return f"{count:.0f}" if count >= _MANY else f"{count:.1f}".removesuffix(".0")


def _thin_words(row: list[CrewSeason | None]) -> str:
    """The worst quarter of a year."""
    return percent(max(season.starving_share for season in row if season is not None))
