"""Lists of small tables inside a plan (days closed, helpers, wishes) as rows to be filled in."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from backreef.aquarium.edits import CannotEdit, read_value
from backreef.aquarium.limits import Key, all_keys
from backreef.aquarium.toml_text import quoted

_ROW = re.compile(r"\[(\d+)\]\.(\w+)$")
SPARE_ROWS = 2
"""Empty rows behind the filled ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One key of a row."""

    name: str
    """As in messages: keeper.closed[0].country."""
    label: str
    written: str
    example: str
    help: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One table of the list; all its cells are empty in a spare one."""

    number: int
    cells: tuple[Cell, ...]
    spare: bool


@cache
def columns_of(key: str) -> tuple[Key, ...]:
    """The keys of each table of a list; none where a key holds no list of tables."""
    prefix = f"{key}[]."
    return tuple(one for name, one in all_keys().items() if name.startswith(prefix))


def rows_of(key: str, name: str, value: Any) -> tuple[Row, ...]:  # noqa: ANN401  whatever TOML holds
    """The rows of a list of tables and the spare ones; none where it holds anything else."""
    columns = columns_of(key)
    tables = [] if value is None else value
    if not columns or not isinstance(tables, list) or not all(_is_plain(one, columns) for one in tables):
        return ()
    return tuple(
        Row(
            number=number,
            cells=tuple(_cell(name, number, column, key, table) for column in columns),
            spare=number >= len(tables),
        )
        for number, table in enumerate([*tables, *({} for _ in range(SPARE_ROWS))])
    )


def _is_plain(table: Any, columns: tuple[Key, ...]) -> bool:  # noqa: ANN401  whatever TOML holds
    """Whether a table holds nothing but known keys."""
    known = {column.key.rpartition(".")[2] for column in columns}
    return isinstance(table, dict) and set(table) <= known


def _cell(name: str, number: int, column: Key, key: str, table: Mapping[str, Any]) -> Cell:
    word = column.key.removeprefix(f"{key}[].")
    value = table.get(word)
    example = read_value(column.example) if column.example else ""
    return Cell(
        name=f"{name}[{number}].{word}",
        label=word.replace("_", " "),
        written="" if value is None else _written(value),
        example=_written(example),
        help=column.doc.replace("`", ""),
    )


def _written(value: Any) -> str:  # noqa: ANN401  whatever TOML holds
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(str(one) for one in value)
    return str(value)


def rows_in(key: str, name: str, value: Any, posted: Mapping[str, str]) -> str | None:  # noqa: ANN401
    """The list as TOML as it was filled in; None where nothing of it was changed, empty where all rows are.

    A cell that nobody touched keeps its value as the file has it.
    """
    rows = rows_of(key, name, value)
    numbers = {int(found[1]) for one in posted if one.startswith(f"{name}[") and (found := _ROW.search(one))}
    if not rows or not numbers:
        return None
    tables: list[dict[str, str]] = []
    changed = False
    for row in rows:
        table: dict[str, str] = {}
        for cell, column in zip(row.cells, columns_of(key), strict=True):
            said = posted.get(cell.name, cell.written).replace("\r\n", "\n").strip()
            word = column.key.rpartition(".")[2]
            if said != cell.written.strip():
                changed = True
                if said:
                    table[word] = _toml(said, column)
            elif cell.written:
                table[word] = as_toml(value[row.number][word])
        if table:
            tables.append(table)
    if not changed:
        return None
    return "[\n" + "".join(f"  {_inline(table)},\n" for table in tables) + "]" if tables else ""


def _inline(table: Mapping[str, str]) -> str:
    return "{ " + ", ".join(f"{word} = {said}" for word, said in table.items()) + " }"


def _toml(said: str, column: Key) -> str:
    """What was filled in, written as the example is; nonsense becomes a text, and the reader says so."""
    example = read_value(column.example) if column.example else ""
    if isinstance(example, list):
        return f"[{', '.join(quoted(one.strip()) for one in said.split(',') if one.strip())}]"
    if isinstance(example, bool):
        return {"yes": "true", "no": "false"}.get(said.lower(), quoted(said))
    if isinstance(example, str):
        return quoted(said)
    try:
        value = read_value(said)
    except CannotEdit:
        return quoted(said)
    return quoted(said) if isinstance(value, str | list | dict | bool) else said


def as_toml(value: Any) -> str:  # noqa: ANN401  whatever TOML holds
    """A value as TOML in one line, a list of tables with a line for each."""
    if isinstance(value, list):
        inside = [as_toml(one) for one in value]
        if any(isinstance(one, dict) for one in value):
            return "[\n" + "".join(f"  {one},\n" for one in inside) + "]"
        return f"[{', '.join(inside)}]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {as_toml(one)}" for key, one in value.items()) + " }"
    if isinstance(value, bool):
        return "true" if value else "false"
    return quoted(value) if isinstance(value, str) else str(value)


def cells(rows: tuple[Row, ...]) -> Iterator[Cell]:
    """Every cell of some rows."""
    for row in rows:
        yield from row.cells
