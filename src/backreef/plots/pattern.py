"""Textures, so that no meaning hangs on colour alone: away, over a budget, short of food, harm.

They are drawn as lines and not as SVG patterns, which swell a page to megabytes when it becomes a PDF.
"""

from __future__ import annotations

import math

from backreef.judgement.verdict import FloatArray
from backreef.plots.figure import box, path
from backreef.plots.markup import Safe, element, joined, number
from backreef.plots.path import segments

_AWAY_STEP = 7.0
_LEAST_HATCHED = 3.0
"""Columns narrower than this are shown by their ground alone."""
_HATCH_STEP = 4.5
_ROCK_STEP = 13.0
_ROCK_ROW = 10.0
_ROCK = 4.0
_STROKE_STEP = 2.6


def away(x: float, y: float, width: float, height: float) -> Safe:
    """A column in which nobody is there: a grey ground with lines that rise."""
    if width <= 0 or height <= 0:
        return Safe()
    ground = box(x, y, width, height, class_="away-ground")
    lines = _rising(x, y, width, height) if width >= _LEAST_HATCHED else ""
    return joined([ground, path(lines, class_="ink-away")])


def hatch(x: float, y: float, width: float, height: float) -> Safe:
    """A piece of a bar that is counted otherwise: an outline with lines that fall."""
    if width <= 0 or height <= 0:
        return Safe()
    return joined(
        [
            box(x, y, width, height, class_="bar-hatch"),
            path(_falling(x, y, width, height), class_="ink-hatch"),
        ]
    )


def rocks(x: float, y: float, width: float, height: float) -> Safe:
    """Dangerous ground, as a sea chart marks it: rows of crosses, every other row shifted."""
    rows: list[str] = []
    bottom = y + height - 2.5 - _ROCK
    count = max(0, math.floor((height - 2.0 - _ROCK) / _ROCK_ROW) + 1)
    for row in range(count):
        start = x + _ROCK / 2 + (_ROCK_STEP / 2 if row % 2 else 1.0)
        many = math.floor((x + width - _ROCK / 2 - start) / _ROCK_STEP)
        if many < 0:
            continue
        cross = f"v{_ROCK:g}m{_ROCK / 2:g}-{_ROCK / 2:g}h-{_ROCK:g}"
        onward = f"m{_ROCK / 2 + _ROCK_STEP:g}-{_ROCK / 2:g}{cross}"
        rows.append(f"M{start:.1f} {bottom - row * _ROCK_ROW:.1f}{cross}{onward * many}")
    return path("".join(rows), class_="ink-rocks")


def uprights(x: FloatArray, tips: FloatArray, base: float, *, class_: str) -> Safe:
    """Fine upright strokes from a base line to a curve, as often as the eye can tell them apart."""
    marks: list[str] = []
    drawn_at = -math.inf
    for at, tip in zip(x.tolist(), tips.tolist(), strict=True):
        if at - drawn_at >= _STROKE_STEP and math.isfinite(tip) and abs(tip - base) > 0.4:
            marks.append(f"M{number(round(at, 1))} {number(round(base, 1))}V{number(round(tip, 1))}")
            drawn_at = at
    return path("".join(marks), class_=class_)


def sample(*parts: Safe, wide: float = 34.0) -> Safe:
    """A little drawing for a key; words beside it say what it means."""
    return element(
        "svg",
        joined(parts),
        class_="sample",
        viewBox=f"0 0 {wide:g} 16",
        width=wide,
        height=16,
        aria_hidden="true",
        focusable="false",
    )


def _rising(x: float, y: float, width: float, height: float) -> str:
    """Lines from lower left to upper right inside a rectangle, in step with those of its neighbours."""
    lines: list[tuple[float, float, float, float]] = []
    line = math.ceil((x + y) / _AWAY_STEP) * _AWAY_STEP
    while line < x + y + width + height:
        left, right = max(x, line - y - height), min(x + width, line - y)
        if right > left:
            lines.append((left, line - left, right, line - right))
        line += _AWAY_STEP
    return segments(lines)


def _falling(x: float, y: float, width: float, height: float) -> str:
    """Lines from upper left to lower right inside a rectangle."""
    lines: list[tuple[float, float, float, float]] = []
    line = math.ceil((x - y - height) / _HATCH_STEP) * _HATCH_STEP
    while line < x + width - y:
        left, right = max(x, line + y), min(x + width, line + y + height)
        if right > left:
            lines.append((left, left - line, right, right - line))
        line += _HATCH_STEP
    return segments(lines)
