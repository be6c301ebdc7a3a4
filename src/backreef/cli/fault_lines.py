"""Faults as lines: where, what, and the line of the file with a pointer at the place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from pathlib import Path

from backreef.errors import Fault
from backreef.plots.markup import printable
from backreef.reports.text_layout import Style

_READ_BYTES = 2_000_000
_SHOWN_COLUMNS = 72
_BEFORE_POINTER = 36
"""Columns shown before the place, where a line is too long to be shown whole."""
_COLUMN = re.compile(r"column (\d+)")


def fault_lines(faults: Iterable[Fault], style: Style) -> list[str]:
    """The faults file by file, each on one line, followed by the line of the file that it is about."""
    lines: list[str] = []
    for file, group in groupby(faults, key=lambda fault: fault.file):
        source = _lines_of(file)
        for fault in group:
            lines.append(style.paint(style.plain(str(fault)), "break"))
            lines += _quoted(fault, source, style)
    return lines


def faults_text(faults: Sequence[Fault], style: Style) -> str:
    """All that is said of faults, with their number where there are several."""
    lines = fault_lines(faults, style)
    if len(faults) > 1:
        files = len({fault.file for fault in faults})
        lines += ["", f"{len(faults)} faults{f' in {files} files' if files > 1 else ''}."]
    return "\n".join(lines) + "\n"


def _lines_of(file: str) -> list[str]:
    """The lines of the file, or none where it cannot be read."""
    try:
        path = Path(file)
        if not path.is_file():
            return []
        with path.open("rb") as opened:
            content = opened.read(_READ_BYTES)
    except (OSError, ValueError):
        return []
    return [line.removesuffix("\r") for line in content.decode("utf-8", errors="replace").split("\n")]


def _quoted(fault: Fault, source: list[str], style: Style) -> Iterator[str]:
    if fault.line is None or not 0 < fault.line <= len(source):
        return
    text = printable(source[fault.line - 1].replace("\t", " "))
    if not text.strip():
        return
    start, length = _place(fault, text)
    text, start, length = _window(text.rstrip(), start, length)
    number = f"{fault.line:6d} | "
    shown = text if not style.ascii_only else text.encode("ascii", errors="replace").decode("ascii")
    yield style.paint(number + shown, "quiet")
    yield style.paint(f"{' ' * (len(number) - 2)}| {' ' * start}{'^' * max(1, length)}", "quiet")


def _place(fault: Fault, text: str) -> tuple[int, int]:
    """Where in its line a fault is: at its key, at the column it names, or at the first letter."""
    at = _COLUMN.search(fault.message)
    if not fault.key and at:
        return min(int(at[1]) - 1, len(text)), 1
    for word in reversed(re.findall(r"[A-Za-z_][\w-]*", fault.key)):
        found = re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text)
        if found:
            return found.start(), len(word)
    start = len(text) - len(text.lstrip())
    return start, len(text.strip())


def _window(text: str, start: int, length: int) -> tuple[str, int, int]:
    """The part of a long line around the place."""
    if len(text) <= _SHOWN_COLUMNS:
        return text, start, length
    first = max(0, min(start - _BEFORE_POINTER, len(text) - _SHOWN_COLUMNS))
    shown = text[first : first + _SHOWN_COLUMNS]
    return shown, start - first, min(length, _SHOWN_COLUMNS - (start - first))
