"""Figures of the forecast itself: every number of its lines, as the code that judges works it out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

from backreef.judgement.books import comes_in, leaves, remains
from backreef.judgement.trials import try_one
from backreef.judgement.verdict import Finding, Remedy
from backreef.usecases.asked import Asking, Figure, Found, refused, shown
from backreef.usecases.check import catalogue_of
from backreef.usecases.told_numbers import Number, could_be_told, remedy_asked
from backreef.working.members import Seen, by_member, share_of
from backreef.working.number import Worked
from backreef.working.record import not_recording, recording
from backreef.working.steps import About
from backreef.working.tree import tree_of

OF_REMEDY = {
    "had_share": "share of the members tried that had it before",
    "has_share": "share of the members tried that have it after",
}
"""What is told of a remedy that was tried, each by its name."""


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
    yield from _remedies(asking)


def _remedies(asking: Asking) -> Iterator[Figure]:
    """What each remedy that can be simulated does to its finding."""
    for finding in asking.told.findings:
        for remedy in finding.remedies:
            for name, words in {} if remedy.advice else OF_REMEDY.items():
                others = tuple(remedy_asked(finding, remedy.id, one) for one in OF_REMEDY if one != name)
                yield Figure(
                    name=remedy_asked(finding, remedy.id, name),
                    title=f"{finding.what}: {words}: {remedy.what}",
                    daily=False,
                    forecast=True,
                    find=partial(_of_remedy, finding, remedy, name),
                    beside=partial(_these, others),
                )


def _these(others: tuple[str, ...], _asking: Asking, _at: str) -> tuple[str, ...]:
    return others


def _of_remedy(finding: Finding, remedy: Remedy, name: str, asking: Asking, _on: date | None) -> Found:
    key = (finding.id, remedy.id)
    if key not in asking.tried:
        with not_recording():
            catalogue = catalogue_of(asking.plain)
            asking.tried[key] = try_one(finding, remedy.id, asking.course, catalogue)
    tried = asking.tried[key]
    if tried is None:
        raise refused(asking, f"'{remedy.what}' cannot be simulated for '{finding.what}'")
    mask = tried[list(OF_REMEDY).index(name)]
    with recording():
        seen = Seen(symbol=name, what=OF_REMEDY[name], of="members tried")
        value = share_of(mask, seen)
    tree = tree_of(value, About(symbol=name, key=remedy_asked(finding, remedy.id, name), kind="law"))
    return Found(tree=tree, shown=f"{int(mask.sum())} of {mask.size}")


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
