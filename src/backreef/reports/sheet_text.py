"""The away sheet as text for a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from backreef.plots.words import minutes_words, short_date
from backreef.reports.text_layout import Style, heading, paragraph
from backreef.usecases.sheet_page import NOTHING_MORE, Sheet


def sheet_text(sheet: Sheet, style: Style) -> str:
    """The whole sheet, and what the keeper does before leaving."""
    absence = sheet.absence
    title = f"Looking after {sheet.tank}, {short_date(absence.first_on)} to {short_date(absence.last_on)}"
    lines = [style.paint(line, "strong") for line in paragraph(title, style)]
    lines += _part("Each time" if sheet.visits else "If you look in", (*sheet.looks, *sheet.each_time), style)
    for visit in sheet.visits:
        days = ", ".join(short_date(on) for on in visit.days)
        only = [f"only if ticked: {step}" for step in visit.only_if]
        steps = (*visit.steps, *only) or (NOTHING_MORE,)
        lines += _part(f"{days}: {visit.who}, {minutes_words(visit.minutes)} min", steps, style)
    lines += _part("Leave alone", sheet.leave, style)
    lines += _part("This is normal", sheet.normal, style)
    lines += _part("This is not normal", [f"{each.sign}: {each.do}" for each in sheet.troubles], style)
    lines += _part("Call", [call or "..." for call in sheet.calls], style)
    lines += _part("Cautions", sheet.cautions, style)
    lines += _part("Before you leave (not on the sheet)", sheet.before, style)
    if sheet.undone:
        lines += _part("Nobody can do these while you are away", sheet.undone, style)
    return "\n".join(lines) + "\n"


def _part(title: str, entries: Sequence[str], style: Style) -> list[str]:
    lines = heading(title, style)
    for entry in entries:
        lines += paragraph(entry, style, first="  - ", rest="    ")
    return lines
