"""The year ribbon in letters: a row per balance, low where it is at ease, full where it is at its bound."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from itertools import pairwise

import numpy as np

from backreef.judgement.verdict import BalanceName, Band, FloatArray, Forecast, WaterBand
from backreef.plots.absence import long_absences
from backreef.plots.ribbon_data import RibbonData, ribbon_data
from backreef.plots.scale import month_starts
from backreef.plots.value_range import ease_above, ease_below
from backreef.plots.words import BALANCE_TITLES, balance_of
from backreef.reports.text_layout import Style, padded

_LABEL = 8
_LEVELS = "▁▂▃▄▅▆▇█"
_LEVELS_ASCII = ".:-=+*#@"
_ACT = 0.7
"""Height of the row at the bounds to act."""
_CROSS, _CROSS_ASCII = "\u2573", "X"


def text_ribbon(forecast: Forecast, style: Style) -> list[str]:
    """The rows of the ribbon with their time above and their key below."""
    data = ribbon_data(forecast)
    cells = min(style.width - _LABEL - 2, len(forecast.dates))
    edges = [round(i * len(forecast.dates) / cells) for i in range(cells + 1)]
    rows = [_years(forecast, edges), _months(forecast, edges, style)]
    rows += [_balance(data, name, edges, style) for name in BALANCE_TITLES]
    rows += _marks(data, edges, style)
    return [*rows, *(style.paint(line, "quiet") for line in _key(data, style))]


def strain(data: RibbonData, name: BalanceName) -> FloatArray:
    """How near a balance is to its bound, day by day: 0 at ease, 1 and more at the bound, NaN not known."""
    if name == "mouths":
        hunger: FloatArray = 1.0 - data.thinnest
        return hunger
    if name == "hands":
        weeks = np.full(len(data.forecast.dates), np.nan)
        for end, minutes in zip(data.week_ends, data.week_minutes, strict=True):
            weeks[max(0, end - 6) : end + 1] = minutes / data.budget_per_week if data.budget_per_week else 1.0
        return weeks
    rows = [
        _water_strain(data.forecast.series[b.series], b)
        for b in data.forecast.water_bands
        if b.series in data.forecast.series
    ]
    return _largest(rows, len(data.forecast.dates))


def _water_strain(band: Band, bounds: WaterBand) -> FloatArray:
    """0 in the middle of the act bounds, _ACT at them, 1 at the harm bounds; NaN without bounds."""
    values = band.p50
    sides: list[FloatArray] = []
    two_sided = bounds.harm_low is not None and bounds.act_low is not None and bounds.act_high is not None
    middle = ((bounds.act_low or 0.0) + (bounds.act_high or 0.0)) / 2 if two_sided else None
    if bounds.act_high is not None or bounds.harm_high is not None:
        ease = middle if middle is not None else ease_above(bounds.act_high, bounds.harm_high)
        sides.append(_side(values, (ease, bounds.act_high, bounds.harm_high)))
    if bounds.harm_low is not None:
        ease = middle if middle is not None else ease_below(bounds.act_low, bounds.harm_low)
        act = bounds.act_low if bounds.act_low is not None else bounds.harm_low
        sides.append(_side(-values, (-ease, -act, -bounds.harm_low)))
    return _largest(sides, len(values))


def _side(values: FloatArray, steps: tuple[float, float | None, float | None]) -> FloatArray:
    """Strain towards an upper bound along straight pieces from ease to act to harm."""
    ease, act, harm = steps
    points = [(ease, 0.0)]
    if act is not None and act > ease:
        points.append((act, _ACT if harm is not None and harm > act else 1.0))
    if harm is not None and harm > points[-1][0]:
        points.append((harm, 1.0))
    where, level = zip(*points, strict=True)
    strained: FloatArray = np.interp(values, where, level)
    return np.where(np.isfinite(values), strained, np.nan)


def _largest(rows: list[FloatArray], days: int) -> FloatArray:
    """Largest known value of each day; NaN where none is known."""
    if not rows:
        return np.full(days, np.nan)
    filled = np.where(np.isfinite(rows), rows, -np.inf).max(axis=0)
    return np.where(np.isfinite(filled), filled, np.nan)


def _balance(data: RibbonData, name: BalanceName, edges: list[int], style: Style) -> str:
    """One row: the worst day of each cell (of Hands the mean) as a level, a cross at the first break."""
    measure = np.mean if name == "hands" else np.max
    levels = _LEVELS_ASCII if style.ascii_only else _LEVELS
    first = balance_of(data.forecast, name).first_break
    broken = _cell_of(data.forecast, edges, first) if first is not None else None
    values = strain(data, name)
    letters = [_letter(values[a:b], levels, measure) for a, b in pairwise(edges)]
    label = padded(BALANCE_TITLES[name], _LABEL)
    if broken is None:
        return label + style.paint("".join(letters), "sea")
    cross = _CROSS_ASCII if style.ascii_only else _CROSS
    before, after = "".join(letters[:broken]), "".join(letters[broken + 1 :])
    return label + style.paint(before, "sea") + style.paint(cross + after, "break")


def _letter(values: FloatArray, levels: str, measure: Callable[[FloatArray], float]) -> str:
    known = values[np.isfinite(values)]
    if not known.size:
        return " "
    level = float(measure(known))
    return levels[-1] if level >= 1 else levels[max(0, int(level * (len(levels) - 1)))]


def _cell_of(forecast: Forecast, edges: list[int], on: date) -> int | None:
    day = (on - forecast.start_on).days
    if not 0 <= day < len(forecast.dates):
        return None
    return int(np.searchsorted(np.asarray(edges), day, side="right")) - 1


def _years(forecast: Forecast, edges: list[int]) -> str:
    """The years above the cells in which they begin."""
    line = [" "] * (len(edges) - 1)
    starts = [m for m in month_starts(forecast.dates[0], forecast.dates[-1]) if m.month == 1]
    marks = [(forecast.dates[0], 0)] + [(s, _cell_of(forecast, edges, s) or 0) for s in starts]
    for (on, cell), following in zip(marks, [*(m[1] for m in marks[1:]), len(line) + 2], strict=True):
        if following - cell > len("2000"):
            line[cell : cell + 4] = list(f"{on.year}")
    return (" " * _LABEL + "".join(line)).rstrip()


def _months(forecast: Forecast, edges: list[int], style: Style) -> str:
    """A border whose pieces are the months, odd ones heavy."""
    heavy, light = ("=", "-") if style.ascii_only else ("━", "─")
    letters = [heavy if forecast.dates[a].month % 2 else light for a in edges[:-1]]
    return " " * _LABEL + "".join(letters)


def _marks(data: RibbonData, edges: list[int], style: Style) -> list[str]:
    """Rows for arrivals and for days away, where there are any."""
    rows: list[str] = []
    forecast = data.forecast
    if data.arrivals:
        line = [" "] * (len(edges) - 1)
        for arrival in data.arrivals:
            cell = _cell_of(forecast, edges, arrival.on)
            if cell is not None:
                line[cell] = "v" if style.ascii_only else "▾"
        rows.append((padded("arrive", _LABEL) + "".join(line)).rstrip())
    absences = long_absences(forecast)
    if absences:
        line = [" "] * (len(edges) - 1)
        for away in absences:
            first, last = (_cell_of(forecast, edges, on) for on in (away.first_on, away.last_on))
            for cell in range(
                first if first is not None else 0, (last if last is not None else len(line) - 1) + 1
            ):
                line[cell] = "/" if style.ascii_only else "░"
        rows.append((padded("away", _LABEL) + "".join(line)).rstrip())
    return rows


def _key(data: RibbonData, style: Style) -> list[str]:
    low, full = (_LEVELS_ASCII[0], _LEVELS_ASCII[-1]) if style.ascii_only else (_LEVELS[0], _LEVELS[-1])
    cross = _CROSS_ASCII if style.ascii_only else _CROSS
    words = [f"{' ' * _LABEL}{low} at ease  {full} at the bound: reserves gone, harm, all the minutes"]
    if not data.forecast.holds:
        words.append(f"{' ' * _LABEL}{cross} the first day by which more than 5 % of the members have broken")
    return [line[: style.width] for line in words]
