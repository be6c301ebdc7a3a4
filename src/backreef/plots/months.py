"""A horizon cut into months or quarters, and what a band was in each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np

from backreef.judgement.verdict import Band, FloatArray
from backreef.plots.scale import month_starts


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Days of the horizon that belong together: first, and one after the last."""

    on: date
    first: int
    last: int

    @property
    def part(self) -> slice:
        """These days within an array of the horizon."""
        return slice(self.first, self.last)


def months(dates: tuple[date, ...]) -> list[Span]:
    """The horizon by calendar month."""
    return _cut(dates, every=1)


def quarters(dates: tuple[date, ...]) -> list[Span]:
    """The horizon by calendar quarter."""
    return _cut(dates, every=3)


def month_asked(figure: str, span: Span) -> str:
    """How a figure is asked of a month."""
    return f"{figure}@{span.on.year}-{span.on.month:02d}"


def quarter_asked(figure: str, span: Span) -> str:
    """How a figure is asked of a quarter of the calendar."""
    return f"{figure}@{span.on.year}-Q{(span.on.month - 1) // 3 + 1}"


def whole_asked(figure: str, dates: tuple[date, ...]) -> str:
    """How a figure is asked of all days."""
    return f"{figure}@{dates[0]}..{dates[-1]}" if dates else ""


def middle(values: FloatArray) -> float:
    """Median of the known values."""
    known = np.sort(values[np.isfinite(values)])
    return float((known[(known.size - 1) // 2] + known[known.size // 2]) / 2) if known.size else float("nan")


def least(values: FloatArray) -> float:
    """Smallest of the known values."""
    known = values[np.isfinite(values)]
    return float(known.min()) if known.size else float("nan")


def most(values: FloatArray) -> float:
    """Largest of the known values."""
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else float("nan")


def span_band(band: Band, span: Span) -> tuple[float, float, float]:
    """Lowest 5 % point, median of the middle line and highest 95 % point of a span."""
    return least(band.p05[span.part]), middle(band.p50[span.part]), most(band.p95[span.part])


def _cut(dates: tuple[date, ...], *, every: int) -> list[Span]:
    starts = [(m - dates[0]).days for m in month_starts(dates[0], dates[-1]) if (m.month - 1) % every == 0]
    edges = [0, *starts, len(dates)]
    return [Span(on=dates[a], first=a, last=b) for a, b in pairwise(edges)]
