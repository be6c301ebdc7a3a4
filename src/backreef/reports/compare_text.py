"""The page of a comparison for a terminal."""

from __future__ import annotations

from backreef.plots.words import NBSP
from backreef.reports.side_by_side import (
    cause_words,
    difference_words,
    outcome_table,
    pairing_words,
    plan_name,
)
from backreef.reports.text_layout import Style, heading, paragraph, text_table
from backreef.usecases.compare import Compared, Comparison


def compare_page(
    comparison: Comparison, width: int = 80, *, colour: bool = False, ascii_only: bool = False
) -> str:
    """The whole page as text of at most `width` columns, ending with a line break."""
    style = Style(width=width, colour=colour, ascii_only=ascii_only)
    lines: list[str] = []
    for compared in comparison.plans:
        lines += paragraph(f"{plan_name(compared)} ({compared.forecast.plan_file})", style, rest="   ")
    content = outcome_table(comparison)
    lines += heading(content.caption, style)
    lines += text_table(content.columns, content.rows, style)
    causes = [words for compared in comparison.plans if (words := cause_words(compared))]
    lines += [line for words in causes for line in ("", *paragraph(words, style))]
    first = comparison.plans[0]
    for other in comparison.plans[1:]:
        lines += _against(first, other, style)
    return "\n".join(line.rstrip() for line in lines).replace(NBSP, " ") + "\n"


def _against(first: Compared, other: Compared, style: Style) -> list[str]:
    lines = heading(f"{other.letter} beside {first.letter}", style)
    lines += paragraph(pairing_words(first, other), style, first="  ", rest="  ")
    if not other.differences:
        return [*lines, "  The plans say the same."]
    for one in other.differences:
        words = difference_words(one, first.letter, other.letter)
        lines += paragraph(words, style, first="  - ", rest="    ")
    return lines
