"""The lanes inside the ribbon's three bands."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from backreef.judgement.verdict import Band, FloatArray, WaterBand
from backreef.judgement.verdict_hands import DAYS_PER_WEEK
from backreef.plots.bounds import beside, bound_marks, over_edge
from backreef.plots.figure import SMALL, box, label, path, rule
from backreef.plots.markup import Safe, element, joined
from backreef.plots.measure import shortened, text_width
from backreef.plots.path import series_paths, stroke_path
from backreef.plots.pattern import hatch
from backreef.plots.ribbon_data import RibbonData
from backreef.plots.scale import TimeScale, ValueScale, nice_ceiling
from backreef.plots.value_range import starts_at_zero, value_range
from backreef.plots.words import figure, series_words

ARRIVAL_STEP = 17.0
_DOT = 7.5
_MOST_ROWS = 4
_NAME_ROOM = 170.0
"""Room that a name asks for before more rows are opened."""
_MOST_NAME = 420.0
_LEAST_NAME = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A piece of the horizon and the place it is drawn in."""

    data: RibbonData
    time: TimeScale
    first: int
    narrow: bool

    @property
    def part(self) -> slice:
        """The days of this stretch within the whole horizon."""
        return slice(self.first, self.first + self.time.days)

    def cut(self, values: FloatArray) -> FloatArray:
        """The values of these days."""
        piece: FloatArray = values[self.part]
        return piece


def caption(stretch: Stretch, words: str, top: float) -> Safe:
    """The name of a lane, small, at its upper left."""
    room = stretch.time.right - stretch.time.left - 8
    fitting = shortened(words, size=SMALL, room=room)
    return label(fitting, stretch.time.left + 4, top + SMALL, class_="t t-quiet halo", size=SMALL)


def arrival_rows(stretch: Stretch) -> int:
    """Rows that the names of the arrivals of a stretch need, none to four."""
    shown = [a for a in stretch.data.arrivals if stretch.time.has(a.on)]
    if not shown or stretch.narrow:
        return min(len(shown), 1)
    xs = [stretch.time.x(a.on) for a in shown]
    for rows in range(1, _MOST_ROWS):
        rooms = [after - x for x, after in zip(xs, xs[rows:], strict=False)]
        wants = [min(text_width(a.words, SMALL), _NAME_ROOM) + 2 * _DOT + 8 for a in shown]
        if all(room >= want for room, want in zip(rooms, wants, strict=False)):
            return rows
    return _MOST_ROWS


def arrivals_lane(stretch: Stretch, top: float, rows: int) -> Safe:
    """Numbered arrivals in falling steps, named where there is room, each with a stem down to the meals."""
    time = stretch.time
    shown = [a for a in stretch.data.arrivals if time.has(a.on)]
    bottom = top + rows * ARRIVAL_STEP
    stems: list[Safe] = []
    marks: list[Safe] = []
    free_from = [time.left - 2 * _DOT] * rows
    for index, arrival in enumerate(shown):
        row = index % rows
        x = min(max(time.x(arrival.on), time.left + _DOT), time.right - _DOT)
        y = top + ARRIVAL_STEP * (row + 0.5)
        if x - _DOT < free_from[row]:
            stems.append(rule(x, bottom - 5, x, bottom, class_="stem"))
            continue
        stems.append(rule(x, y, x, bottom, class_="stem"))
        marks.append(_numbered(arrival.number, x, y))
        free_from[row] = x + _DOT + 2
        if not stretch.narrow:
            ahead = time.x(shown[index + rows].on) - _DOT - 2 if index + rows < len(shown) else time.right
            name = shortened(arrival.words, size=SMALL, room=min(ahead - x - _DOT - 4, _MOST_NAME))
            if name == arrival.words or len(name) >= _LEAST_NAME:
                marks.append(label(name, x + _DOT + 3, y + 4, class_="t halo", size=SMALL))
    return joined([*stems, *marks])


def _numbered(value: int, x: float, y: float) -> Safe:
    dot = element("circle", class_="dot", cx=round(x, 1), cy=round(y, 1), r=_DOT)
    size = SMALL - 1 if value < 100 else SMALL - 3
    return joined([dot, label(str(value), x, y + 3.6, class_="dot-text", size=size, anchor="middle")])


def meals_caption(data: RibbonData) -> str:
    """What the strokes of the meals are."""
    ways = {
        (True, True): ", g a day: up by hand, down by feeder",
        (True, False): ", g a day, by hand",
        (False, True): ", g a day, by feeder",
        (False, False): "",
    }
    return "meals offered" + ways[bool(data.by_hand_g.any()), bool(data.by_feeder_g.any())]


def meals_lane(stretch: Stretch, top: float, height: float) -> Safe:
    """Grams offered each day: by hand above the line, by a feeder below it; a gap where there was no meal."""
    data, time = stretch.data, stretch.time
    if not (data.by_hand_g.any() or data.by_feeder_g.any()):
        return caption(stretch, "no meals in this plan", top)
    hand, feeder = float(data.by_hand_g.max()), float(data.by_feeder_g.max())
    share = min(max(hand / (hand + feeder), 0.25), 0.75) if hand > 0 and feeder > 0 else float(hand > 0)
    base = top + height * share
    reach = height * min(share / hand if hand else 1 / feeder, (1 - share) / feeder if feeder else 1 / hand)
    up = ValueScale(low=0, high=hand or 1.0, bottom=base, top=base - reach * hand)
    down = ValueScale(low=0, high=feeder or 1.0, bottom=base, top=base + reach * feeder)
    return joined(
        [
            path(stroke_path(time, up.ys(stretch.cut(data.by_hand_g)), base), class_="meal-hand"),
            path(stroke_path(time, down.ys(stretch.cut(data.by_feeder_g)), base), class_="meal-feeder"),
            rule(time.left, base, time.right, base, class_="base"),
            _beside(stretch, f"{figure(hand)} g", base - reach * hand + 8) if hand else Safe(),
            _beside(stretch, f"{figure(feeder)} g", base + reach * feeder + 3) if feeder else Safe(),
        ]
    )


def thinnest_lane(stretch: Stretch, top: float, height: float) -> Safe:
    """Condition of the animal with the least of it, day by day."""
    data, time = stretch.data, stretch.time
    scale = ValueScale(low=0.0, high=max(1.0, _highest(data.thinnest)), bottom=top + height, top=top)
    if not data.forecast.animals:
        return caption(stretch, "no animals in this plan", top)
    low, middle = stretch.cut(data.thinnest_low), stretch.cut(data.thinnest)
    area, line = series_paths(time, scale, (low, middle, middle))
    full = scale.y(1.0)
    return joined(
        [
            rule(time.left, full, time.right, full, class_="bound-act"),
            path(area, class_="area"),
            path(line, class_="line"),
            _beside(stretch, "full", full + 4),
            _beside(stretch, "empty", top + height + 2),
        ]
    )


def water_lane(stretch: Stretch, top: float, height: float, row: tuple[str, Band, WaterBand | None]) -> Safe:
    """A quantity with its 5-50-95 % band; dashed where to act, dotted where harm begins, and rocks beyond."""
    name, band, bounds = row
    low, high = value_range(band, bounds, zero=starts_at_zero(name, bounds))
    scale = ValueScale(low=low, high=high, bottom=top + height, top=top)
    area, line = series_paths(
        stretch.time, scale, (stretch.cut(band.p05), stretch.cut(band.p50), stretch.cut(band.p95))
    )
    parts = [
        *bound_marks(stretch.time, scale, bounds, words=not stretch.narrow),
        path(area, class_="area"),
        path(line, class_="line"),
    ]
    if not stretch.narrow:
        parts.append(over_edge(stretch.time, scale, band.p50))
    parts += _readings(stretch, scale, name)
    return joined(parts)


def water_caption(stretch: Stretch, row: tuple[str, Band, WaterBand | None]) -> str:
    """Name and unit of a lane; with its upper bounds in words where they cannot stand beside it."""
    name, _, bounds = row
    words, unit = series_words(stretch.data.forecast, name)
    words = f"{words}, {unit}" if unit else words
    if not stretch.narrow or bounds is None:
        return words
    act = bounds.act_high if bounds.act_high is not None else bounds.act_low
    harm = bounds.harm_high if bounds.harm_high is not None else bounds.harm_low
    said = [
        f"{word} {figure(value, 3)}" for word, value in (("act", act), ("harm", harm)) if value is not None
    ]
    return f"{words}: {', '.join(said)}" if said else words


def minutes_lane(stretch: Stretch, top: float, height: float) -> Safe:
    """One bar per week; what goes over the week's share of the budget is hatched."""
    data, time = stretch.data, stretch.time
    weeks = [
        (end - stretch.first, minutes)
        for end, minutes in zip(data.week_ends, data.week_minutes, strict=True)
        if stretch.first <= end < stretch.first + time.days and np.isfinite(minutes)
    ]
    most = nice_ceiling(max([data.budget_per_week * 1.3, *data.week_minutes]))
    scale = ValueScale(low=0, high=most, bottom=top + height, top=top)
    limit = scale.y(data.budget_per_week)
    parts: list[Safe] = []
    for end, minutes in weeks:
        left, right = time.at(end - DAYS_PER_WEEK + 1), time.at(end + 1)
        gap = 0.18 * (right - left)
        tip = scale.y(minutes)
        parts.append(
            box(
                left + gap / 2,
                max(tip, limit),
                right - left - gap,
                scale.bottom - max(tip, limit),
                class_="bar",
            )
        )
        if tip < limit:
            parts.append(hatch(left + gap / 2, tip, right - left - gap, limit - tip))
    parts.append(rule(time.left, limit, time.right, limit, class_="bound-act"))
    parts.append(_beside(stretch, f"{figure(data.budget_per_week)} min", limit + 4))
    return joined(parts)


def presence_lane(stretch: Stretch, top: float, height: float) -> Safe:
    """A fine stroke for each day on which somebody is there."""
    there = stretch.data.forecast.present[stretch.part]
    y = np.where(there, top, top + height)
    return path(stroke_path(stretch.time, y, top + height), class_="present")


def _beside(stretch: Stretch, words: str, y: float) -> Safe:
    return Safe() if stretch.narrow else beside(stretch.time, words, y)


def _readings(stretch: Stretch, scale: ValueScale, name: str) -> list[Safe]:
    return [
        element(
            "circle",
            class_="reading",
            r=2.6,
            cx=round(stretch.time.x(r.on), 1),
            cy=round(scale.y(r.value), 1),
        )
        for r in stretch.data.readings
        if r.series == name and stretch.time.has(r.on) and np.isfinite(r.value)
    ]


def _highest(values: FloatArray) -> float:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else 1.0
