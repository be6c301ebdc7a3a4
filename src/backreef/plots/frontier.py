"""The frontier of a proposal: wishes against minutes, nitrate at each point, and where the plans stand."""

from __future__ import annotations

from collections.abc import Sequence

from backreef.planning.plans import AIM_WORDS, Point, Proposals
from backreef.plots.figure import (
    NARROW,
    SMALL,
    WIDE,
    Drawing,
    Figure,
    Table,
    box,
    figure_of,
    label,
    path,
    rule,
)
from backreef.plots.markup import Safe, element, joined, number
from backreef.plots.scale import ValueScale, nice_ticks
from backreef.plots.words import figure, percent

_RADIUS = 7.0
_LETTERS = "ABC"
_TOP = 42.0
"""Room for the words of the axis, and below them for the letters of plans that have every wish."""


def frontier_chart(found: Proposals, *, ident: str = "frontier") -> Figure | None:
    """Each point a share of the wishes at its fewest minutes; None where there is no frontier."""
    points = found.frontier
    if not points:
        return None
    title = "Wishes against minutes"
    description = _description(found, points)

    def draw(_ident: str, *, narrow: bool) -> Drawing:
        height = 206.0 if narrow else 256.0
        left, right = (42.0, NARROW - 16) if narrow else (56.0, WIDE - 60)
        up = ValueScale(low=0.0, high=1.0, bottom=height - 44, top=_TOP)
        along = _along(found, points, left, right)
        parts = [
            box(left, up.top, right - left, up.bottom - up.top, class_="calm"),
            _grid(up, along, left, right),
            _steps(points, up, along),
            joined(_point(one, place, up, along, narrow=narrow) for place, one in enumerate(points)),
            joined(_plans(found, up, along)),
            label("share of the wishes", left, 12, class_="t t-quiet", size=SMALL),
            label("minutes a month", right, height - 6, class_="t t-quiet", size=SMALL, anchor="end"),
        ]
        return parts, (NARROW if narrow else WIDE, height)

    named = (ident, title, description)
    return figure_of(named, draw, table=frontier_table(found), caption=description)


def frontier_table(found: Proposals) -> Table:
    """The points of the frontier in words, and the plans among them."""
    names = {one.species.id: one.species.common_name for one in found.shortlist.candidates}
    rows = [
        (
            f"{point.minutes_per_month:.0f}",
            percent(point.wishes_share),
            f"{point.nitrate_mg_no3_per_l:.1f}",
            ", ".join(names.get(each, each) for each in point.species) or "nobody new",
            "proved" if point.proved else "not proved",
        )
        for point in found.frontier
    ]
    return Table(
        caption="The fewest minutes for each share of the wishes, by the programme alone",
        columns=("minutes a month", "wishes", "nitrate, mg/L NO3, worst member", "who comes", "best"),
        rows=tuple(rows),
    )


def _description(found: Proposals, points: Sequence[Point]) -> str:
    first, last = points[0], points[-1]
    plans = "; ".join(
        f"{letter} {AIM_WORDS[one.aim]}: {one.picked.minutes_per_month:.0f} minutes, "
        f"{percent(found.wishes_share(one))}"
        for letter, one in zip(_LETTERS, found.proposals, strict=False)
    )
    return (
        f"From {first.minutes_per_month:.0f} minutes a month and {percent(first.wishes_share)} of the wishes "
        f"to {last.minutes_per_month:.0f} minutes and {percent(last.wishes_share)}, by the programme alone; "
        f"the figure at each point is nitrate in mg/L NO3. Simulated plans: {plans or 'none'}."
    )


def _along(found: Proposals, points: Sequence[Point], left: float, right: float) -> ValueScale:
    """Minutes along x: a scale of values lying on its side."""
    minutes = [point.minutes_per_month for point in points]
    minutes += [one.picked.minutes_per_month for one in found.proposals]
    span = max(max(minutes) - min(minutes), 4.0)
    low, high = min(minutes) - 0.08 * span, max(minutes) + 0.12 * span
    return ValueScale(low=max(0.0, low), high=high, bottom=left, top=right)


def _grid(up: ValueScale, along: ValueScale, left: float, right: float) -> Safe:
    parts: list[Safe] = []
    for value in (0.0, 0.25, 0.5, 0.75, 1.0):
        y = up.y(value)
        parts.append(rule(left, y, right, y, class_="grid"))
        parts.append(label(percent(value), left - 6, y + 4, class_="t t-quiet", size=SMALL, anchor="end"))
    for value in nice_ticks(along.low, along.high, about=6):
        x = along.y(value)
        parts.append(rule(x, up.top, x, up.bottom, class_="grid"))
        parts.append(
            label(figure(value, 3), x, up.bottom + 16, class_="t t-quiet", size=SMALL, anchor="middle")
        )
    return joined(parts)


def _steps(points: Sequence[Point], up: ValueScale, along: ValueScale) -> Safe:
    """A stair: more minutes are of no use until the next point."""
    corners = ""
    for place, one in enumerate(points):
        x, y = along.y(one.minutes_per_month), up.y(one.wishes_share)
        corners += f"M{number(x)} {number(y)}" if place == 0 else f"H{number(x)}V{number(y)}"
    return path(f"{corners}H{number(along.top)}", class_="line")


def _point(one: Point, place: int, up: ValueScale, along: ValueScale, *, narrow: bool) -> Safe:
    x, y = along.y(one.minutes_per_month), up.y(one.wishes_share)
    mark = element("circle", class_="reading", cx=round(x, 1), cy=round(y, 1), r=4)
    if narrow and place % 2:
        return mark
    words = f"{one.nitrate_mg_no3_per_l:.1f}"
    below = y + 15 < up.bottom  # further down are the minutes
    return joined(
        [mark, label(words, x + 7, y + 15 if below else y - 6, class_="t t-quiet halo", size=SMALL)]
    )


def _plans(found: Proposals, up: ValueScale, along: ValueScale) -> list[Safe]:
    """A letter for each simulated plan; those at one place stand side by side."""
    taken: list[tuple[float, float]] = []
    parts: list[Safe] = []
    for letter, one in zip(_LETTERS, found.proposals, strict=False):
        x, y = along.y(one.picked.minutes_per_month), up.y(found.wishes_share(one)) - 14
        while any(abs(x - left) < 2.4 * _RADIUS and abs(y - top) < 2.0 * _RADIUS for left, top in taken):
            x += 2.5 * _RADIUS
        taken.append((x, y))
        parts.append(element("circle", class_="dot", cx=round(x, 1), cy=round(y, 1), r=_RADIUS))
        parts.append(label(letter, x, y + 4, class_="dot-text", size=SMALL, anchor="middle"))
    return parts
