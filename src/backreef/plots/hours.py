"""What a quantity does hour by hour while nobody is there: beside the calm one, with bounds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from backreef.judgement.rehearsal import HourLine, Mishap, Outcome, Rehearsal
from backreef.judgement.verdict import FloatArray
from backreef.plots.axis import BORDER
from backreef.plots.bounds import beside
from backreef.plots.figure import (
    NARROW,
    SMALL,
    WIDE,
    Drawing,
    Figure,
    KeyEntry,
    Table,
    box,
    figure_of,
    label,
    path,
    rule,
)
from backreef.plots.markup import Safe
from backreef.plots.measure import text_width
from backreef.plots.path import line_path, series_paths
from backreef.plots.pattern import rocks, sample
from backreef.plots.rehearsal_words import hours_words
from backreef.plots.scale import TimeScale, ValueScale, nice_ticks
from backreef.plots.words import capital, figure, reading, short_date, spread_words

_TOP, _HEIGHT, _DAY_H = 22.0, 104.0, 24
_NEAR = 1.5
"""A bound of harm is drawn where it lies within so many spans of what is shown anyway."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Where the hours are drawn: `time` counts hours, not days."""

    time: TimeScale
    value: ValueScale
    first_on: date
    width: float


def hour_chart(rehearsal: Rehearsal, mishap: Mishap | None, *, ident: str) -> Figure | None:
    """The quantity that brings the first animal to risk; of a mishap or, without one, of the calm absence."""
    outcome = rehearsal.nothing_wrong if mishap is None else mishap.outcome
    line = outcome.line
    if line is None:
        return None
    begins_h = 0.0 if mishap is None else _begins_h(rehearsal, mishap)
    title = f"{capital(line.label)}, {line.unit}"
    description = _description(line, outcome, begins_h)

    def draw(_ident: str, *, narrow: bool) -> Drawing:
        frame = _frame(rehearsal, line, narrow=narrow)
        size = (frame.width, frame.value.bottom + BORDER + 20)
        return [*_ground(frame), *_drawn(frame, line), *_moments(frame, outcome, begins_h)], size

    return figure_of(
        (ident, title, description),
        draw,
        table=_table(rehearsal, line, title if mishap is None else f"{title}, {_named(mishap)}"),
        caption=description,
        key=_key(line),
    )


def _named(mishap: Mishap) -> str:
    """Which mishap a table is of, so that no two tables of a page have one name."""
    return f"when {mishap.what[0].lower()}{mishap.what[1:]}"


def _begins_h(rehearsal: Rehearsal, mishap: Mishap) -> float:
    midnight = mishap.begins_at.replace(hour=0, minute=0)
    days = (midnight.date() - rehearsal.first_on).days
    return days * _DAY_H + (mishap.begins_at - midnight) / timedelta(hours=1)


def _array(values: tuple[float | None, ...]) -> FloatArray:
    return np.array([np.nan if value is None else value for value in values], dtype=np.float64)


def _frame(rehearsal: Rehearsal, line: HourLine, *, narrow: bool) -> _Frame:
    width = NARROW if narrow else WIDE
    left, right = (36.0, width - 70) if narrow else (46.0, width - 74)
    time = TimeScale(first_on=rehearsal.first_on, days=len(line.p50), left=left, right=right)
    low, high = _range(line)
    value = ValueScale(low=low, high=high, bottom=_TOP + _HEIGHT, top=_TOP)
    return _Frame(time=time, value=value, first_on=rehearsal.first_on, width=width)


def _range(line: HourLine) -> tuple[float, float]:
    """All that is drawn, and the bounds that are near it."""
    every = np.concatenate([_array(part) for part in (line.p05, line.p95, line.calm_p50)])
    known = every[np.isfinite(every)]
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 1.0)
    span = (high - low) or abs(high) or 1.0
    if line.harm_low is not None and low - _NEAR * span <= line.harm_low:
        low = min(low, line.harm_low)
    if line.harm_high is not None and line.harm_high <= high + _NEAR * span:
        high = max(high, line.harm_high)
    pad = 0.08 * ((high - low) or 1.0)
    return (max(0.0, low - pad) if low >= 0 else low - pad), high + pad


def _ground(frame: _Frame) -> list[Safe]:
    """Water behind, values at the left, a border of filled and open days below with their dates."""
    time, value = frame.time, frame.value
    parts = [box(time.left, value.top, time.right - time.left, value.bottom - value.top, class_="calm")]
    for tick in nice_ticks(value.low, value.high, about=4):
        y = value.y(tick)
        parts.append(rule(time.left - 4, y, time.left, y, class_="grid"))
        words = figure(tick, 4)
        parts.append(label(words, time.left - 6, y + 4, class_="t t-quiet", size=SMALL - 0.5, anchor="end"))
    days = -(-time.days // _DAY_H)
    taken = 0.0
    for day in range(days):
        left, right = time.at(day * _DAY_H), time.at((day + 1) * _DAY_H)
        filled = "border-on" if day % 2 == 0 else "border-off"
        parts.append(box(left, value.bottom + 3, right - left, BORDER, class_=filled))
        on = frame.first_on + timedelta(days=day)
        words = short_date(on) if day == 0 else short_date(on).rsplit(" ", 1)[0]
        if left >= taken and left + text_width(words, SMALL) <= time.right + 30:
            parts.append(label(words, left, value.bottom + BORDER + 16, class_="t t-quiet", size=SMALL))
            taken = left + text_width(words, SMALL) + 10
    parts.append(box(time.left, value.bottom + 3, time.right - time.left, BORDER, class_="border-frame"))
    return parts


def _drawn(frame: _Frame, line: HourLine) -> list[Safe]:
    time, value = frame.time, frame.value
    parts: list[Safe] = []
    wide = time.right - time.left
    for bound, above in ((line.harm_high, True), (line.harm_low, False)):
        if bound is None or not value.has(bound):
            continue
        y = value.y(bound)
        beyond = (value.top, y - value.top) if above else (y, value.bottom - y)
        parts.append(rocks(time.left, beyond[0], wide, beyond[1]))
        parts.append(rule(time.left, y, time.right, y, class_="bound-harm"))
        parts.append(beside(time, f"harm {figure(bound, 3)}", y + 4))
    area, middle = series_paths(time, value, (_array(line.p05), _array(line.p50), _array(line.p95)))
    parts.append(path(area, class_="area"))
    if line.calm_p50:
        calm = line_path(time.middles(), value.ys(_array(line.calm_p50)))
        parts.append(path(calm, class_="line-second"))
    parts.append(path(middle, class_="line"))
    return parts


def _moments(frame: _Frame, outcome: Outcome, begins_h: float) -> list[Safe]:
    """When it begins, and when in the middle of the members the first animal is at risk."""
    time, value = frame.time, frame.value
    moments = [(begins_h, "begins", "stem", "t t-quiet")]
    if outcome.hours_to_risk is not None:
        moments.append((begins_h + outcome.hours_to_risk, "first at risk", "break-line", "t t-break"))
    parts: list[Safe] = []
    taken = -1e9
    for hour, words, line_class, text_class in moments:
        x = time.at(hour)
        parts.append(rule(x, value.top - 4, x, value.bottom, class_=line_class))
        room = text_width(words, SMALL, bold=True)
        start = min(max(x - 2, taken), frame.width - room)
        parts.append(label(words, start, value.top - 8, class_=text_class, size=SMALL))
        taken = start + room + 8
    return parts


def _key(line: HourLine) -> tuple[KeyEntry, ...]:
    band = sample(box(0, 2, 34, 12, class_="area"), rule(0, 8, 34, 8, class_="line"))
    entries = [KeyEntry(sample=band, words="middle of the members, and 5 to 95 % of them")]
    if line.calm_p50:
        entries.append(
            KeyEntry(sample=sample(rule(0, 8, 34, 8, class_="line-second")), words="with nothing going wrong")
        )
    if line.harm_low is not None or line.harm_high is not None:
        entries.append(
            KeyEntry(sample=sample(rule(0, 8, 34, 8, class_="bound-harm")), words="beyond it lies harm")
        )
    return tuple(entries)


def _description(line: HourLine, outcome: Outcome, begins_h: float) -> str:
    middle = _array(line.p50)
    known = np.flatnonzero(np.isfinite(middle))
    if not known.size:
        return "Nothing is left to measure."
    low_side = line.harm_low is not None and (
        line.harm_high is None
        or abs(middle[known].min() - line.harm_low) < abs(middle[known].max() - line.harm_high)
    )
    at = int(known[np.argmin(middle[known])] if low_side else known[np.argmax(middle[known])])
    start = int(known[min(int(begins_h), known.size - 1)])
    words = f"In the middle of the members {reading(float(middle[start]))} when it begins and "
    words += f"{'lowest' if low_side else 'highest'} {reading(float(middle[at]))}, "
    words += f"{hours_words(max(0.0, at + 1 - begins_h))} later."
    if outcome.hours_to_risk is not None:
        words += f" The first animal is at risk after {hours_words(outcome.hours_to_risk)}."
    return words


def _table(rehearsal: Rehearsal, line: HourLine, title: str) -> Table:
    """By day: the middle and the band at noon, and the lowest and highest of the middle."""
    rows = []
    parts = tuple(_array(part) for part in (line.p05, line.p50, line.p95))
    calm = _array(line.calm_p50)
    for day in range(-(-len(line.p50) // _DAY_H)):
        hours = slice(day * _DAY_H, (day + 1) * _DAY_H)
        noon = min(day * _DAY_H + _DAY_H // 2, len(line.p50) - 1)
        low, middle, high = (float(part[noon]) for part in parts)
        own = parts[1][hours][np.isfinite(parts[1][hours])]
        ends = f"{reading(float(own.min()))} to {reading(float(own.max()))}" if own.size else "nothing left"
        row = [short_date(rehearsal.first_on + timedelta(days=day)), spread_words((low, middle, high)), ends]
        rows.append((*row, reading(float(calm[noon])) if calm.size else "–"))
    columns = ("day", "at noon: middle (5 to 95 %)", "lowest to highest of the day", "nothing wrong, at noon")
    return Table(caption=f"{title}, by day", columns=columns, rows=tuple(rows))
