"""Figures of the forecast itself: every number of its lines, as the code that judges works it out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

from backreef.judgement.books import comes_in, leaves, remains
from backreef.usecases.asked import Asking, Figure, Found, shown
from backreef.usecases.told_numbers import Number, could_be_told
from backreef.working.members import by_member
from backreef.working.number import Worked
from backreef.working.record import recording
from backreef.working.steps import About
from backreef.working.tree import tree_of


def told_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of the lines of the forecast; the plan is simulated to know them."""
    for number in told_numbers(asking):
        if number.title and isinstance(number.value, Worked):
            yield Figure(
                name=number.name,
                title=number.title,
                daily=False,
                forecast=True,
                find=partial(_found, number),
                beside=partial(_beside, number),
            )


def told_numbers(asking: Asking) -> Iterator[Number]:
    """Every number of the lines of the forecast, and what came in, left and stayed."""
    yield from asking.told_numbers
    yield from _totals(asking)


def _totals(asking: Asking) -> Iterator[Number]:
    """What came in, left and stayed of each element."""
    fluxes = asking.told.fluxes
    for element in dict.fromkeys(line.element for line in fluxes):
        lines = [line for line in fluxes if line.element == element]
        with recording():
            found = (
                ("comes_in", "what comes in by all doors in a month", comes_in(lines)),
                ("leaves", "what leaves by all doors in a month", leaves(lines)),
                ("left_in_the_tank", "what comes in and does not leave in a month", remains(lines)),
            )
        for field, title, value in found:
            yield Number(
                name=f"doors.{element}.{field}",
                title=f"{element}: {title}",
                unit="g",
                value=value,
                line=f"doors.{element}",
                field=f"FluxLine.{field}",
            )


def _beside(number: Number, asking: Asking, _at: str) -> tuple[str, ...]:
    """The other numbers of its line."""
    own = number.line.partition(" ")[2]
    return tuple(
        one.name
        for one in told_numbers(asking)
        if one.title and one.name != number.name and (one.line == number.line or _lost(one, own))
    )


def _lost(one: Number, entry: str) -> bool:
    """Whether a number says what takes animals of an entry: told in one sentence with who is left."""
    return one.line.startswith(f"Loss {entry}.lost.")


def told_figure(asking: Asking, name: str) -> Figure | None:
    """The figure of the forecast that has this name; the plan is simulated only where it looks like one."""
    if not could_be_told(name):
        return None
    return next((one for one in told_figures(asking) if one.name == name), None)


def _found(number: Number, asking: Asking, _on: date | None) -> Found:
    symbol = number.field.partition(".")[2]
    tree = tree_of(number.value, About(symbol=symbol, key=number.name, kind="law", unit=number.unit))
    return Found(
        tree=tree,
        shown=shown(number.value, number.unit),
        by_member=by_member(number.value, asking.course.members.count),
    )
