"""What came against what was foretold: readings on the bands as planned and as fitted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from backreef.calibration.outcome import Outlook, Reconciled, Seen
from backreef.judgement.verdict import Band
from backreef.plots.axis import BORDER, axis_labels, border, year_lines
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
from backreef.plots.markup import Safe, element, joined
from backreef.plots.path import band_path, line_path, series_paths
from backreef.plots.pattern import sample
from backreef.plots.scale import TimeScale, ValueScale, nice_ceiling, nice_ticks
from backreef.plots.words import capital, figure, plural, reading, short_date
from backreef.usecases.told_numbers import course_name, told_name

FOOT = BORDER + 20.0
TOP = 8.0
ROOM = 1.05
CROSS = 4.0
DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Where a picture is drawn."""

    time: TimeScale
    scale: ValueScale
    narrow: bool

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the picture."""
        return (NARROW if self.narrow else WIDE, self.scale.bottom + FOOT)


def outlook_chart(found: Reconciled, outlook: Outlook) -> Figure:
    """A quantity with what was read of it, as planned and as fitted, to the end of the outlook."""
    mine = [one for one in found.readings if one.series == outlook.series]
    title = capital(f"{outlook.label}, {outlook.unit}" if outlook.unit else outlook.label)
    said = description(found, outlook, mine)
    ident = f"outlook-{outlook.series.replace('_', '-')}"

    def draw(_ident: str, *, narrow: bool) -> Drawing:
        sheet = _sheet(found, outlook, mine, narrow=narrow)
        parts = [*_ground(sheet), *_bands(sheet, outlook), _today(sheet, found), *_readings(sheet, mine)]
        return parts, sheet.size

    return figure_of(
        (ident, title, said),
        draw,
        table=_table(found, outlook, mine, title),
        caption=said,
        ask=told_name(outlook, "ahead_fitted", part="p50"),
        key=_key(mine),
    )


def description(found: Reconciled, outlook: Outlook, mine: Sequence[Seen]) -> str:
    """What the picture shows, in two sentences."""
    used = [one for one in mine if one.used]
    words, aside = capital(plural(len(used), "reading")), len(mine) - len(used)
    if aside:
        words += f", and {aside} that {'is' if aside == 1 else 'are'} not believed"
    until, was, now = short_date(found.until_on), outlook.ahead_planned, outlook.ahead_fitted
    words += f". By {until} the plan alone said {reading(was.p05)} to {reading(was.p95)}; fitted to the log"
    return f"{words} it is {reading(now.p05)} to {reading(now.p95)}, in the middle {reading(now.p50)}."


def _sheet(found: Reconciled, outlook: Outlook, mine: Sequence[Seen], *, narrow: bool) -> Sheet:
    left, right = (36.0, NARROW - 8.0) if narrow else (46.0, WIDE - 8.0)
    time = TimeScale(first_on=found.start_on, days=len(found.dates), left=left, right=right)
    low, high = _range(outlook, mine)
    height = 120.0 if narrow else 150.0
    return Sheet(time=time, scale=ValueScale(low=low, high=high, bottom=TOP + height, top=TOP), narrow=narrow)


def _range(outlook: Outlook, mine: Sequence[Seen]) -> tuple[float, float]:
    """All of the fitted band and of the readings that are believed, and the middle of the plan."""
    believed = [one.value for one in mine if one.used]
    highest = max(float(outlook.fitted.p95.max()), float(outlook.planned.p50.max()), *believed, 0.0)
    lowest = min(float(outlook.fitted.p05.min()), float(outlook.planned.p50.min()), *believed, highest)
    if lowest < 0.6 * highest:
        return 0.0, nice_ceiling(highest * ROOM)
    room = 0.1 * (highest - lowest) or 0.05 * highest or 1.0
    return lowest - room, highest + room


def _ground(sheet: Sheet) -> list[Safe]:
    time, scale = sheet.time, sheet.scale
    lines: list[Safe] = []
    for value in nice_ticks(scale.low, scale.high, about=3 if sheet.narrow else 4):
        y = scale.y(value)
        lines.append(rule(time.left - 4, y, time.left, y, class_="grid"))
        lines.append(
            label(figure(value, 4), time.left - 6, y + 4, class_="t t-quiet", size=SMALL - 0.5, anchor="end")
        )
    return [
        box(time.left, scale.top, time.right - time.left, scale.bottom - scale.top, class_="calm"),
        year_lines(time, scale.top, scale.bottom),
        border(time, scale.bottom + 3),
        axis_labels(time, scale.bottom + BORDER + 16),
        *lines,
    ]


def _bands(sheet: Sheet, outlook: Outlook) -> list[Safe]:
    x = sheet.time.middles()
    was = outlook.planned
    area, line = series_paths(sheet.time, sheet.scale, _parts(outlook.fitted))
    low, middle, high = (sheet.scale.ys(part) for part in _parts(was))
    return [
        path(band_path(x, low, high), class_="was"),
        path(area, class_="area"),
        path(line_path(x, low) + line_path(x, high), class_="was-edge"),
        path(line_path(x, middle), class_="line-second"),
        path(line, class_="line"),
    ]


def _parts(band: Band) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return band.p05, band.p50, band.p95


def _today(sheet: Sheet, found: Reconciled) -> Safe:
    """Where the readings end and the outlook begins."""
    x = sheet.time.x(found.last_on)
    words = label(
        "last reading", x - 4, sheet.scale.top + SMALL, class_="t t-quiet halo", size=SMALL, anchor="end"
    )
    return joined([rule(x, sheet.scale.top, x, sheet.scale.bottom, class_="stem"), words])


def _readings(sheet: Sheet, mine: Sequence[Seen]) -> list[Safe]:
    return [_mark(sheet.time.at(one.at_d), sheet.scale.y(one.value), believed=one.used) for one in mine]


def _mark(x: float, y: float, *, believed: bool) -> Safe:
    if believed:
        return element("circle", class_="reading", r=3, cx=round(x, 1), cy=round(y, 1))
    left, right, up, down = (round(part, 1) for part in (x - CROSS, x + CROSS, y - CROSS, y + CROSS))
    return element("path", class_="doubted", d=f"M{left} {up}L{right} {down}M{left} {down}L{right} {up}")


def _key(mine: Sequence[Seen]) -> tuple[KeyEntry, ...]:
    fitted = sample(box(0, 2, 34, 12, class_="area"), rule(0, 8, 34, 8, class_="line"))
    planned = sample(box(0, 2, 34, 12, class_="was"), rule(0, 8, 34, 8, class_="line-second"))
    entries = [
        KeyEntry(sample=sample(_mark(17, 8, believed=True)), words="a reading"),
        KeyEntry(sample=fitted, words="as fitted: middle, and 90 in 100 members"),
        KeyEntry(sample=planned, words="as planned, before the log"),
    ]
    if any(not one.used for one in mine):
        words = "a reading that is not believed (beyond the edge it stands at the edge)"
        entries.append(KeyEntry(sample=sample(_mark(17, 8, believed=False)), words=words))
    return tuple(entries)


def _table(found: Reconciled, outlook: Outlook, mine: Sequence[Seen], title: str) -> Table:
    """Readings by day with what was foretold of them, and the outlook by weeks."""
    rows = [_row(found, outlook, min(int(one.at_d), found.days - 1), one) for one in mine]
    last = (found.last_on - found.start_on).days
    weeks = range(last + DAYS_PER_WEEK, found.days, DAYS_PER_WEEK)
    rows += [_row(found, outlook, day, None) for day in weeks]
    asks = [_asks(found, outlook, min(int(one.at_d), found.days - 1), one) for one in mine]
    asks += [_asks(found, outlook, day, None) for day in weeks]
    columns = ("day", "read", "as fitted", "as planned")
    return Table(
        caption=f"{title}, readings and outlook", columns=columns, rows=tuple(rows), asks=tuple(asks)
    )


def _row(found: Reconciled, outlook: Outlook, day: int, one: Seen | None) -> tuple[str, ...]:
    on: date = found.dates[day]
    read = "–"
    if one is not None:
        sign = "" if one.sign == "=" else f"{one.sign} "
        read = f"{sign}{reading(one.value)}" + ("" if one.used else " (not believed)")
    return (short_date(on), read, _at(outlook.fitted, day), _at(outlook.planned, day))


def _asks(found: Reconciled, outlook: Outlook, day: int, one: Seen | None) -> tuple[str, ...]:
    courses = (f"{course_name(outlook.series, fitted=which)}@{found.dates[day]}" for which in (True, False))
    return ("", "" if one is None else told_name(one, "value"), *courses)


def _at(band: Band, day: int) -> str:
    low, middle, high = (reading(float(part[day])) for part in _parts(band))
    return f"{middle} ({low} to {high})"
