"""The numbers of a forecast by the names under which they can be asked why."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any, TypeGuard

from backreef.working.record import recording
from backreef.working.steps import InItsUnit

FIT = "fit."
"""So all numbers of a fit to the log begin."""
_MIDDLE = "_p50"
_SPREAD = "Spread"
_POINTS = {"p05": "lowest 5 % of the members", "p50": "middle of the members", "p95": "highest 95 %"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A number of a forecast."""

    name: str
    """As it is asked for."""
    title: str
    unit: str
    value: InItsUnit
    line: str
    """The line that it is of, as its numbers are asked."""
    field: str
    """Kind of line and its field: `ChoreLine.times_per_year`."""


@cache
def told_names() -> Mapping[str, Mapping[str, Any]]:
    """By kind of line: the name it stands under, of what it tells, and words and unit of its numbers."""
    with (files("backreef.usecases") / "data" / "told_names.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def _words_of(kind: str) -> Mapping[str, tuple[str, str]]:
    """Words and unit of the numbers of a kind of line."""
    numbers = told_names().get(kind, {}).get("numbers", [])
    return {field: (words, unit) for field, words, unit in numbers}


def finding_asked(ident: str, part: str) -> str:
    """The figure that the title or the reason of a rule's finding tells of, by its id; empty for none."""
    for beginning, figure in told_names()["Finding"][part]:
        if ident.startswith(beginning):
            return str(figure).format(entry=ident.removeprefix(beginning).partition(".")[0])
    return ""


def could_be_told(name: str) -> bool:
    """Whether a name looks like that of a number of a forecast."""
    of_lines = {field.removesuffix(_MIDDLE) for kind in told_names() for field in _words_of(kind)}
    of_lines |= {"comes_in", "leaves", "left_in_the_tank", "had_share", "has_share"}
    return any(part in of_lines for part in name.split("."))


def told_name(line: object, field: str, *, within: str = "", part: str = "") -> str:
    """The name under which a number of a line can be asked."""
    asked = [_place(line, within), field.removesuffix(_MIDDLE), _slug(part)]
    return ".".join(one for one in asked if one)


def course_name(door_series: str, *, fitted: bool) -> str:
    """What a series of a fit is asked as; its day follows."""
    return f"{FIT}course.{door_series}.{'fitted' if fitted else 'planned'}"


def remedy_asked(finding: object, remedy: str, name: str) -> str:
    """What a number of a remedy of a finding is asked as."""
    return told_name(finding, "remedy", part=f"{remedy}.{name}")


def numbers_of(line: object, within: str = "") -> Iterator[Number]:
    """Every number of a line of a forecast and of all lines in it, also those that have no words here."""
    names = [one.name for one in fields(line)] if _is_line(line) else []
    derived = [name for name in _words_of(type(line).__name__) if name not in names]
    for name in (*names, *derived):
        with recording():
            value = getattr(line, name)
        if _is_number(value):
            yield _number(line, name, value, within)
        elif isinstance(value, Mapping):
            for part, each in value.items():
                if _is_number(each):
                    yield _number(line, name, each, within, part=str(part))
        elif type(value).__name__ == _SPREAD:
            yield from _of_spread(line, name, value, within)
        elif _is_line(value):
            yield from numbers_of(value, _place(line, within))
        elif isinstance(value, tuple):
            yield from _of_many(line, name, value, within)


def _of_spread(line: object, name: str, spread: object, within: str) -> Iterator[Number]:
    """The three points of a number: under the name of what they are of."""
    for point, words in _POINTS.items():
        found = _number(line, name, getattr(spread, point), within, part=point)
        title = found.title.removesuffix(point) + words if found.title else ""
        yield replace(found, title=title, field=f"{found.field}.{point}")


def _of_many(line: object, name: str, many: tuple[Any, ...], within: str) -> Iterator[Number]:
    for place, each in enumerate(many, 1):
        if _is_line(each):
            yield from numbers_of(each, _place(line, within))
        elif _is_number(each):
            yield _number(line, name, each, within, part=str(place))
        elif isinstance(each, tuple) and len(each) == 2 and _is_number(each[1]):  # noqa: PLR2004  word and number
            yield _number(line, name, each[1], within, part=str(each[0]))


def _number(line: object, name: str, value: InItsUnit, within: str, *, part: str = "") -> Number:
    kind = type(line).__name__
    known = told_names().get(kind, {})
    words, unit = _words_of(kind).get(name, ("", ""))
    called = _said(str(known.get("called", "")), line)
    title = ": ".join(one for one in (called, f"{words}, {part}" if part else words) if one)
    return Number(
        name=told_name(line, name, within=within, part=part),
        title=title if words else "",
        unit=_said(unit, line),
        value=value,
        line=f"{kind} {_place(line, within)}",
        field=f"{kind}.{name}",
    )


def _place(line: object, within: str) -> str:
    at = str(told_names().get(type(line).__name__, {}).get("at", ""))
    own = ".".join(_slug(part) for part in _said(at.removeprefix("/"), line, mark="\0").split("\0") if part)
    return own if at.startswith("/") or not within else f"{within}.{own}"


def _said(pattern: str, line: object, *, mark: str = "") -> str:
    """A pattern with the fields of a line; `mark` stands where its dots stood."""
    dotted = pattern.replace(".", mark) if mark else pattern
    return re.sub(r"\{(\w+)\}", lambda found: str(getattr(line, found[1])), dotted)


def _slug(text: str) -> str:
    """Words as part of a name: without spaces and brackets."""
    return re.sub(r"[^A-Za-z0-9_.-]+", "_", text).strip("_")


def _is_line(value: object) -> TypeGuard[Any]:
    return is_dataclass(value) and not isinstance(value, type)


def _is_number(value: object) -> TypeGuard[float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
