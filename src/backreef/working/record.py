"""Recording a working: what is read while somebody asks carries where it was read, functions give names.

Outside `recording()` nothing here does anything: tables give plain numbers, and functions that are `askable`
give what they give.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import fields, is_dataclass, replace
from datetime import date
from functools import cache, wraps
from typing import Any, ParamSpec, TypeVar

from backreef.working.number import Worked
from backreef.working.steps import LAW, LEAF, LITERAL, NAMED, About, InItsUnit, Kind, Step

P = ParamSpec("P")
R = TypeVar("R")
T = TypeVar("T")
_tables: ContextVar[dict[int, tuple[Any, Any]] | None] = ContextVar("tables of a working", default=None)
"""While recording: each table that was asked for, by its place in memory, and what was told of it."""
_SECTION = "---"


@contextmanager
def recording() -> Iterator[None]:
    """Let what is read within carry where it was read. Other threads are not recorded."""
    token = _tables.set({})
    try:
        yield
    finally:
        _tables.reset(token)


@contextmanager
def not_recording() -> Iterator[None]:
    """Let what is read within be plain, whoever asks."""
    token = _tables.set(None)
    try:
        yield
    finally:
        _tables.reset(token)


def is_recording() -> bool:
    """Whether somebody asks."""
    return _tables.get() is not None


def leaf(value: InItsUnit, about: About) -> Worked:
    """Give a number that was read somewhere."""
    return Worked(Step(LEAF, float(value), (), about))


def told(table: T, key: str, *, kind: Kind = "constant", source: str = "", status: str = "") -> T:
    """Give a table as it is or, while recording, with numbers that carry where they stand.

    A number beside a unit, a source and a status carries these; of others `source` and `status` are said.
    """
    known = _tables.get()
    if known is None:
        return table
    if id(table) not in known:
        plain = About(symbol="", key="", kind=kind, source=source, status=status)
        known[id(table)] = (table, _told(table, key, plain))
    return known[id(table)][1]  # type: ignore[no-any-return]


def told_number(value: InItsUnit, about: About) -> InItsUnit:
    """Give a number as it is or, while recording, with where it stands."""
    return value if _tables.get() is None else leaf(value, about)


def told_constant(value: InItsUnit, name: str, module: str) -> InItsUnit:
    """Give a constant of a module as it is or, while recording, with its name."""
    return Worked(_constant(name, module, value)) if is_recording() else value


def _told(found: Any, key: str, plain: About) -> Any:  # noqa: ANN401  tables of any shape
    if isinstance(found, Worked | str | bool) or found is None:
        return found
    if isinstance(found, float):
        return leaf(found, replace(plain, symbol=_symbol(key), key=key))
    if _says_its_source(found):
        return replace(found, value=leaf(found.value, _about_value(found, key, plain.kind)))
    if is_dataclass(found) and not isinstance(found, type):
        parts = {one.name: getattr(found, one.name) for one in fields(found) if one.init}
        changed = {name: _told(part, f"{key}.{name}", plain) for name, part in parts.items()}
        changed = {name: part for name, part in changed.items() if part is not parts[name]}
        return replace(found, **changed) if changed else found
    return _told_many(found, key, plain)


def _told_many(found: Any, key: str, plain: About) -> Any:  # noqa: ANN401  tables of any shape
    if isinstance(found, Mapping):
        return {name: _told(part, f"{key}.{name}", plain) for name, part in found.items()}
    if type(found) in (tuple, list):
        return type(found)(_told(part, f"{key}[{number}]", plain) for number, part in enumerate(found))
    return found


def _says_its_source(found: object) -> bool:
    names = ("value", "unit", "source", "status")
    return is_dataclass(found) and all(hasattr(found, name) for name in names)


def _about_value(found: Any, key: str, kind: Kind) -> About:  # noqa: ANN401  values of several rooms
    return About(
        symbol=_symbol(key),
        key=key,
        kind=kind,
        what=getattr(found, "meaning", "") or getattr(found, "note", ""),
        unit=found.unit,
        low=found.low,
        high=found.high,
        source=found.source,
        place=getattr(found, "place", ""),
        status=found.status,
    )


def _symbol(key: str) -> str:
    """The last part of a key that is a word."""
    words = [word for word in key.replace("[", ".").replace("]", "").split(".") if not word.isdigit()]
    return "".join(letter if letter.isalnum() else "_" for letter in (words or [key])[-1])


# --- functions that give names ------------------------------------------------------------------------------


def askable(function: Callable[P, R]) -> Callable[P, R]:
    """Let what a function gives have its name, its words and its inputs in a working."""

    @wraps(function)
    def call(*args: P.args, **kwargs: P.kwargs) -> R:
        result = function(*args, **kwargs)
        if isinstance(result, Worked):
            return _named(result, function, args, kwargs)  # type: ignore[return-value]
        if is_recording() and is_dataclass(result) and not isinstance(result, type):
            parts = {one.name: getattr(result, one.name) for one in fields(result) if one.init}
            named = {
                name: _named(part, function, args, kwargs, part=name)
                for name, part in parts.items()
                if isinstance(part, Worked)
            }
            return replace(result, **named)
        return result

    return call


def named(value: InItsUnit, about: About) -> InItsUnit:
    """Give a number a name in its working; a plain one stays plain."""
    return Worked(Step(NAMED, float(value), (value.step,), about)) if isinstance(value, Worked) else value


def _named(
    value: Worked,
    function: Callable[..., Any],
    args: Any,  # noqa: ANN401  whatever the function takes
    kwargs: Any,  # noqa: ANN401  whatever the function takes
    *,
    part: str = "",
) -> Worked:
    if value.step.op in (LEAF, NAMED):
        return value
    says = _says(function)
    about = replace(
        says,
        symbol=says.symbol if part in ("", "value") else part,
        key=f"{says.key}.{part}" if part else says.key,
        given=_given(function, args, kwargs),
    )
    return Worked(Step(NAMED, float(value), (_with_constants(value.step, function),), about))


@cache
def _says(function: Callable[..., Any]) -> About:
    """What the docstring of a function says: its first line, its unit in brackets, validity and source."""
    parts = [" ".join(part.split()) for part in inspect.cleandoc(function.__doc__ or "").split("\n\n")]
    what, bracket, unit = parts[0].partition("[")
    sections = {
        head: words.lstrip("- ") for part in parts for head, ruled, words in [part.partition(_SECTION)]
    }
    return About(
        symbol=function.__name__.lstrip("_"),
        key=f"{function.__module__.removeprefix('backreef.')}.{function.__name__}",
        kind=LAW,
        what=what.strip().rstrip(".;"),
        unit=unit.partition("]")[0] if bracket else "",
        source=sections.get("Source ", ""),
        validity=sections.get("Validity ", ""),
        place=function.__module__,
    )


def _given(function: Callable[..., Any], args: Any, kwargs: Any) -> dict[str, str]:  # noqa: ANN401
    """Words, days and whole numbers that a function was called with."""
    bound = inspect.signature(function).bind(*args, **kwargs)
    shown = (str, int, date)
    return {
        name: str(value)
        for name, value in bound.arguments.items()
        if isinstance(value, shown) and not isinstance(value, float)
    }


def _with_constants(step: Step, function: Callable[..., Any]) -> Step:
    """The step with the constants that the function's module names, by their names."""
    code, known = function.__code__, function.__globals__
    names = {
        float(known[name]): name
        for name in code.co_names
        if name.strip("_").isupper() and isinstance(known.get(name), float | int)
    }
    return _renamed(step, names, function.__module__, {}) if names else step


@cache
def _constant(name: str, module: str, value: InItsUnit) -> Step:
    """A constant that a module names."""
    key = f"{module.removeprefix('backreef.')}.{name}"
    return Step(LEAF, value, (), About(symbol=name, key=key, kind="constant", place=module, status="exact"))


def _renamed(step: Step, names: Mapping[float, str], module: str, seen: dict[int, Step]) -> Step:
    if id(step) in seen:
        return seen[id(step)]
    result = step
    if step.op == LITERAL and step.value in names:
        result = _constant(names[step.value], module, step.value)
    elif step.args and step.op != NAMED:
        args = tuple(_renamed(arg, names, module, seen) for arg in step.args)
        changed = any(new is not old for new, old in zip(args, step.args, strict=True))
        result = Step(step.op, step.value, args, step.about) if changed else step
    seen[id(step)] = result
    return result
