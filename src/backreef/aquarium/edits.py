"""Changes the text of a plan file key by key; comments, order and spelling of all the rest stay.

Every change is proved before it is given out: the new text, read as TOML, says what was asked for and nothing
else has changed. Where the text is laid out in a way that cannot be changed so, the change is refused and
nothing is lost.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from typing import Any

from backreef.aquarium.document import Table
from backreef.aquarium.places import Path, find_lines
from backreef.errors import BackreefError

_HEADER = re.compile(r"^\s*\[")
_STRINGS = re.compile(r"\"(?:[^\"\\]|\\.)*\"|'[^']*'")


class CannotEdit(BackreefError):
    """A change that this text does not take; it can be written into the text by hand."""


def set_key(text: str, path: Path, value: str) -> str:
    """The text with a key set to a value, given as TOML: `("animals", 2, "count")`, `3`.

    Raises
    ------
    CannotEdit
        If the value is no TOML, or the text cannot be changed so.
    """
    wanted = _parsed(text)
    _put(wanted, path, read_value(value))
    lines, at = text.split("\n"), find_lines(text).get(path)
    if at is not None:
        first = at - 1
        head, old, last = _extent(lines, first)
        if any("#" in _STRINGS.sub("", line) for line in old.split("\n")):
            raise CannotEdit("remarks stand inside of this value and would be lost; change it in the text")
        lines[first : last + 1] = [f"{head}{value}{_after(lines, first, last, old)}"]
        return _proved(lines, wanted)
    return _proved(_with_new_key(text, lines, path, value), wanted)


def drop_key(text: str, path: Path) -> str:
    """The text without a key; without any change if it is not there.

    Raises
    ------
    CannotEdit
        If the text cannot be changed so.
    """
    at = find_lines(text).get(path)
    if at is None:
        return text
    wanted, lines = _parsed(text), text.split("\n")
    _take(wanted, path)
    _, _, last = _extent(lines, at - 1)
    del lines[at - 1 : last + 1]
    return _proved(lines, wanted)


def add_entry(text: str, section: str, keys: Sequence[tuple[str, str]]) -> str:
    """The text with a further entry of a list of tables, behind the last one; values are TOML.

    Raises
    ------
    CannotEdit
        If a value is no TOML, or the text cannot be changed so.
    """
    wanted = _parsed(text)
    wanted.setdefault(section, []).append({key: read_value(value) for key, value in keys})
    block = [f"[[{section}]]", *(f"{key} = {value}" for key, value in keys)]
    lines, places = text.rstrip("\n").split("\n"), find_lines(text)
    count = len(_parsed(text).get(section, []))
    if count:
        end = _end_of_table(lines, places[section, count - 1] - 1)
        lines[end:end] = ["", *block]
    else:
        lines += ["", *block]
    return _proved([*lines, ""], wanted)


def drop_entry(text: str, section: str, number: int) -> str:
    """The text without an entry of a list of tables, counted from 0.

    Raises
    ------
    CannotEdit
        If it is not there, or the text cannot be changed so.
    """
    wanted, lines, at = _parsed(text), text.split("\n"), find_lines(text).get((section, number))
    if at is None:
        raise CannotEdit(f"the plan has no entry {number + 1} in {section}")
    _take(wanted, (section, number))
    end = _end_of_table(lines, at - 1)
    while end < len(lines) - 1 and not lines[end].strip():
        end += 1
    del lines[at - 1 : end]
    return _proved(lines, wanted)


def read_value(value: str) -> Any:  # noqa: ANN401  whatever TOML holds
    """What a value of TOML stands for.

    Raises
    ------
    CannotEdit
        If it is none.
    """
    try:
        return tomllib.loads(f"x = {value}")["x"]
    except (tomllib.TOMLDecodeError, KeyError, ValueError):
        raise CannotEdit(f"{value!r} cannot stand in a plan file") from None


def _parsed(text: str) -> Table:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as trouble:
        raise CannotEdit(f"the text is not valid TOML: {trouble}") from None


def _put(document: Table, path: Path, value: Any) -> None:  # noqa: ANN401  whatever TOML holds
    at: Any = document
    for part in path[:-1]:
        at = at.setdefault(part, {}) if isinstance(at, dict) else at[part]
    if not isinstance(at, dict):
        raise CannotEdit(f"{'.'.join(map(str, path))} is no key")
    at[path[-1]] = value


def _take(document: Table, path: Path) -> None:
    at: Any = document
    for part in path[:-1]:
        at = at[part]
    del at[path[-1]]
    if isinstance(path[-1], int) and not at:
        del document[str(path[0])]


def _extent(lines: list[str], first: int) -> tuple[str, str, int]:
    """What stands before a value, the value, and the line on which it ends."""
    head, sign, rest = lines[first].partition("=")
    if not sign:
        raise CannotEdit("this key stands in a place that the page cannot change")
    space = rest[: len(rest) - len(rest.lstrip())]
    value = rest.lstrip()
    for last in range(first, len(lines)):
        value = value if last == first else f"{value}\n{lines[last]}"
        found = _shortest(value)
        if found is not None:
            return f"{head}={space}", found, last
    raise CannotEdit("the end of this value is not to be found")


def _shortest(value: str) -> str | None:
    """The value without a comment behind it; None if it does not end here."""
    last_line = value.rfind("\n") + 1
    ends = [at for at, sign in enumerate(value) if sign == "#" and at >= last_line]
    for end in (*ends, len(value)):
        candidate = value[:end].rstrip()
        try:
            if len(tomllib.loads(f"x = {candidate}")) == 1:
                return candidate
        except (tomllib.TOMLDecodeError, ValueError):
            continue
    return None


def _after(lines: list[str], first: int, last: int, old: str) -> str:
    """The comment behind a value."""
    whole = "\n".join([lines[first].partition("=")[2].lstrip(), *lines[first + 1 : last + 1]])
    return whole[len(old) :]


def _with_new_key(text: str, lines: list[str], path: Path, value: str) -> list[str]:
    """The lines with a key that was not there: at the end of its table, which is made if need be."""
    table, key = path[:-1], str(path[-1])
    lines = list(lines)
    if not table:
        lines.insert(_before_headers(lines), f"{key} = {value}")
        return lines
    at = find_lines(text).get(table)
    if at is not None and _HEADER.match(lines[at - 1]):
        lines.insert(_end_of_table(lines, at - 1), f"{key} = {value}")
        return lines
    if at is not None or any(isinstance(part, int) for part in table):
        raise CannotEdit("this table is written in one line; change it in the text")
    return [
        *"\n".join(lines).rstrip("\n").split("\n"),
        "",
        f"[{'.'.join(map(str, table))}]",
        f"{key} = {value}",
        "",
    ]


def _before_headers(lines: list[str]) -> int:
    """Where a key of the top goes: before the first table and the remarks on it."""
    first = next((i for i, line in enumerate(lines) if _HEADER.match(line)), len(lines))
    while first and (not lines[first - 1].strip() or lines[first - 1].lstrip().startswith("#")):
        first -= 1
    return first


def _end_of_table(lines: list[str], header: int) -> int:
    """The line behind the last key of a table; remarks before the next header belong to that one."""
    end, inside = header + 1, header + 1
    while inside < len(lines):
        line = lines[inside].strip()
        if line.startswith("["):
            break
        if not line or line.startswith("#"):
            inside += 1
            continue
        _, _, last = _extent(lines, inside)
        inside = end = last + 1
    return end


def _proved(lines: list[str], wanted: Table) -> str:
    """The text, once it is sure to say what is wanted."""
    text = "\n".join(lines)
    if _parsed(text) != wanted:
        raise CannotEdit("this text is laid out in a way that the page cannot change; change it in the text")
    return text
