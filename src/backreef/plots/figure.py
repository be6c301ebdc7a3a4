"""What every picture is made of: a text alternative, a wide and a narrow drawing, the table behind it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from backreef.plots.markup import Safe, element, number

WIDE = 1000.0
"""Width of a picture for a desk or a sheet of paper, in units of the picture."""
NARROW = 320.0
"""Width of a picture for a hand-held screen."""
TEXT = 12.5
SMALL = 11.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The numbers behind a picture, as words; the first column names the row."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    asks: tuple[tuple[str, ...], ...] = ()
    """Of each cell, the figure that `why` explains; empty for none, and where nothing is explained."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyEntry:
    """One mark of a picture and what it means."""

    sample: Safe
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """A numbered mark of a picture and what it stands for."""

    number: int
    on: date
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A picture with all that stands in for it where it cannot be seen."""

    id: str
    title: str
    description: str
    wide: Safe
    narrow: Safe
    table: Table
    caption: str = ""
    """A sentence to stand beneath the picture, if it says more than its heading."""
    ask: str = ""
    """The figure that explains the numbers of the caption."""
    key: tuple[KeyEntry, ...] = ()
    events: tuple[Event, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Something measured, to be shown against a forecast."""

    series: str
    on: date
    value: float


def picture(ident: str, *children: str, title: str, description: str, size: tuple[float, float]) -> Safe:
    """A drawing with its text alternative."""
    width, height = size
    return element(
        "svg",
        element("title", title, id=f"{ident}-title"),
        element("desc", description, id=f"{ident}-desc"),
        *children,
        class_="chart",
        viewBox=f"0 0 {number(width)} {number(height)}",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
        xmlns="http://www.w3.org/2000/svg",
    )


Drawing = tuple[Sequence[Safe], tuple[float, float]]
"""The parts of a drawing, and its width and height."""


class Draw(Protocol):
    """Draws a figure in one of its two widths."""

    def __call__(self, ident: str, /, *, narrow: bool) -> Drawing:
        """For a desk or for the hand; the ids of its parts begin with `ident`."""
        ...


def figure_of(
    named: tuple[str, str, str],
    draw: Draw,
    *,
    table: Table,
    caption: str = "",
    ask: str = "",
    key: tuple[KeyEntry, ...] = (),
) -> Figure:
    """A figure for a desk and for the hand; `named` is its id, its title and what it shows."""
    ident, title, description = named

    def drawn(way: str, *, narrow: bool) -> Safe:
        parts, size = draw(f"{ident}-{way}", narrow=narrow)
        return picture(f"{ident}-{way}", *parts, title=title, description=description, size=size)

    return Figure(
        id=ident,
        title=title,
        description=description,
        wide=drawn("w", narrow=False),
        narrow=drawn("n", narrow=True),
        table=table,
        caption=caption,
        ask=ask,
        key=key,
    )


def label(
    words: str, x: float, y: float, *, class_: str = "t", size: float = TEXT, anchor: str | None = None
) -> Safe:
    """A line of text; `anchor` is start, middle or end."""
    return element(
        "text", words, class_=class_, x=round(x, 1), y=round(y, 1), font_size=size, text_anchor=anchor
    )


def box(x: float, y: float, width: float, height: float, *, class_: str) -> Safe:
    """A rectangle; none where it has no extent."""
    if width <= 0 or height <= 0:
        return Safe()
    place = {"x": round(x, 2), "y": round(y, 2), "width": round(width, 2), "height": round(height, 2)}
    return element("rect", class_=class_, **place)


def rule(x1: float, y1: float, x2: float, y2: float, *, class_: str) -> Safe:
    """A straight line."""
    return element("line", class_=class_, x1=round(x1, 2), y1=round(y1, 2), x2=round(x2, 2), y2=round(y2, 2))


def path(d: str, *, class_: str) -> Safe:
    """A path; none where there is nothing to draw."""
    return element("path", class_=class_, d=d) if d else Safe()
