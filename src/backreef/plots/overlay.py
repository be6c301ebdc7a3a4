"""Two plans on one time axis: the first as a pale track, the other drawn over it, balance by balance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import numpy as np

from backreef.judgement.verdict import BalanceName, Band, FloatArray, Forecast, WaterBand
from backreef.judgement.verdict_hands import DAYS_PER_WEEK
from backreef.plots.axis import BORDER, axis_labels, border, year_lines
from backreef.plots.bounds import beside, bound_marks
from backreef.plots.figure import (
    NARROW,
    SMALL,
    TEXT,
    WIDE,
    Drawing,
    Figure,
    KeyEntry,
    Table,
    box,
    figure_of,
    label,
    path,
    rule,
)
from backreef.plots.markup import Safe, element, joined
from backreef.plots.panel import away_columns
from backreef.plots.path import band_path, line_path
from backreef.plots.pattern import away, sample
from backreef.plots.ribbon_data import RibbonData, budget_per_week, ribbon_data
from backreef.plots.scale import TimeScale, ValueScale, nice_ceiling
from backreef.plots.value_range import starts_at_zero, value_range
from backreef.plots.words import (
    BALANCE_TITLES,
    balance_of,
    balance_words,
    capital,
    figure,
    members,
    reading,
    series_words,
    short_date,
    water_band,
)

_LANE, _HEAD, _GAP = 46.0, 16.0, 10.0
_PLAN_ROW = 29.0
"""Height of a plan's own line, with its words above it."""
_GUTTER, _MARGIN = 150.0, 72.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One quantity of both plans, on the same days."""

    balance: BalanceName
    words: str
    unit: str
    first: Band
    other: Band
    bounds: WaterBand | None = None
    limits: tuple[tuple[float, str], ...] = ()
    """Further lines across, with their words."""
    zero: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two forecasts and what they are called."""

    first: Forecast
    other: Forecast
    names: tuple[str, str]

    @property
    def days(self) -> int:
        """Days from the first of either to the last of either."""
        ends = [one.start_on + timedelta(days=len(one.dates)) for one in (self.first, self.other)]
        return (max(ends) - min(self.first.start_on, self.other.start_on)).days

    def laid(self, forecast: Forecast, values: FloatArray) -> FloatArray:
        """Values of a forecast on the days of both; not a number where it has none."""
        start = (forecast.start_on - min(self.first.start_on, self.other.start_on)).days
        laid = np.full(self.days, np.nan)
        laid[start : start + len(values)] = values
        return laid


def overlay(first: Forecast, other: Forecast, names: tuple[str, str], *, ident: str = "overlay") -> Figure:
    """Both plans in one picture; `names` say which is which."""
    pair = Pair(first=first, other=other, names=names)
    lanes = _lanes(pair)
    title = f"{capital(names[1])}, drawn over {names[0]}"
    description = _description(pair)

    def draw(_ident: str, *, narrow: bool) -> Drawing:
        return _drawn(pair, lanes, narrow=narrow)

    return figure_of((ident, title, description), draw, table=_table(pair, lanes), key=_key(names))


def _lanes(pair: Pair) -> list[Lane]:
    one, two = ribbon_data(pair.first), ribbon_data(pair.other)
    lanes = [
        Lane(
            balance="mouths",
            words="condition of the thinnest animal",
            unit="",
            first=_band(pair, pair.first, one.thinnest_low, one.thinnest, one.thinnest),
            other=_band(pair, pair.other, two.thinnest_low, two.thinnest, two.thinnest),
            limits=((1.0, "full"),),
        )
    ]
    if any(one.by_hand_g.any() or one.by_feeder_g.any() for one in (one, two)):
        lanes.append(
            Lane(
                balance="mouths",
                words="food offered, mean of seven days",
                unit="g a day",
                first=_offered(pair, pair.first, one),
                other=_offered(pair, pair.other, two),
            )
        )
    for name in dict.fromkeys(name for data in (two, one) for name, _, _ in data.water):
        if name in pair.first.series and name in pair.other.series:
            bounds = water_band(pair.other, name)
            words, unit = series_words(pair.other, name)
            lanes.append(
                Lane(
                    balance="water",
                    words=words,
                    unit=unit,
                    first=_series(pair, pair.first, name),
                    other=_series(pair, pair.other, name),
                    bounds=bounds,
                    zero=starts_at_zero(name, bounds),
                )
            )
    if all("minutes_per_week" in each.series for each in (pair.first, pair.other)):
        budget = budget_per_week(pair.other)
        lanes.append(
            Lane(
                balance="hands",
                words="minutes a week",
                unit="min",
                first=_weekly(_series(pair, pair.first, "minutes_per_week")),
                other=_weekly(_series(pair, pair.other, "minutes_per_week")),
                limits=((budget, f"{figure(budget)} min"),),
            )
        )
    return lanes


def _offered(pair: Pair, forecast: Forecast, data: RibbonData) -> Band:
    """Food of each day, as the mean of the seven days up to it: meals alone would hide each other."""
    grams = data.by_hand_g + data.by_feeder_g
    days = np.minimum(np.arange(len(grams)) + 1, DAYS_PER_WEEK)
    mean = np.convolve(grams, np.ones(DAYS_PER_WEEK))[: len(grams)] / days
    return _band(pair, forecast, mean, mean, mean)


def _series(pair: Pair, forecast: Forecast, name: str) -> Band:
    band = forecast.series[name]
    return _band(pair, forecast, band.p05, band.p50, band.p95)


def _band(pair: Pair, forecast: Forecast, low: FloatArray, middle: FloatArray, high: FloatArray) -> Band:
    return Band(p05=pair.laid(forecast, low), p50=pair.laid(forecast, middle), p95=pair.laid(forecast, high))


def _weekly(band: Band) -> Band:
    """Only the totals at the end of each week, held for its seven days."""

    def held(values: FloatArray) -> FloatArray:
        whole = len(values) // DAYS_PER_WEEK
        ends = values[DAYS_PER_WEEK - 1 :: DAYS_PER_WEEK]
        kept = np.repeat(ends, DAYS_PER_WEEK)
        return np.concatenate([kept, np.full(len(values) - whole * DAYS_PER_WEEK, np.nan)])

    return Band(p05=held(band.p05), p50=held(band.p50), p95=held(band.p95))


def _drawn(pair: Pair, lanes: list[Lane], *, narrow: bool) -> Drawing:
    left, right = (2.0, NARROW - 2) if narrow else (_GUTTER, WIDE - _MARGIN)
    start = min(pair.first.start_on, pair.other.start_on)
    time = TimeScale(first_on=start, days=pair.days, left=left, right=right)
    parts: list[Safe] = []
    y = 2.0
    for name, forecast, fresh in zip(pair.names, (pair.first, pair.other), (False, True), strict=True):
        y += _PLAN_ROW
        parts.append(_plan_line(forecast, time, y, words=name, fresh=fresh))
    y += 10.0
    for at, lane in enumerate(lanes):
        named = at == 0 or lanes[at - 1].balance != lane.balance
        if named:
            y += 18.0 if narrow else 4.0
            parts.append(_name(pair, lane.balance, y, narrow=narrow))
        parts += [_head(lane, time, y), _lane(pair, lane, time, y + _HEAD, narrow=narrow)]
        y += _HEAD + _LANE + _GAP
    parts += [border(time, y - 2), axis_labels(time, y + BORDER + 11, room=0 if narrow else _MARGIN)]
    return parts, (NARROW if narrow else WIDE, y + BORDER + 18)


def _plan_line(forecast: Forecast, time: TimeScale, y: float, *, words: str, fresh: bool) -> Safe:
    """How long a plan holds, and when animals arrive in it; the plan that is laid over stands out."""
    first = forecast.first_break
    end = time.right if forecast.holds or first is None else time.x(first)
    start = max(time.left, time.x(forecast.start_on))
    line = rule(start, y, max(start, end), y, class_="plan-holds" if fresh else "line-second")
    after = Safe() if end >= time.right else rule(end, y, time.right, y, class_="plan-after")
    dots = [
        element("circle", class_="dot", cx=round(time.x(on), 1), cy=round(y, 1), r=3.5)
        for on in dict.fromkeys(one.on for one in forecast.additions)
        if time.has(on)
    ]
    verdict = "holds" if forecast.holds or first is None else f"breaks {short_date(first)}"
    class_ = "t t-strong" if fresh and forecast.holds else "t t-break" if not forecast.holds else "t t-quiet"
    said = label(f"{capital(words)}: {verdict}", time.left, y - 7, class_=class_, size=TEXT)
    return joined([line, after, *dots, said])


def _name(pair: Pair, balance: BalanceName, y: float, *, narrow: bool) -> Safe:
    verdict = balance_of(pair.other, balance)
    title = BALANCE_TITLES[balance]
    class_ = "t t-strong" if verdict.holds else "t t-break"
    if narrow:
        words = f"{title}: {balance_words(verdict)}"
        return label(words, 2, y - 3, class_="t-name" if verdict.holds else "t t-break", size=TEXT + 1)
    return joined(
        [
            label(title, 0, y + _HEAD + 12, class_="t-name", size=19),
            label(balance_words(verdict), 0, y + _HEAD + 29, class_=class_, size=SMALL),
        ]
    )


def _head(lane: Lane, time: TimeScale, y: float) -> Safe:
    words = f"{lane.words}, {lane.unit}" if lane.unit else lane.words
    return label(words, time.left + 2, y + SMALL, class_="t t-quiet", size=SMALL)


def _lane(pair: Pair, lane: Lane, time: TimeScale, top: float, *, narrow: bool) -> Safe:
    scale = _scale(lane, top)
    first_break = balance_of(pair.other, lane.balance).first_break
    calm = time.right if first_break is None else time.x(first_break)
    x = time.middles()
    was, now = (
        [scale.ys(part) for part in (band.p05, band.p50, band.p95)] for band in (lane.first, lane.other)
    )
    parts = [
        box(time.left, top, calm - time.left, _LANE, class_="calm"),
        box(calm, top, time.right - calm, _LANE, class_="broken"),
        away_columns(pair.other, time, (top, top + _LANE)),
        year_lines(time, top, top + _LANE),
        *bound_marks(time, scale, lane.bounds, words=not narrow),
        path(band_path(x, now[0], now[2]), class_="area"),
        path(band_path(x, was[0], was[2]), class_="was"),
        path(line_path(x, was[1]), class_="line-second"),
        path(line_path(x, now[1]), class_="line"),
    ]
    for value, words in lane.limits:
        if scale.has(value):
            parts.append(rule(time.left, scale.y(value), time.right, scale.y(value), class_="bound-act"))
            parts.append(Safe() if narrow else beside(time, words, scale.y(value) + 4))
    return joined(parts)


def _scale(lane: Lane, top: float) -> ValueScale:
    both = Band(
        p05=np.fmin(lane.first.p05, lane.other.p05),
        p50=lane.other.p50,
        p95=np.fmax(lane.first.p95, lane.other.p95),
    )
    low, high = value_range(both, lane.bounds, zero=lane.zero)
    if lane.limits:
        high = nice_ceiling(max(high, *(1.15 * value for value, _ in lane.limits)))
    return ValueScale(low=low, high=high, bottom=top + _LANE, top=top)


def _description(pair: Pair) -> str:
    said: list[str] = []
    for name, forecast in zip(pair.names, (pair.first, pair.other), strict=True):
        verdict = "holds" if forecast.holds else f"breaks on {short_date(forecast.first_break)}"
        said.append(
            f"{capital(name)}: {verdict}, in {members(forecast.share_holding, forecast.members)} it holds."
        )
    for balance, title in BALANCE_TITLES.items():
        one, two = balance_of(pair.first, balance), balance_of(pair.other, balance)
        if one.share_holding != two.share_holding:
            now = members(two.share_holding, pair.other.members)
            said.append(
                f"{title} holds in {now}, before in {members(one.share_holding, pair.first.members)}."
            )
    return " ".join(said)


def _table(pair: Pair, lanes: list[Lane]) -> Table:
    """Each quantity at its middle and at its end, of both plans."""
    means = tuple(f"{name}, mean of the middle" for name in pair.names)
    ends = tuple(f"{name}, at the end" for name in pair.names)
    rows = tuple(
        (
            f"{lane.words}, {lane.unit}" if lane.unit else lane.words,
            *(_known(band.p50, np.mean) for band in (lane.first, lane.other)),
            *(_known(band.p50, lambda kept: kept[-1]) for band in (lane.first, lane.other)),
        )
        for lane in lanes
    )
    return Table(caption="Both plans in numbers", columns=("quantity", *means, *ends), rows=rows)


def _known(values: FloatArray, of: Callable[[FloatArray], np.floating[Any]]) -> str:
    kept = values[np.isfinite(values)]
    return reading(float(of(kept))) if kept.size else "–"


def _key(names: tuple[str, str]) -> tuple[KeyEntry, ...]:
    was = joined([box(0, 3, 34, 11, class_="was"), path("M0 8H34", class_="line-second")])
    now = joined([box(0, 3, 34, 11, class_="area"), path("M0 8H34", class_="line")])
    return (
        KeyEntry(sample=sample(now), words=f"{names[1]}: the middle, and 5 to 95 % of the members"),
        KeyEntry(sample=sample(was), words=names[0]),
        KeyEntry(sample=sample(element("circle", class_="dot", cx=17, cy=8, r=3.5)), words="animals arrive"),
        KeyEntry(sample=sample(away(0, 1, 34, 14)), words=f"nobody there: {names[1]}"),
    )
