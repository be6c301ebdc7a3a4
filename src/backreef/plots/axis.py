"""The time axis: a border of filled and open months, as on the edge of a sea chart, with its names."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from backreef.plots.figure import SMALL, box, label, rule
from backreef.plots.markup import Safe, joined
from backreef.plots.measure import text_width
from backreef.plots.scale import TimeScale, month_starts
from backreef.plots.words import month_name

BORDER = 6.0
_WEEKS_UNTIL_DAYS = 120
_YEARS_FROM_DAYS = 366 * 9


@dataclass(frozen=True, slots=True)
class _Tick:
    x: float
    words: str
    strong: bool


def cuts(time: TimeScale) -> list[date]:
    """Where the border changes from filled to open: weeks, months or years, by the length of the time."""
    if time.days <= _WEEKS_UNTIL_DAYS:
        return [time.first_on + timedelta(days=i) for i in range(7, time.days, 7)]
    months = month_starts(time.first_on, time.last_on)
    return [m for m in months if m.month == 1] if time.days >= _YEARS_FROM_DAYS else months


def border(time: TimeScale, top: float) -> Safe:
    """The filled and open pieces; in calendar years every odd month is filled, so that borders agree."""
    edges = [time.left, *(time.x(cut) for cut in cuts(time)), time.right]
    first_filled = time.first_on.month % 2 == 1
    pieces = [
        box(a, top, b - a, BORDER, class_="border-on" if (i % 2 == 0) == first_filled else "border-off")
        for i, (a, b) in enumerate(pairwise(edges))
    ]
    frame = box(time.left, top, time.right - time.left, BORDER, class_="border-frame")
    return joined([*pieces, frame])


def axis_labels(time: TimeScale, baseline: float, *, size: float = SMALL, room: float = 0.0) -> Safe:
    """Years and, where there is room, months by name; weeks by date on a short axis.

    `room` is what a label may stand over the right end.
    """
    placed: list[tuple[float, float]] = []
    marks: list[Safe] = []
    for tick in sorted(_ticks(time), key=lambda t: not t.strong):
        wide = text_width(tick.words, size + (1 if tick.strong else 0), bold=tick.strong)
        taken = any(tick.x < right and tick.x + wide + 7 > start for start, right in placed)
        if taken or tick.x + wide > time.right + room:
            continue
        placed.append((tick.x, tick.x + wide + 7))
        class_ = "t t-strong" if tick.strong else "t t-quiet"
        marks.append(
            label(tick.words, tick.x, baseline, class_=class_, size=size + (1 if tick.strong else 0))
        )
    return joined(marks)


def year_lines(time: TimeScale, top: float, bottom: float) -> Safe:
    """Fine upright lines where a year begins."""
    starts = [m for m in month_starts(time.first_on, time.last_on) if m.month == 1]
    return joined(rule(time.x(s), top, time.x(s), bottom, class_="grid") for s in starts)


def _ticks(time: TimeScale) -> list[_Tick]:
    if time.days <= _WEEKS_UNTIL_DAYS:
        days = [time.first_on, *cuts(time)]
        return [
            _Tick(
                time.x(d), f"{d.day} {month_name(d.month)}" + (f" {d.year}" if i == 0 else ""), strong=i == 0
            )
            for i, d in enumerate(days)
        ]
    months = month_starts(time.first_on, time.last_on)
    years = [m for m in months if m.month == 1]
    ticks = [_Tick(time.x(y), str(y.year), strong=True) for y in years]
    if not years or time.x(years[0]) - time.left > text_width("2000", SMALL + 1) + 10:
        ticks.append(_Tick(time.left, str(time.first_on.year), strong=True))
    quarter = 91 * time.day_width
    step = 3 if quarter < 3 * text_width("Nov", SMALL) + 24 else 1
    ticks += [
        _Tick(time.x(m), month_name(m.month), strong=False) for m in months if (m.month - 1) % step == 0
    ]
    return ticks
