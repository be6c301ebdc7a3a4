"""The arrivals as falling steps along the time, each with the gate that must be open first."""

from __future__ import annotations

from collections.abc import Sequence

from backreef.judgement.verdict import Addition, Forecast
from backreef.plots.axis import BORDER, axis_labels, border
from backreef.plots.figure import NARROW, SMALL, TEXT, Drawing, Figure, Table, figure_of, label, rule
from backreef.plots.markup import Safe, element, joined, printable
from backreef.plots.measure import BOLDER, lines_of, shortened
from backreef.plots.panel import ground, panel
from backreef.plots.scale import TimeScale
from backreef.plots.words import members, percent, plural, reading, short_date
from backreef.usecases.told_numbers import told_name

_STEP = 34.0


def additions_chart(forecast: Forecast, *, ident: str = "arrivals") -> Figure | None:
    """Who arrives when and behind which gate; None where nobody arrives."""
    if not forecast.additions:
        return None
    arrivals = sorted(forecast.additions, key=lambda a: a.on)
    title = "Arrivals and their gates"
    first, last = short_date(arrivals[0].on), short_date(arrivals[-1].on)
    description = f"{plural(len(arrivals), 'arrival')} from {first} to {last}. " + " ".join(
        f"{a.count} {printable(a.common_name)} on {short_date(a.on)}, gate: {gate_words(forecast, a)}."
        for a in arrivals[:12]
    )

    def draw(ident: str, *, narrow: bool) -> Drawing:
        drawn, size = _list(forecast, arrivals) if narrow else _steps(forecast, arrivals, ident)
        return (drawn,), size

    table = Table(
        caption="Arrivals, and what must be true first",
        columns=("from", "animals", "gate", "open on that day", "filter"),
        rows=tuple(
            (
                short_date(a.on),
                f"{a.count} {a.common_name}",
                a.gate or "none",
                open_words(forecast, a),
                filter_words(a),
            )
            for a in arrivals
        ),
        asks=tuple(
            (
                "",
                "",
                "",
                "" if a.gate_open_share is None else told_name(a, "gate_open_share"),
                "" if a.filter_days_p50 is None else told_name(a, "filter_days_p50"),
            )
            for a in arrivals
        ),
    )
    return figure_of(
        (ident, title, description),
        draw,
        table=table,
        caption="The bar of a gate is lifted as far as members find it open on that day; dotted: not known.",
    )


def gate_words(forecast: Forecast, addition: Addition) -> str:
    """The gate and how often it is open in time."""
    if not addition.gate:
        return "none"
    return f"{printable(addition.gate)} ({open_words(forecast, addition)})"


def open_words(forecast: Forecast, addition: Addition) -> str:
    """In how many members the gate is open on the day."""
    share = addition.gate_open_share
    if share is None:
        return "not known beforehand: look"
    if forecast.members == 1:
        return percent(share)
    return f"open in {members(share, forecast.members)}"


def filter_words(addition: Addition) -> str:
    """When the filter has grown to what they bring."""
    low, middle, high = addition.filter_days_p05, addition.filter_days_p50, addition.filter_days_p95
    if low is None or middle is None or high is None:
        return "not known: the next ones come, or the plan ends, too soon"
    most = f"; total ammonia at most {reading(addition.ammonia_most_mg_n_per_l_p95)} mg N/L"
    if high == 0:
        return f"grown to it at once{most}"
    if middle == 0:
        return f"grown to it at once in most members, after {high:.0f} days in the slowest{most}"
    return f"grown to it after {middle:.0f} ({low:.0f}–{high:.0f}) days{most}"


def _steps(forecast: Forecast, arrivals: Sequence[Addition], ident: str) -> tuple[Safe, tuple[float, float]]:
    """Each arrival a step at its day, with its words on the side that has more room."""
    on = panel(forecast, ident, narrow=False, height=_STEP * len(arrivals) + 8)
    parts = [ground(on)]
    for index, addition in enumerate(arrivals):
        x, top = on.time.x(addition.on), on.top + 4 + _STEP * index
        ahead = x < (on.time.left + on.time.right) / 2
        room = (on.time.right - x if ahead else x - on.time.left) - 20
        anchor, at = ("start", x + 13) if ahead else ("end", x - 13)
        who = shortened(_who(addition), size=TEXT * BOLDER, room=room)
        gate = shortened(f"gate: {gate_words(forecast, addition)}", size=SMALL, room=room)
        parts += [
            gate_mark(x, top + 12, addition.gate_open_share),
            label(who, at, top + 12, class_="t t-strong halo", anchor=anchor),
            label(gate, at, top + 27, class_="t halo", size=SMALL, anchor=anchor),
        ]
    return joined(parts), on.size


def _list(forecast: Forecast, arrivals: Sequence[Addition]) -> tuple[Safe, tuple[float, float]]:
    """Each arrival as lines of text over its own thin line of time."""
    time = TimeScale(first_on=forecast.start_on, days=len(forecast.dates), left=2.0, right=NARROW - 2)
    parts: list[Safe] = [axis_labels(time, 12), border(time, 17)]
    y = 17 + BORDER + 8
    for addition in arrivals:
        parts.append(
            label(shortened(_who(addition), size=TEXT * BOLDER, room=NARROW), 2, y + 12, class_="t t-strong")
        )
        words = f"gate: {gate_words(forecast, addition)}"
        lines = lines_of(words, size=SMALL, room=NARROW - 4, most=3)
        parts += [label(line, 2, y + 27 + 14 * i, size=SMALL) for i, line in enumerate(lines)]
        y += 27 + 14 * len(lines)
        parts.append(rule(time.left, y, time.right, y, class_="grid"))
        parts.append(gate_mark(time.x(addition.on), y, addition.gate_open_share))
        y += 14
    return joined(parts), (NARROW, y)


def _who(addition: Addition) -> str:
    return f"{addition.count} {addition.common_name}, from {short_date(addition.on)}"


def gate_mark(x: float, y: float, share: float | None) -> Safe:
    """Two posts with a bar between them that is lifted as far as the gate is open."""
    lift = 11.0 * (share if share is not None else 0.0)
    posts = [rule(x - 6, y - 6, x - 6, y + 7, class_="gate"), rule(x + 6, y - 6, x + 6, y + 7, class_="gate")]
    bar = rule(x - 6, y + 5, x + 6, y + 5 - lift, class_="gate-bar" if share is not None else "gate-unknown")
    return element("g", *posts, bar)
