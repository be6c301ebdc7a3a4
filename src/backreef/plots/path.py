"""Lines, bands and strokes as the text of SVG paths, thinned to what the eye can tell apart."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from backreef.judgement.verdict import FloatArray
from backreef.plots.markup import number
from backreef.plots.scale import TimeScale, ValueScale

_TOLERANCE = 0.4
"""How far a thinned line may leave the full one, in units of the picture."""


def runs(known: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> list[tuple[int, int]]:
    """Stretches of True as (first, one after the last)."""
    padded = np.concatenate(([False], known, [False])).astype(np.int8)
    edges = np.diff(padded)
    return list(zip(np.flatnonzero(edges == 1).tolist(), np.flatnonzero(edges == -1).tolist(), strict=True))


def thinned(x: FloatArray, y: FloatArray, tolerance: float = _TOLERANCE) -> list[int]:
    """Indices of the points to keep so that the line stays within the tolerance.

    Source: Douglas & Peucker 1973, Cartographica 10:112-122 (published), with vertical distance.
    """
    keep = {0, len(x) - 1}
    work = [(0, len(x) - 1)]
    while work:
        first, last = work.pop()
        if last - first < 2:
            continue
        inner = slice(first + 1, last)
        slope = (y[last] - y[first]) / (x[last] - x[first])
        away = np.abs(y[inner] - y[first] - slope * (x[inner] - x[first]))
        worst = int(away.argmax())
        if away[worst] > tolerance:
            middle = first + 1 + worst
            keep.add(middle)
            work += [(first, middle), (middle, last)]
    return sorted(keep)


def polyline(x: FloatArray, y: FloatArray) -> str:
    """A line to the tenth of a unit, its first point as it is and the others as steps from the one before."""
    tenths_x = np.round(x * 10).astype(np.int64)
    tenths_y = np.round(y * 10).astype(np.int64)
    start = f"M{number(tenths_x[0] / 10)} {number(tenths_y[0] / 10)}"
    if len(x) == 1:
        return start
    steps = np.column_stack([np.diff(tenths_x), np.diff(tenths_y)]).ravel().tolist()
    text = "".join(_step(tenths) for tenths in steps)
    return f"{start}l{text[1:] if text[0] == ' ' else text}"


def segments(lines: Sequence[tuple[float, float, float, float]]) -> str:
    """Separate straight lines, from x, y to x, y, to the tenth of a unit, as steps from one to the next."""
    text, at_x, at_y = "", 0, 0
    for x1, y1, x2, y2 in lines:
        from_x, from_y, to_x, to_y = (round(10 * part) for part in (x1, y1, x2, y2))
        text += f"m{_steps(from_x - at_x, from_y - at_y)}l{_steps(to_x - from_x, to_y - from_y)}"
        at_x, at_y = to_x, to_y
    return f"M{text[1:]}" if text else ""


def _steps(tenths_x: int, tenths_y: int) -> str:
    return (_step(tenths_x) + _step(tenths_y)).lstrip()


@lru_cache(maxsize=4096)
def _step(tenths: int) -> str:
    """A step as short as SVG can read it: its sign or a blank, and no zero before the point."""
    whole, part = divmod(abs(tenths), 10)
    digits = f"{whole or ''}.{part}" if part else f"{whole}"
    return f"-{digits}" if tenths < 0 else f" {digits}"


def line_path(x: FloatArray, y: FloatArray) -> str:
    """A line, broken where a value is not known."""
    parts: list[str] = []
    for first, last in runs(np.isfinite(y)):
        xs, ys = x[first:last], y[first:last]
        kept = thinned(xs, ys)
        parts.append(polyline(xs[kept], ys[kept]))
    return "".join(parts)


def band_path(x: FloatArray, low: FloatArray, high: FloatArray) -> str:
    """The area between two lines, broken where either is not known."""
    parts: list[str] = []
    for first, last in runs(np.isfinite(low) & np.isfinite(high)):
        xs = x[first:last]
        up, down = thinned(xs, high[first:last]), thinned(xs, low[first:last])[::-1]
        around_x = np.concatenate([xs[up], xs[down]])
        around_y = np.concatenate([high[first:last][up], low[first:last][down]])
        parts.append(f"{polyline(around_x, around_y)}Z")
    return "".join(parts)


def stroke_path(time: TimeScale, y: FloatArray, base: float) -> str:
    """One upright stroke per day from a base line, equal neighbours in one block; days at it stay open."""
    gap = 0.3 * time.day_width if time.day_width > 2.0 else 0.0
    parts: list[str] = []
    tall = np.isfinite(y) & (np.abs(y - base) > 0.05)
    index, size = 0, len(y)
    rounded = np.round(np.where(tall, y, base), 1)
    while index < size:
        last = index + 1
        while not gap and last < size and rounded[last] == rounded[index]:
            last += 1
        if tall[index]:
            left, right = time.at(index), time.at(last) - gap
            tip = float(rounded[index])
            parts.append(f"M{number(left)} {number(base)}V{number(tip)}H{number(right)}V{number(base)}Z")
        index = last
    return "".join(parts)


def series_paths(
    time: TimeScale, value: ValueScale, band: tuple[FloatArray, FloatArray, FloatArray]
) -> tuple[str, str]:
    """The area of a 5-95 band and its middle line."""
    x = time.middles()
    low, middle, high = (value.ys(part) for part in band)
    return band_path(x, low, high), line_path(x, middle)
