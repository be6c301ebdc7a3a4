"""Readings of one quantity by themselves, day by day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from backreef.plots.axis import BORDER, axis_labels, border, year_lines
from backreef.plots.figure import NARROW, SMALL, WIDE, Drawing, Figure, Table, box, figure_of, label, rule
from backreef.plots.markup import element
from backreef.plots.scale import TimeScale, ValueScale, nice_ceiling, nice_ticks
from backreef.plots.words import capital, figure, plural, reading, short_date

_HEIGHT, _TOP = 112.0, 8.0
_LEAST_DAYS = 14


def course(points: Sequence[tuple[date, float]], *, called: str, unit: str, ident: str) -> Figure:
    """The readings of a quantity, old to new; values are in `unit`."""
    name = capital(f"{called}, {unit}" if unit else called)
    values = [value for _, value in points]
    words = f"{plural(len(points), 'reading')}"
    if points:
        words += f" from {short_date(points[0][0])} to {short_date(points[-1][0])}, between "
        words += f"{reading(min(values))} and {reading(max(values))}; the last is {reading(values[-1])}."
    rows = tuple((short_date(on), reading(value)) for on, value in reversed(points))

    def draw(_ident: str, *, narrow: bool) -> Drawing:
        return _drawn(points, narrow=narrow)

    return figure_of(
        (ident, name, words),
        draw,
        table=Table(caption=f"{name}: readings", columns=("day", unit or "value"), rows=rows),
        caption=words,
    )


def _drawn(points: Sequence[tuple[date, float]], *, narrow: bool) -> Drawing:
    left, right = (36.0, NARROW - 12) if narrow else (46.0, WIDE - 74)
    bottom = _TOP + _HEIGHT
    size = (NARROW if narrow else WIDE, bottom + BORDER + 20)
    if not points:
        return (), size
    days = max((points[-1][0] - points[0][0]).days + 1, _LEAST_DAYS)
    time = TimeScale(first_on=points[0][0], days=days, left=left, right=right)
    scale = ValueScale(low=0.0, high=nice_ceiling(1.05 * max(v for _, v in points)), bottom=bottom, top=_TOP)
    low = min(value for _, value in points)
    if low > scale.high / 2:  # as temperature or salinity, which nobody reads from zero
        spread = max(max(v for _, v in points) - low, 0.02 * low)
        scale = ValueScale(low=low - spread, high=low + 2 * spread, bottom=bottom, top=_TOP)
    parts = [
        box(left, _TOP, right - left, _HEIGHT, class_="calm"),
        year_lines(time, _TOP, bottom),
        border(time, bottom + 3),
        axis_labels(time, bottom + BORDER + 16, room=40.0),
    ]
    for value in nice_ticks(scale.low, scale.high):
        y = scale.y(value)
        parts.append(rule(left - 4, y, left, y, class_="grid"))
        parts.append(
            label(figure(value, 4), left - 6, y + 4, class_="t t-quiet", size=SMALL - 0.5, anchor="end")
        )
    for on, value in points:
        x = round(time.x(on) + time.day_width / 2, 1)
        parts.append(element("circle", class_="reading", r=3, cx=x, cy=round(scale.y(value), 1)))
    return parts, size
