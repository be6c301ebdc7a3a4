"""The year ribbon in small: the plan's line and one lane a balance, to tell tanks apart at a glance."""

from __future__ import annotations

from collections.abc import Sequence

from backreef.judgement.verdict import Forecast
from backreef.plots.axis import axis_labels, border
from backreef.plots.figure import NARROW, SMALL, TEXT, WIDE, Figure, Reading, box, label, picture, rule
from backreef.plots.markup import Safe, element, joined, number
from backreef.plots.panel import away_columns
from backreef.plots.ribbon_data import RibbonData, ribbon_data
from backreef.plots.ribbon_lanes import Stretch, minutes_lane, thinnest_lane, water_caption, water_lane
from backreef.plots.ribbon_words import ribbon_description, ribbon_table
from backreef.plots.scale import TimeScale
from backreef.plots.words import BALANCE_TITLES, balance_of

_LANE, _GAP, _TOP = 30.0, 8.0, 26.0
_GUTTER, _MARGIN = 124.0, 72.0
_REACH = 4.5


def small_ribbon(forecast: Forecast, readings: Sequence[Reading] = (), *, ident: str) -> Figure:
    """The ribbon of a list: its line, and the thinnest animal, the first nutrient and the weeks' minutes."""
    data = ribbon_data(forecast, readings)
    title = f"Year ribbon of {forecast.plan_name or 'the plan'} in small"
    description = ribbon_description(data)
    return Figure(
        id=ident,
        title=title,
        description=description,
        wide=_drawn(data, f"{ident}-w", (title, description), narrow=False),
        narrow=_drawn(data, f"{ident}-n", (title, description), narrow=True),
        table=ribbon_table(data),
    )


def _drawn(data: RibbonData, ident: str, words: tuple[str, str], *, narrow: bool) -> Safe:
    forecast = data.forecast
    left, right = (2.0, NARROW - 2) if narrow else (_GUTTER, WIDE - _MARGIN)
    head = 15.0 if narrow else 0.0
    time = TimeScale(first_on=forecast.start_on, days=len(forecast.dates), left=left, right=right)
    stretch = Stretch(data=data, time=time, first=0, narrow=narrow)
    parts = [_line(time, forecast, 10.0)]
    y = _TOP
    for name in BALANCE_TITLES:
        verdict = balance_of(forecast, name)
        y += head
        first = verdict.first_break
        calm = time.right if first is None else time.x(first)
        parts += [
            box(time.left, y, calm - time.left, _LANE, class_="calm"),
            box(calm, y, time.right - calm, _LANE, class_="broken"),
            away_columns(forecast, time, (y, y + _LANE)),
        ]
        class_ = "t-name" if verdict.holds else "t t-break"
        words_at = (time.left, y - 4) if narrow else (0.0, y + 13)
        parts.append(label(BALANCE_TITLES[name], *words_at, class_=class_, size=TEXT + 3))
        parts += [_lane(stretch, name, y), _said(stretch, name, y)]
        y += _LANE + _GAP
    parts += [
        border(time, y - 3),
        axis_labels(time, y + 16, size=SMALL - 1 if narrow else SMALL, room=0 if narrow else _MARGIN),
    ]
    size = (NARROW if narrow else WIDE, y + 22)
    return picture(ident, *parts, title=words[0], description=words[1], size=size)


def _lane(stretch: Stretch, name: str, top: float) -> Safe:
    if name == "mouths":
        return thinnest_lane(stretch, top + 2, _LANE - 4)
    if name == "hands":
        return minutes_lane(stretch, top + 2, _LANE - 2)
    return joined(water_lane(stretch, top + 2, _LANE - 4, row) for row in stretch.data.water[:1])


def _said(stretch: Stretch, name: str, top: float) -> Safe:
    """What the lane of a balance shows: beside it on a desk, above it on a hand-held screen."""
    if name == "water":
        words = next((water_caption(stretch, row).split(":")[0] for row in stretch.data.water[:1]), "")
    else:
        words = "thinnest animal" if name == "mouths" else "minutes a week"
    if stretch.narrow:
        return label(words, stretch.time.right, top - 4, class_="t t-quiet halo", size=SMALL, anchor="end")
    return label(words, 0.0, top + 27, class_="t t-quiet", size=SMALL)


def _line(time: TimeScale, forecast: Forecast, y: float) -> Safe:
    first = forecast.first_break
    if forecast.holds or first is None or first > time.last_on:
        return rule(time.left, y, time.right, y, class_="plan-holds")
    x = time.x(first)
    d = f"M{number(x - _REACH)} {number(y - _REACH)}L{number(x + _REACH)} {number(y + _REACH)}"
    d += f"M{number(x - _REACH)} {number(y + _REACH)}L{number(x + _REACH)} {number(y - _REACH)}"
    return joined(
        [
            rule(time.left, y, max(time.left, x - 6), y, class_="plan-holds"),
            rule(x + 6, y, time.right, y, class_="plan-after"),
            element("path", class_="cross", d=d),
        ]
    )
