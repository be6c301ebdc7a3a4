"""Text in columns for a terminal: widths as they are seen, wrapping, tables, and colour as a second cue."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from backreef.plots.markup import printable

_CODES = {"strong": "1", "quiet": "2", "sea": "36", "break": "1;31"}
_LETTERS = {
    "\u00a0": " ",
    "–": "-",
    "—": "-",
    "…": "...",
    "·": "-",
    "’": "'",
    "“": '"',
    "”": '"',
    "°": "deg ",
    "±": "+-",
    "×": "x",
    "µ": "u",
    "−": "-",
}
_LEAST_COLUMN = 6
_BREAKS = re.compile(r"[ \t\r\n]+")
"""Where a line may be broken: not at the blank between a number and its sign."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """How wide a page is, whether it may use colour, and whether only ASCII can be shown."""

    width: int = 80
    colour: bool = False
    ascii_only: bool = False

    def paint(self, text: str, role: str) -> str:
        """The text in the colour of its role, or as it is."""
        return f"\x1b[{_CODES[role]}m{text}\x1b[0m" if self.colour and text else text

    def plain(self, text: str) -> str:
        """One line without control characters, in the letters that can be shown."""
        line = " ".join(_BREAKS.split(printable(text))).strip()
        return spelled_in_ascii(line) if self.ascii_only else line


def spelled_in_ascii(text: str) -> str:
    """The text with each letter that ASCII lacks spelled by others, or by a question mark."""
    for letter, others in _LETTERS.items():
        text = text.replace(letter, others)
    decomposed = unicodedata.normalize("NFKD", text)
    return "".join(c if c.isascii() else "?" for c in decomposed if not unicodedata.combining(c))


def seen_width(text: str) -> int:
    """Columns that a text takes in a terminal."""
    wide = sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)
    return wide - sum(1 for c in text if unicodedata.combining(c) or unicodedata.category(c) == "Cf")


def padded(text: str, width: int) -> str:
    """The text, filled with blanks to a width."""
    return text + " " * max(0, width - seen_width(text))


def wrapped(text: str, width: int) -> list[str]:
    """The text in lines of at most this width; words that are longer are cut."""
    lines: list[str] = []
    line = ""
    for word in _BREAKS.split(text):
        for piece in _pieces(word, width):
            if line and seen_width(line) + 1 + seen_width(piece) > width:
                lines.append(line)
                line = piece
            else:
                line = f"{line} {piece}" if line else piece
    return [*lines, line] if line else lines


def paragraph(text: str, style: Style, *, first: str = "", rest: str = "") -> list[str]:
    """A text wrapped to the page behind an indent."""
    lines = wrapped(style.plain(text), style.width - max(seen_width(first), seen_width(rest)))
    return [f"{first if i == 0 else rest}{line}" for i, line in enumerate(lines)]


def heading(text: str, style: Style) -> list[str]:
    """A heading after an empty line."""
    return ["", style.paint(style.plain(text), "strong")]


def text_table(
    columns: Sequence[str], rows: Sequence[Sequence[str]], style: Style, *, indent: int = 2
) -> list[str]:
    """A table that fits the page: long cells are wrapped, the columns of numbers stand right."""
    cells = [[style.plain(cell) for cell in row] for row in (columns, *rows)]
    widths = _column_widths(cells, style.width - indent)
    right = [i > 0 and all(_is_number(row[i]) for row in cells[1:]) for i in range(len(columns))]
    lines: list[str] = []
    for number, row in enumerate(cells):
        folded = [wrapped(cell, width) or [""] for cell, width in zip(row, widths, strict=True)]
        for level in range(max(len(lines_of) for lines_of in folded)):
            parts = [lines_of[level] if level < len(lines_of) else "" for lines_of in folded]
            line = "  ".join(
                _aligned(part, width, right=side)
                for part, width, side in zip(parts, widths, right, strict=True)
            )
            line = (" " * indent + line).rstrip()
            lines.append(style.paint(line, "quiet") if number == 0 else line)
    return lines


def _is_number(cell: str) -> bool:
    return not cell or cell[0].isdigit() or cell[0] in "-+–"


def _aligned(text: str, width: int, *, right: bool) -> str:
    return " " * (width - seen_width(text)) + text if right else padded(text, width)


def _column_widths(cells: Sequence[Sequence[str]], room: int) -> list[int]:
    """Widths of the columns; the widest give way until the table fits."""
    widths = [max(seen_width(row[i]) for row in cells) for i in range(len(cells[0]))]
    room -= 2 * (len(widths) - 1)
    while sum(widths) > room:
        widest = max(range(len(widths)), key=lambda i: widths[i])
        if widths[widest] <= _LEAST_COLUMN:
            break
        widths[widest] -= 1
    return widths


def _pieces(word: str, width: int) -> list[str]:
    """A word cut so that each piece fits."""
    if seen_width(word) <= width:
        return [word]
    pieces, piece = [], ""
    for char in word:
        if piece and seen_width(piece + char) > width:
            pieces.append(piece)
            piece = ""
        piece += char
    return [*pieces, piece]
