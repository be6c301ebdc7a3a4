"""What stands in the middle or at the edge of many members: a plain number, or one that knows how it came.

Whoever asks sees the members beside the point; where nobody asks, numpy's percentile is all there is to it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, cast
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from backreef.working.number import Worked, step_of, worked
from backreef.working.record import is_recording, leaf, named
from backreef.working.steps import LEAF, LITERAL, NAMED, About, InItsUnit, Kind, Step

Values = npt.NDArray[Any]
MARCH = "the march of the ensemble"
_HUNDRED = 100.0
_TEENS = (11, 12, 13)
_MIDDLE, _EDGES = 50, (5, 95)
_ROWS: WeakKeyDictionary[Step, Values] = WeakKeyDictionary()
"""Behind each point of members that somebody asks about, the value of each of them."""
_OF_ROWS: dict[str, Callable[..., Any]] = {
    "+": np.add,
    "-": np.subtract,
    "*": np.multiply,
    "/": np.divide,
    "**": np.power,
    "exp": np.exp,
    "log": np.log,
    "sqrt": np.sqrt,
    "round": lambda value, digits=0.0: np.round(value, int(digits)),
    "select": lambda test, positive, otherwise: np.where(np.asarray(test) > 0.0, positive, otherwise),
    "sum": lambda *terms: sum(terms),
    "floor": np.floor,
    "ceil": np.ceil,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What a number of the members is."""

    symbol: str
    what: str
    unit: str = ""
    of: str = "members"
    """What stands in the row, if each value is not that of a member."""
    source: str = MARCH


def point(
    values: Values, percent: int, seen: Seen, of_member: Callable[[int], InItsUnit] | None = None
) -> InItsUnit:
    """The percentile of values, between two of them where it falls there.

    `of_member` gives the working of a value by its place, where it has one.
    """
    if not is_recording():
        return float(np.percentile(values, percent))
    order = np.argsort(np.asarray(values, dtype=np.float64), axis=None, kind="stable")
    row = np.asarray(values, dtype=np.float64).ravel()[order]
    place = (len(row) - 1) * percent / _HUNDRED
    below = math.floor(place)

    def one(rank: int) -> InItsUnit:
        return _one(row, rank, seen, None if of_member is None else of_member(int(order[rank])))

    value = one(below)
    if place > below and row[below] != row[below + 1]:
        value = value + (one(below + 1) - value) * way_between(percent, len(row), seen.of)
    words = "median" if percent == _MIDDLE else f"{percent} % point"
    about = _about(row, seen, what=f"{seen.what}, {words} of {len(row)} {seen.of}")
    found = named(value, _as_law(about, f"{seen.symbol}_p{percent:02d}"))
    if np.ndim(values) == 1:
        _ROWS[step_of(found)] = np.asarray(values, dtype=np.float64)
    return found


def by_member(value: InItsUnit, members: int) -> tuple[InItsUnit, ...]:
    """A number in each member, by its working with that member's values in place of a point of all.

    None where no row of that many members stands behind it.
    """
    known: dict[int, Any] = {}
    rows = 0
    with np.errstate(all="ignore"):  # what is chosen from need not be defined in every member
        for step in _inputs_first(step_of(value), members):
            row = _row_of(step, members)
            if row is not None:
                known[id(step)], rows = row, rows + 1
            elif step.op in (NAMED, LEAF, LITERAL):
                known[id(step)] = known[id(step.args[0])] if step.args else step.value
            else:
                known[id(step)] = _OF_ROWS[step.op](*(known[id(arg)] for arg in step.args))
    found = known[id(step_of(value))]
    return tuple(np.broadcast_to(found, members).tolist()) if rows else ()


def _row_of(step: Step, members: int) -> Values | None:
    row = _ROWS.get(step)
    return row if row is not None and len(row) == members else None


def _inputs_first(root: Step, members: int) -> list[Step]:
    """Every step behind one, each after what it was made from; nothing below a point of the members."""
    order: list[Step] = []
    seen: set[int] = set()
    waiting = [(root, False)]
    while waiting:
        step, ready = waiting.pop()
        if ready:
            order.append(step)
        elif id(step) not in seen:
            seen.add(id(step))
            waiting.append((step, True))
            if _row_of(step, members) is None:
                waiting.extend((arg, False) for arg in step.args)
    return order


def middle(values: Values, seen: Seen, of_member: Callable[[int], InItsUnit] | None = None) -> InItsUnit:
    """The median of values."""
    return point(values, _MIDDLE, seen, of_member) if is_recording() else float(np.median(values))


def of_each(value: InItsUnit, seen: Seen, member: int) -> InItsUnit:
    """A number of one member as it came out of the march."""
    words = f"member {member + 1}"
    about = About(
        symbol=seen.symbol,
        key=f"members.{seen.symbol}.{words}",
        kind="simulated",
        what=f"{seen.what}, {words}",
        unit=seen.unit,
        source=seen.source,
        status="simulated",
    )
    return leaf(float(value), about) if is_recording() else value


def counted(number: int, of: str = "members") -> InItsUnit:
    """How many there are."""
    return leaf(float(number), _count(number, of)) if is_recording() else float(number)


def whole_point(values: Values, percent: int, seen: Seen) -> InItsUnit:
    """The percentile of whole things: the lower of the two between which it falls."""
    if not is_recording():
        return float(np.percentile(values, percent, method="lower"))
    row = np.sort(np.asarray(values, dtype=np.float64), axis=None)
    return _one(row, math.floor((len(row) - 1) * percent / _HUNDRED), seen)


def mean(values: Values, seen: Seen) -> InItsUnit:
    """The mean of values."""
    if not is_recording():
        return float(np.mean(values))
    row = np.asarray(values, dtype=np.float64).ravel()
    summed = _about(row, seen, what=f"{seen.what}, added up over {len(row)} {seen.of}")
    about = _about(row, seen, what=f"{seen.what}, mean of {len(row)} {seen.of}")
    value = leaf(float(row.sum()), summed) / leaf(float(len(row)), _count(len(row), seen.of))
    return named(value, _as_law(about, f"{seen.symbol}_mean"))


def share_of(hit: npt.NDArray[np.bool_], seen: Seen) -> InItsUnit:
    """The share of members that something is true of; 0 where there are none."""
    if not hit.size:
        return 0.0
    if not is_recording():
        return float(hit.mean())
    about = About(
        symbol=f"{seen.symbol}_hit",
        key=f"members.{seen.symbol}",
        kind="simulated",
        what=f"{seen.of} of {hit.size}: {seen.what}",
        source=seen.source,
        status="simulated",
    )
    value = leaf(float(hit.sum()), about) / leaf(float(hit.size), _count(hit.size, seen.of))
    return named(value, _as_law(about, f"{seen.symbol}_share"))


def seen_once(value: InItsUnit, seen: Seen, *, kind: Kind = "simulated", place: str = "") -> InItsUnit:
    """A number that was counted or simulated as it is, with what it is."""
    if not is_recording() or isinstance(value, Worked):
        return value
    about = About(
        symbol=seen.symbol,
        key=f"{'plan' if kind == 'plan' else 'members'}.{seen.symbol}",
        kind=kind,
        what=seen.what,
        unit=seen.unit,
        source=MARCH if kind == "simulated" else "",
        place=place,
        status="simulated" if kind == "simulated" else "calc",
    )
    return leaf(float(value), about)


def whole(value: InItsUnit) -> int:
    """The whole things in a number of 0 or more."""
    return cast("int", _rounded("floor", value, math.floor))


def rounded_up(value: InItsUnit) -> int:
    """The whole things that hold all of a number."""
    return cast("int", _rounded("ceil", value, math.ceil))


def _rounded(name: str, value: InItsUnit, rule: Callable[[float], int]) -> InItsUnit:
    return worked(name, rule(value), value) if isinstance(value, Worked) else rule(value)


def _one(row: Values, place: int, seen: Seen, how: InItsUnit | None = None) -> InItsUnit:
    what = f"{seen.what}: {_rank(place)} from below of {len(row)} {seen.of}"
    about = _about(row, seen, what=what, place=place)
    return leaf(float(row[place]), about) if how is None else named(how, _as_law(about, about.symbol))


def _rank(place: int) -> str:
    """The 1st, 2nd, 3rd or 4th; the 11th."""
    number = place + 1
    ending = "th" if number % 100 in _TEENS else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _about(row: Values, seen: Seen, *, what: str, place: int | None = None) -> About:
    low, high = (float(np.percentile(row, percent)) for percent in _EDGES)
    return About(
        symbol=seen.symbol if place is None else f"{seen.symbol}_{place + 1}",
        key=f"members.{seen.symbol}{'' if place is None else f'.{place + 1}'}",
        kind="simulated",
        what=what,
        unit=seen.unit,
        low=low,
        high=high,
        source=seen.source,
        status="simulated",
        members=len(row),
    )


def _as_law(about: About, symbol: str) -> About:
    return About(symbol=symbol, key=about.key, kind="law", what=about.what, unit=about.unit)


def _count(number: int, of: str) -> About:
    return About(
        symbol=f"all_{of.replace(' ', '_')}",
        key="members.count",
        kind="simulated",
        what=f"{of} in all",
        source="how many were asked for",
        status="simulated",
        members=number,
    )


def way_between(percent: int, count: int, of: str = "members") -> Worked:
    """How far a percentile of so many values lies on the way from one to the next."""
    place = (count - 1) * percent / _HUNDRED
    about = About(
        symbol=f"way_to_{percent}_percent",
        key=f"members.way.{percent}.{count}",
        kind="constant",
        what=f"how far the {percent} % point of {count} {of} lies on the way from one to the next",
        source="definition of a percentile, linear between neighbours",
        status="exact",
    )
    return leaf(place - math.floor(place), about)
