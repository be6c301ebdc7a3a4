"""Pieces of TOML as text: strings, lists, tables of lines."""

from __future__ import annotations

import json
from collections.abc import Iterable

Line = tuple[str, str]
"""A key and its value as written in TOML."""


def block(header: str, lines: Iterable[Line], *, even_if_empty: bool = False) -> str:
    """A table under its header; nothing where it has no lines."""
    written = lines_text(lines)
    return f"\n{header}\n{written}" if written or even_if_empty else ""


def lines_text(lines: Iterable[Line]) -> str:
    """A line for each key."""
    return "".join(f"{key} = {value}\n" for key, value in lines)


def quoted(text: str) -> str:
    """A basic string of TOML, which is one of JSON but for the sign of deletion."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def paragraph(text: str) -> str:
    """A string over several lines."""
    lines = [quoted(line)[1:-1] for line in text.split("\n")]
    return '"""\n' + "\n".join(lines) + '"""'


def list_text(values: Iterable[str]) -> str:
    """A list of values that are written already."""
    return f"[{', '.join(values)}]"


def texts(values: Iterable[str]) -> str:
    """A list of strings."""
    return list_text(quoted(value) for value in values)


def inline(lines: Iterable[Line]) -> str:
    """A table in one line."""
    return f"{{ {', '.join(f'{key} = {value}' for key, value in lines)} }}"
