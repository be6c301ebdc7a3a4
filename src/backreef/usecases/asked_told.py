"""Figures of the forecast itself: every number of its lines, as the code that judges works it out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

from backreef.usecases.asked import Asking, Figure, Found, shown
from backreef.usecases.told_numbers import Number, could_be_told, numbers_of
from backreef.working.members import by_member
from backreef.working.number import Worked
from backreef.working.steps import About
from backreef.working.tree import tree_of


def told_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of the lines of the forecast; the plan is simulated to know them."""
    for number in numbers_of(asking.told):
        if number.title and isinstance(number.value, Worked):
            yield Figure(
                name=number.name,
                title=number.title,
                daily=False,
                forecast=True,
                find=partial(_found, number),
            )


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
