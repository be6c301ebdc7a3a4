"""Lying bars with words at both ends: beside the bar on a desk, above it on a hand-held screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backreef.plots.figure import (
    NARROW,
    SMALL,
    TEXT,
    WIDE,
    Drawing,
    Figure,
    Table,
    box,
    figure_of,
    label,
    rule,
)
from backreef.plots.markup import Safe, joined
from backreef.plots.measure import BOLDER, lines_of, shortened, text_width
from backreef.plots.pattern import hatch

_BAR = 11.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One bar: a value, the ends of its band if known, and words; a bar without a value is a heading."""

    name: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    words: str = ""
    look: str = "bar"
    """bar, bar-pale, bar-line or bar-hatch: how it is filled."""
    strong: bool = False


def bar_figure(
    bars: Sequence[Bar], named: tuple[str, str, str], *, table: Table, caption: str = "", ask: str = ""
) -> Figure:
    """Bars as a figure, for a desk and for the hand; `named` is its id, its title and what it shows."""

    def draw(_ident: str, *, narrow: bool) -> Drawing:
        drawn, size = bar_chart(bars, narrow=narrow)
        return (drawn,), size

    return figure_of(named, draw, table=table, caption=caption, ask=ask)


def bar_chart(bars: Sequence[Bar], *, narrow: bool) -> tuple[Safe, tuple[float, float]]:
    """The bars one under the other, and the size of the picture; bars below zero grow to the left."""
    width = NARROW if narrow else WIDE
    lows, highs = _reach(bars)
    left = 4.0 if narrow else _names_width(bars)
    words_room = max((text_width(b.words, SMALL) for b in bars), default=0.0) + 12
    right = width - (8.0 if narrow else min(words_room, 300.0))
    unit = (right - left) / ((highs - lows) or 1.0)
    zero = left - lows * unit
    parts: list[Safe] = []
    y = 2.0
    for bar in bars:
        if bar.value is None:
            y += 8 if y > 2.0 else 0
            for line in lines_of(bar.name, size=TEXT * BOLDER, room=width, most=2):
                parts.append(label(line, 0, y + 12, class_="t t-strong", size=TEXT))
                y += 16
            y += 4
            continue
        row = 32.0 if narrow else 21.0
        parts.append(_words(bar, y, (left, right, width), narrow=narrow))
        parts.append(_drawn(bar, y + (17 if narrow else 4), (zero, unit)))
        parts.append(rule(zero, y + (15 if narrow else 2), zero, y + (30 if narrow else 17), class_="base"))
        y += row
    return joined(parts), (width, y + 4)


def _reach(bars: Sequence[Bar]) -> tuple[float, float]:
    """Smallest and largest end of any bar, zero between them."""
    known = [bar for bar in bars if bar.value is not None]
    ends = [0.0] + [end for bar in known for end in (bar.value, bar.low, bar.high) if end is not None]
    low, high = min(ends), max(ends)
    return low, high if high > low else low + 1.0


def _names_width(bars: Sequence[Bar]) -> float:
    widest = max(
        (text_width(bar.name, TEXT, bold=bar.strong) for bar in bars if bar.value is not None), default=0.0
    )
    return min(widest + 14, 300.0)


def _words(bar: Bar, y: float, edges: tuple[float, float, float], *, narrow: bool) -> Safe:
    left, right, width = edges
    class_ = "t t-strong" if bar.strong else "t"
    size = TEXT * (1.14 if bar.strong else 1.0)
    if narrow:
        room = width - text_width(bar.words, SMALL) - 14
        return joined(
            [
                label(shortened(bar.name, size=size, room=room), 2, y + 12, class_=class_, size=TEXT),
                label(bar.words, width - 2, y + 12, class_="t t-quiet", size=SMALL, anchor="end"),
            ]
        )
    return joined(
        [
            label(shortened(bar.name, size=size, room=left - 10), 0, y + 14, class_=class_, size=TEXT),
            label(bar.words, right + 10, y + 14, class_="t t-quiet", size=SMALL),
        ]
    )


def _drawn(bar: Bar, y: float, scale: tuple[float, float]) -> Safe:
    zero, unit = scale
    value = bar.value or 0.0
    start, end = sorted((zero, zero + value * unit))
    wide = max(end - start, 0.6)
    parts = [
        hatch(start, y, wide, _BAR) if bar.look == "bar-hatch" else box(start, y, wide, _BAR, class_=bar.look)
    ]
    if bar.low is not None and bar.high is not None and bar.high > bar.low:
        a, b, middle = zero + bar.low * unit, zero + bar.high * unit, y + _BAR / 2
        parts.append(rule(a, middle, b, middle, class_="whisker"))
        parts += [rule(x, middle - 3.5, x, middle + 3.5, class_="whisker") for x in (a, b)]
    return joined(parts)
