"""A plain chart over time: a border of months, a scale at the left, words at the right, away days behind."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from backreef.judgement.verdict import Forecast
from backreef.plots.absence import long_absences
from backreef.plots.axis import BORDER, axis_labels, border, year_lines
from backreef.plots.figure import NARROW, SMALL, WIDE, box, label, rule
from backreef.plots.markup import Safe, joined
from backreef.plots.pattern import away
from backreef.plots.scale import TimeScale, ValueScale, nice_ticks
from backreef.plots.words import figure

_FOOT = BORDER + 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """Where one chart over time is drawn."""

    forecast: Forecast
    ident: str
    time: TimeScale
    top: float
    bottom: float
    narrow: bool

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of a picture that holds just this panel."""
        return (NARROW if self.narrow else WIDE, self.bottom + _FOOT)

    def scale(self, low: float, high: float) -> ValueScale:
        """Values up the panel."""
        return ValueScale(low=low, high=high, bottom=self.bottom, top=self.top)


def panel(forecast: Forecast, ident: str, *, narrow: bool, height: float = 120.0) -> Panel:
    """A panel over the whole horizon."""
    left, right = (36.0, NARROW - 70) if narrow else (46.0, WIDE - 74)
    time = TimeScale(first_on=forecast.start_on, days=len(forecast.dates), left=left, right=right)
    return Panel(forecast=forecast, ident=ident, time=time, top=8.0, bottom=8.0 + height, narrow=narrow)


def ground(on: Panel) -> Safe:
    """Textures, water, away days and years behind the data, and the border of months below."""
    time = on.time
    return joined(
        [
            box(time.left, on.top, time.right - time.left, on.bottom - on.top, class_="calm"),
            away_columns(on.forecast, time, (on.top, on.bottom)),
            year_lines(time, on.top, on.bottom),
            border(time, on.bottom + 3),
            axis_labels(time, on.bottom + BORDER + 16, room=40.0),
        ]
    )


def away_columns(forecast: Forecast, time: TimeScale, edges: tuple[float, float]) -> Safe:
    """Hatched columns where nobody is there."""
    top, bottom = edges
    parts: list[Safe] = []
    for absence in long_absences(forecast):
        if absence.last_on < time.first_on or absence.first_on > time.last_on:
            continue
        left, right = time.x(absence.first_on), time.x(absence.last_on + timedelta(days=1))
        parts.append(away(left, top, right - left, bottom - top))
    return joined(parts)


def ticks(on: Panel, scale: ValueScale, *, about: int = 4) -> Safe:
    """Round values at the left with fine lines across."""
    parts: list[Safe] = []
    for value in nice_ticks(scale.low, scale.high, about=about):
        y = scale.y(value)
        parts.append(rule(on.time.left - 4, y, on.time.left, y, class_="grid"))
        parts.append(
            label(
                figure(value, 4), on.time.left - 6, y + 4, class_="t t-quiet", size=SMALL - 0.5, anchor="end"
            )
        )
    return joined(parts)
