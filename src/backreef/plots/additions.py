"""The arrivals as falling steps along the time, each with the gate that must be open first."""

from __future__ import annotations

from backreef.judgement.verdict import Addition, Forecast
from backreef.plots.figure import SMALL, TEXT, Figure, Table, label, picture, rule
from backreef.plots.markup import Safe, element, printable
from backreef.plots.measure import shortened
from backreef.plots.panel import Panel, ground, panel
from backreef.plots.words import members, percent, plural, short_date

_STEP = 34.0


def additions_chart(forecast: Forecast, *, ident: str = "additions") -> Figure | None:
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

    def draw(*, narrow: bool) -> Safe:
        step = 46.0 if narrow else _STEP
        on = panel(forecast, f"{ident}-{'n' if narrow else 'w'}", narrow=narrow, height=step * len(arrivals) + 8)
        rows = [_row(on, a, on.top + 4 + step * i) for i, a in enumerate(arrivals)]
        return picture(on.ident, ground(on), *rows, title=title, description=description, size=on.size)

    table = Table(
        caption="Arrivals, and what must be true first",
        columns=("from", "animals", "gate", "open on that day"),
        rows=tuple(
            (short_date(a.on), f"{a.count} {a.common_name}", a.gate or "none", open_words(forecast, a))
            for a in arrivals
        ),
    )
    return Figure(
        id=ident, title=title, description=description, wide=draw(narrow=False), narrow=draw(narrow=True), table=table
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


def _row(on: Panel, addition: Addition, top: float) -> Safe:
    """A step: a mark on its day, who arrives, and beneath it the gate, on the side that has more room."""
    x = on.time.x(addition.on)
    ahead = x < (on.time.left + on.time.right) / 2
    room = (on.time.right - x if ahead else x - on.time.left) - 20
    anchor, at = ("start", x + 13) if ahead else ("end", x - 13)
    who = f"{addition.count} {addition.common_name}, from {short_date(addition.on)}"
    gate = f"gate: {gate_words(on.forecast, addition)}" if addition.gate else "no gate"
    lines = [label(shortened(who, size=TEXT * 1.14, room=room), at, top + 12, class_="t t-strong halo", anchor=anchor)]
    parts = [rule(x, on.top, x, top + 9, class_="stem"), _gate(x, top + 9, addition.gate_open_share)]
    words = f"gate: {addition.gate}" if on.narrow and addition.gate else gate
    lines.append(label(shortened(words, size=SMALL, room=room), at, top + 27, class_="t halo", size=SMALL, anchor=anchor))
    if on.narrow and addition.gate:
        said = shortened(open_words(on.forecast, addition), size=SMALL, room=room)
        lines.append(label(said, at, top + 40, class_="t t-quiet halo", size=SMALL, anchor=anchor))
    return element("g", *parts, *lines)


def _gate(x: float, y: float, share: float | None) -> Safe:
    """Two posts with a bar between them that is lifted as far as the gate is open."""
    lift = 11.0 * (share if share is not None else 0.0)
    posts = [rule(x - 6, y - 6, x - 6, y + 7, class_="gate"), rule(x + 6, y - 6, x + 6, y + 7, class_="gate")]
    bar = rule(x - 6, y + 5, x + 6, y + 5 - lift, class_="gate-bar" if share is not None else "gate-unknown")
    return element("g", *posts, bar)
