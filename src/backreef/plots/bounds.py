"""The bounds of a quantity: dashed where to act, dotted where harm begins, rocks beyond, words beside."""

from __future__ import annotations

import numpy as np

from backreef.judgement.verdict import FloatArray, WaterBand
from backreef.plots.figure import SMALL, label, rule
from backreef.plots.markup import Safe
from backreef.plots.measure import text_width
from backreef.plots.pattern import rocks
from backreef.plots.scale import TimeScale, ValueScale
from backreef.plots.words import figure

BESIDE = 62.0
"""Room right of the end of the time that every picture keeps for words."""


def bound_marks(
    time: TimeScale, scale: ValueScale, bounds: WaterBand | None, *, words: bool = True
) -> list[Safe]:
    """The lines of a quantity's bounds, and their words at the right edge."""
    if bounds is None:
        return []
    parts = _rocks(time, scale, bounds)
    taken: list[float] = []
    for value, class_, word in (
        (bounds.harm_high, "bound-harm", "harm"),
        (bounds.harm_low, "bound-harm", "harm"),
        (bounds.act_high, "bound-act", "act"),
        (bounds.act_low, "bound-act", "act"),
    ):
        if value is None or not scale.has(value):
            continue
        y = scale.y(value)
        parts.append(rule(time.left, y, time.right, y, class_=class_))
        if words and all(abs(y - other) >= SMALL for other in taken):
            taken.append(y)
            parts.append(beside(time, f"{word} {figure(value, 3)}", y + 4))
    if words:
        parts += _far_off(time, scale, bounds, taken)
    return parts


def over_edge(time: TimeScale, scale: ValueScale, middle: FloatArray) -> Safe:
    """How high a line goes that is held at the upper edge; nothing where it is not."""
    known = middle[np.isfinite(middle)]
    if not known.size or float(known.max()) <= scale.high:
        return Safe()
    return beside(time, f"to {figure(float(known.max()))} ↑", scale.top + 7)


def _far_off(time: TimeScale, scale: ValueScale, bounds: WaterBand, taken: list[float]) -> list[Safe]:
    """Words with an arrow for harm bounds that lie outside of what is shown."""
    parts: list[Safe] = []
    if (
        bounds.harm_high is not None
        and bounds.harm_high > scale.high
        and scale.top + SMALL < min(taken, default=1e9)
    ):
        parts.append(beside(time, f"harm {figure(bounds.harm_high, 3)} ↑", scale.top + 7))
    if (
        bounds.harm_low is not None
        and bounds.harm_low < scale.low
        and scale.bottom - SMALL > max(taken, default=-1e9)
    ):
        parts.append(beside(time, f"harm {figure(bounds.harm_low, 3)} ↓", scale.bottom + 3))
    return parts


def beside(time: TimeScale, words: str, y: float) -> Safe:
    """A word for a line, right of the end of the time; long ones in smaller letters."""
    size = min(SMALL - 0.5, round(BESIDE / text_width(words, 1.0), 1))
    return label(words, time.right + 5, y, class_="t t-quiet", size=size)


def _rocks(time: TimeScale, scale: ValueScale, bounds: WaterBand) -> list[Safe]:
    parts: list[Safe] = []
    wide = time.right - time.left
    if scale.has(bounds.harm_high) and bounds.harm_high is not None:
        y = scale.y(bounds.harm_high)
        parts.append(rocks(time.left, scale.top, wide, y - scale.top))
    if scale.has(bounds.harm_low) and bounds.harm_low is not None:
        y = scale.y(bounds.harm_low)
        parts.append(rocks(time.left, y, wide, scale.bottom - y))
    return parts
