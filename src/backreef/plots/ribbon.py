"""The year ribbon: the three balances as bands on one time axis, unbroken where the plan holds.

On a desk or on paper the whole horizon is one ribbon; on a hand-held screen it is folded, year under year.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from backreef.judgement.verdict import BalanceName, BalanceVerdict, Forecast
from backreef.plots.axis import BORDER, axis_labels, border, year_lines
from backreef.plots.figure import NARROW, SMALL, TEXT, WIDE, Figure, Reading, box, label, picture, rule
from backreef.plots.markup import Safe, element, joined, number
from backreef.plots.measure import BOLDER, lines_of, shortened, text_width
from backreef.plots.panel import away_columns
from backreef.plots.ribbon_data import RibbonData, events_of, ribbon_data
from backreef.plots.ribbon_lanes import (
    ARRIVAL_STEP,
    Stretch,
    arrival_rows,
    arrivals_lane,
    caption,
    meals_caption,
    meals_lane,
    minutes_lane,
    presence_lane,
    thinnest_lane,
    water_caption,
    water_lane,
)
from backreef.plots.ribbon_words import ribbon_description, ribbon_key, ribbon_table
from backreef.plots.scale import TimeScale
from backreef.plots.words import (
    BALANCE_TITLES,
    balance_of,
    balance_words,
    clause,
    figure,
    first_balance,
    horizon_end,
    long_date,
    members,
    short_date,
)
from backreef.units import DAYS_PER_YEAR

_GUTTER = 182.0
_MARGIN = 72.0
_GAP = 9.0
_HEAD = 17.0
_LOW_HEAD = 15.0
_FLAG = 18.0
_POLE = 20.0
_SPILL = 44.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Band:
    name: BalanceName
    top: float
    height: float


def ribbon(forecast: Forecast, readings: Sequence[Reading] = (), *, ident: str = "ribbon") -> Figure:
    """The year ribbon with its words, its table and its numbered events."""
    data = ribbon_data(forecast, readings)
    title = f"Year ribbon of {forecast.plan_name or 'the plan'}"
    description = ribbon_description(data)
    span = (0, len(forecast.dates))
    return Figure(
        id=ident,
        title=title,
        description=description,
        wide=_wide(data, span, ident=f"{ident}-w", title=title, description=description),
        narrow=_folded(data, span, ident=f"{ident}-n", title=title, description=description),
        table=ribbon_table(data),
        key=ribbon_key(data),
        events=events_of(data),
    )


def ribbon_piece(
    forecast: Forecast, readings: Sequence[Reading], first_on: date, last_on: date, *, ident: str = "piece"
) -> Figure:
    """The ribbon from one day to another, first and last included, at the same width."""
    data = ribbon_data(forecast, readings)
    first = max(0, (first_on - forecast.start_on).days)
    last = min(len(forecast.dates), (last_on - forecast.start_on).days + 1)
    title = f"{short_date(forecast.dates[first])} to {short_date(forecast.dates[last - 1])}"
    description = f"The year ribbon from {title}. {ribbon_description(data)}"
    inside = forecast.dates[first:last]
    return Figure(
        id=ident,
        title=title,
        description=description,
        wide=_wide(data, (first, last), ident=f"{ident}-w", title=title, description=description),
        narrow=_folded(data, (first, last), ident=f"{ident}-n", title=title, description=description),
        table=ribbon_table(data, inside),
        key=ribbon_key(data),
        events=tuple(event for event in events_of(data) if inside[0] <= event.on <= inside[-1]),
    )


def _wide(data: RibbonData, span: tuple[int, int], *, ident: str, title: str, description: str) -> Safe:
    forecast, (first, last) = data.forecast, span
    start = forecast.start_on + timedelta(days=first)
    time = TimeScale(first_on=start, days=last - first, left=_GUTTER, right=WIDE - _MARGIN)
    stretch = Stretch(data=data, time=time, first=first, narrow=False)
    top = 66.0
    drawn, bands, bottom = _bands(stretch, top)
    parts = [
        _plan_line(stretch, 30.0),
        axis_labels(time, 52.0, room=_MARGIN),
        border(time, 56.0),
        *drawn,
        joined(_gutter(forecast, band) for band in bands),
        border(time, bottom + 4),
        axis_labels(time, bottom + 4 + BORDER + 13, room=_MARGIN),
        _breaks(stretch, bands, 30.0),
    ]
    return picture(ident, *parts, title=title, description=description, size=(WIDE, bottom + 30))


def _folded(data: RibbonData, span: tuple[int, int], *, ident: str, title: str, description: str) -> Safe:
    total = span[1] - span[0]
    folds = max(1, round(total / DAYS_PER_YEAR)) if total > 1.25 * DAYS_PER_YEAR else 1
    edges = [span[0] + round(i * total / folds) for i in range(folds + 1)]
    parts: list[Safe] = []
    y = 0.0
    for fold, (first, last) in enumerate(pairwise(edges)):
        start = data.forecast.start_on + timedelta(days=first)
        time = TimeScale(first_on=start, days=last - first, left=2.0, right=NARROW - 2)
        stretch = Stretch(data=data, time=time, first=first, narrow=True)
        heading = f"Year {fold + 1}: " if folds > 1 else ""
        words = f"{heading}{short_date(start)} to {short_date(time.last_on)}"
        parts.append(label(words, 2, y + 13, class_="t t-strong", size=TEXT))
        line = y + (44 if time.has(data.forecast.first_break) else 25)
        drawn, bands, bottom = _bands(stretch, line + 28)
        parts += [
            _plan_line(stretch, line),
            axis_labels(time, line + 17, size=SMALL - 1),
            border(time, line + 21),
            *drawn,
            _breaks(stretch, bands, line),
        ]
        y = bottom + 24
    return picture(ident, *parts, title=title, description=description, size=(NARROW, y - 16))


def _bands(stretch: Stretch, top: float) -> tuple[list[Safe], list[_Band], float]:
    """The three bands from a top edge: what is drawn, where each stands, and the lower edge."""
    narrow = stretch.narrow
    rows = arrival_rows(stretch)
    meals, thin, water, bars = (24.0, 26.0, 30.0, 32.0) if narrow else (36.0, 38.0, 40.0, 50.0)
    lanes = max(len(stretch.data.water), 1)
    heights: tuple[tuple[BalanceName, float], ...] = (
        ("mouths", rows * ARRIVAL_STEP + 2 * _HEAD + meals + thin + 9),
        ("water", lanes * (water + _LOW_HEAD) + 5),
        ("hands", _HEAD + bars + 14),
    )
    bands: list[_Band] = []
    y = top
    for name, height in heights:
        if narrow or stretch.time.has(balance_of(stretch.data.forecast, name).first_break):
            y += _POLE if name == "mouths" else _POLE - _GAP
        bands.append(_Band(name=name, top=y, height=height))
        y += height + _GAP
    bottom = y - _GAP
    drawn = [_ground(stretch, band) for band in bands]
    forecast, time = stretch.data.forecast, stretch.time
    drawn += [away_columns(forecast, time, (band.top, band.top + band.height)) for band in bands]
    drawn += [year_lines(stretch.time, band.top, band.top + band.height) for band in bands]
    drawn.append(_mouths(stretch, bands[0].top, (rows, meals, thin)))
    for i, row in enumerate(stretch.data.water):
        lane = bands[1].top + 1 + i * (water + _LOW_HEAD)
        drawn += [
            caption(stretch, water_caption(stretch, row), lane),
            water_lane(stretch, lane + _LOW_HEAD, water, row),
        ]
    drawn.append(_hands(stretch, bands[2].top, bars))
    if narrow:
        drawn += [_name(stretch, band) for band in bands]
    return drawn, bands, bottom


def _name(stretch: Stretch, band: _Band) -> Safe:
    """The balance above its band, unless a flag says it there."""
    if stretch.time.has(balance_of(stretch.data.forecast, band.name).first_break):
        return Safe()
    return label(BALANCE_TITLES[band.name], stretch.time.left, band.top - 5, class_="t-name", size=TEXT + 2)


def _mouths(stretch: Stretch, top: float, heights: tuple[int, float, float]) -> Safe:
    rows, meals, thin = heights
    y = top + 2 + rows * ARRIVAL_STEP
    thin_top = y + 2 * _HEAD + meals + 2
    lowest = stretch.data.thinnest_words
    words = "condition of the thinnest animal" + (
        f" (lowest: {lowest})" if lowest and not stretch.narrow else ""
    )
    return joined(
        [
            arrivals_lane(stretch, top + 2, rows) if rows else Safe(),
            caption(stretch, meals_caption(stretch.data), y + 1),
            meals_lane(stretch, y + _HEAD, meals),
            caption(stretch, words, thin_top - _HEAD),
            thinnest_lane(stretch, thin_top, thin),
        ]
    )


def _hands(stretch: Stretch, top: float, bars: float) -> Safe:
    budget = f"{figure(stretch.data.budget_per_week)}"
    words = f"minutes a week against {budget}; below: days with somebody there"
    return joined(
        [
            caption(stretch, words, top + 2),
            minutes_lane(stretch, top + _HEAD, bars),
            presence_lane(stretch, top + _HEAD + bars + 4, 6),
        ]
    )


def _ground(stretch: Stretch, band: _Band) -> Safe:
    """The water of a band: calm up to its first break, troubled after it."""
    time = stretch.time
    first = balance_of(stretch.data.forecast, band.name).first_break
    calm = time.right if first is None else time.x(first)
    return joined(
        [
            box(time.left, band.top, calm - time.left, band.height, class_="calm"),
            box(calm, band.top, time.right - calm, band.height, class_="broken"),
        ]
    )


def _plan_line(stretch: Stretch, y: float) -> Safe:
    """One heavy line along the horizon: unbroken while the plan holds, cut where it first breaks."""
    time, forecast = stretch.time, stretch.data.forecast
    first = forecast.first_break
    if forecast.holds or first is None or first > time.last_on:
        parts = [rule(time.left, y, time.right, y, class_="plan-holds")]
        if not stretch.narrow and forecast.holds:
            words = f"holds to the end, {long_date(horizon_end(forecast))}"
            parts.append(label(words, time.right, y - 9, class_="t t-strong", size=TEXT + 1, anchor="end"))
        return joined(parts)
    if first < time.first_on:
        return rule(time.left, y, time.right, y, class_="plan-after")
    x = time.x(first)
    return joined(
        [
            rule(time.left, y, max(time.left, x - 5), y, class_="plan-holds"),
            rule(x + 5, y, time.right, y, class_="plan-after"),
            _cross(x, y),
            _first_words(stretch, x, y),
        ]
    )


def _first_words(stretch: Stretch, x: float, y: float) -> Safe:
    forecast, time = stretch.data.forecast, stretch.time
    balance = first_balance(forecast)
    where = f" · {BALANCE_TITLES[balance.name]}" if balance else ""
    words = f"breaks {short_date(forecast.first_break)}{where}"
    if not stretch.narrow and forecast.first_break_cause:
        words += f": {clause(forecast.first_break_cause)}"
    size = TEXT if stretch.narrow else TEXT + 1
    right = time.right + (0 if stretch.narrow else _MARGIN)
    fitting = shortened(words, size=size * BOLDER, room=right - time.left)
    wide = text_width(fitting, size, bold=True)
    return label(fitting, max(time.left, min(x - 6, right - wide)), y - 11, class_="t t-break", size=size)


def _cross(x: float, y: float, reach: float = 5.5) -> Safe:
    d = f"M{number(x - reach)} {number(y - reach)}L{number(x + reach)} {number(y + reach)}"
    d += f"M{number(x - reach)} {number(y + reach)}L{number(x + reach)} {number(y - reach)}"
    return element("path", class_="cross", d=d)


def _breaks(stretch: Stretch, bands: Sequence[_Band], line: float) -> Safe:
    """An upright line where each balance first breaks, with a flag that says so."""
    parts: list[Safe] = []
    forecast, time = stretch.data.forecast, stretch.time
    earliest = forecast.first_break
    if earliest is not None and time.has(earliest):
        x = time.x(earliest)
        parts.append(rule(x, line + 6, x, bands[-1].top + bands[-1].height, class_="break-thin"))
    for band in bands:
        verdict = balance_of(forecast, band.name)
        if verdict.holds or not time.has(verdict.first_break) or verdict.first_break is None:
            continue
        x = time.x(verdict.first_break)
        parts.append(rule(x, band.top - _POLE + 1, x, band.top + band.height, class_="break-line"))
        words = f"{BALANCE_TITLES[band.name]} breaks {short_date(verdict.first_break)}"
        parts.append(_flag(stretch, x, band.top - _POLE + 1, words))
    return joined(parts)


def _flag(stretch: Stretch, x: float, y: float, words: str) -> Safe:
    wide = text_width(words, SMALL, bold=True) + 16
    way = 1 if stretch.time.right - x >= min(wide, x - stretch.time.left) else -1
    tip, notch = x + way * wide, x + way * (wide - 6)
    corners = ((x, y), (tip, y), (notch, y + _FLAG / 2), (tip, y + _FLAG), (x, y + _FLAG))
    points = " ".join(f"{number(a)},{number(b)}" for a, b in corners)
    anchor = "start" if way > 0 else "end"
    return joined(
        [
            element("polygon", class_="flag", points=points),
            label(words, x + way * 5, y + 13, class_="flag-text", size=SMALL, anchor=anchor),
        ]
    )


def _gutter(forecast: Forecast, band: _Band) -> Safe:
    """Name of a balance, whether it holds, in how many members, and why not."""
    verdict = balance_of(forecast, band.name)
    room = _GUTTER - 16
    y = band.top + 17
    class_ = "t t-strong" if verdict.holds else "t t-break"
    parts = [
        label(BALANCE_TITLES[band.name], 0, y, class_="t-name", size=21),
        _glyph(verdict, 0, y + 13),
        label(balance_words(verdict), 34, y + 17, class_=class_, size=TEXT),
    ]
    y += 33
    words = f"holds in {members(verdict.share_holding, forecast.members)}"
    most = max(int((band.top + band.height + (_SPILL if band.name == "hands" else 0) - y) / 13.5), 1)
    lines = lines_of(words, size=SMALL, room=room, most=2)
    if verdict.cause:
        lines += lines_of(clause(verdict.cause), size=SMALL, room=room, most=4)
    parts += [
        label(line, 0, y + 13.5 * i, class_="t t-quiet", size=SMALL) for i, line in enumerate(lines[:most])
    ]
    return joined(parts)


def _glyph(verdict: BalanceVerdict, x: float, y: float) -> Safe:
    """An unbroken line for holds, a line cut by a cross for breaks."""
    if verdict.holds:
        return rule(x, y, x + 27, y, class_="plan-holds")
    return joined(
        [
            rule(x, y, x + 9, y, class_="plan-holds"),
            _cross(x + 14, y, 4.0),
            rule(x + 19, y, x + 27, y, class_="plan-after"),
        ]
    )
