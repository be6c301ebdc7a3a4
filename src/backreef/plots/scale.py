"""From days and values to coordinates."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from backreef.judgement.verdict import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeScale:
    """Days along x: the first day starts at `left`, the last one ends at `right`."""

    first_on: date
    days: int
    left: float
    right: float

    @property
    def day_width(self) -> float:
        """Width of one day."""
        return (self.right - self.left) / max(self.days, 1)

    @property
    def last_on(self) -> date:
        """The last day that is drawn."""
        return self.first_on + timedelta(days=self.days - 1)

    def x(self, on: date) -> float:
        """Where a day begins, held inside the drawn range."""
        return self.at((on - self.first_on).days)

    def at(self, index: float) -> float:
        """Where a day begins, counted from the first drawn day."""
        return self.left + min(max(index, 0.0), float(self.days)) * self.day_width

    def has(self, on: date | None) -> bool:
        """Whether a day is drawn."""
        return on is not None and self.first_on <= on <= self.last_on

    def middles(self) -> FloatArray:
        """The middle of each day."""
        middles: FloatArray = self.left + (np.arange(self.days, dtype=np.float64) + 0.5) * self.day_width
        return middles


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueScale:
    """Values along y, upwards; values outside are held at the edge."""

    low: float
    high: float
    bottom: float
    top: float

    def y(self, value: float) -> float:
        """Where a value stands."""
        return float(self.ys(np.asarray([value], dtype=np.float64))[0])

    def ys(self, values: FloatArray) -> FloatArray:
        """Where values stand; NaN stays NaN."""
        share = np.clip((values - self.low) / ((self.high - self.low) or 1.0), 0.0, 1.0)
        where: FloatArray = self.bottom + (self.top - self.bottom) * share
        return where

    def has(self, value: float | None) -> bool:
        """Whether a value is inside the drawn range."""
        return value is not None and self.low <= value <= self.high


def month_starts(first_on: date, last_on: date) -> list[date]:
    """The first days of months after `first_on`, up to and including `last_on`."""
    starts: list[date] = []
    year, month = first_on.year, first_on.month
    while True:
        month += 1
        if month == 13:
            year, month = year + 1, 1
        start = date(year, month, 1)
        if start > last_on:
            return starts
        starts.append(start)


def nice_ceiling(value: float) -> float:
    """The next of 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten."""
    if not math.isfinite(value) or value <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(value))
    for step in (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0):
        if step * power >= value * (1 - 1e-9):
            return step * power
    return 10.0 * power


def nice_ticks(low: float, high: float, *, about: int = 4) -> list[float]:
    """Round values between two bounds, about so many."""
    span = high - low
    if not math.isfinite(span) or span <= 0:
        return [low]
    raw = span / max(about, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = min((m * power for m in (1.0, 2.0, 2.5, 5.0, 10.0)), key=lambda s: abs(s - raw))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(i * step, 10) for i in range(first, last + 1)]
