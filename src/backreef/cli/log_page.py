"""The log for a terminal: what is about to be saved, lists, and one entry with all that it once said."""

from __future__ import annotations

from collections.abc import Sequence

from backreef.catalogue.entries import Catalogue
from backreef.logbook.entries import Entry
from backreef.logbook.words import assumptions_of, moment_words, what_words
from backreef.reports.text_layout import Style, heading, paragraph, text_table
from backreef.usecases.log import Draft

SHORT_ID = 8


def draft_page(draft: Draft, style: Style, *, tank: str) -> str:
    """What is about to be written, with what had to be assumed."""
    entries = draft.entries
    lines = [style.paint(style.plain(f"{tank}, {moment_words(entries[0])}"), "strong")]
    for number, entry in enumerate(entries):
        before = draft.before[number] if draft.before else None
        lines += paragraph(_change(entry, before, draft.catalogue), style, first="  ", rest="    ")
        if before is None or before.what != entry.what:
            for note in assumptions_of(entry.what):
                told = paragraph(f"assumed: {note}", style, first="      ", rest="      ")
                lines += [style.paint(line, "quiet") for line in told]
    return "\n".join(lines) + "\n"


def _change(entry: Entry, before: Entry | None, catalogue: Catalogue) -> str:
    """What becomes of an entry: new, changed, withdrawn, or counting again."""
    said = what_words(entry.what, catalogue)
    if before is None:
        return said
    if entry.withdrawn:
        return f"no longer counts: {said}"
    was = what_words(before.what, catalogue)
    moved = f" at {moment_words(entry)} instead of {moment_words(before)}" if entry.at != before.at else ""
    again = "counts again: " if before.withdrawn else ""
    return f"{again}{said}{moved}" + (f" instead of {was}" if was != said else "")


def _counting(entry: Entry, catalogue: Catalogue) -> str:
    said = what_words(entry.what, catalogue)
    return f"{said} (withdrawn: it no longer counts)" if entry.withdrawn else said


def entries_page(entries: Sequence[Entry], catalogue: Catalogue, style: Style, *, tank: str) -> str:
    """Entries in a table, old to new."""
    if not entries:
        return style.plain(f"Nothing is in the log of {tank}.") + "\n"
    rows = [(moment_words(one), what_words(one.what, catalogue), one.id[:SHORT_ID]) for one in entries]
    return "\n".join(text_table(("when", "what", "id"), rows, style, indent=0)) + "\n"


def history_page(history: Sequence[Entry], catalogue: Catalogue, style: Style) -> str:
    """One entry: what it says now, and everything that it said before."""
    last = history[-1]
    lines = paragraph(_counting(last, catalogue), style)
    facts = [f"{last.tank}, {moment_words(last)}", f"id {last.id}"]
    lines += [line for fact in facts for line in paragraph(fact, style, first="  ", rest="    ")]
    for note in assumptions_of(last.what):
        lines += paragraph(f"assumed: {note}", style, first="  ", rest="    ")
    lines += heading("Revisions", style)
    for one in history:
        why = f", {one.why}" if one.why else ""
        written = (
            f"{one.revision}. {one.logged_at:%Y-%m-%d %H:%M} by {one.who}{why}: {_counting(one, catalogue)}"
        )
        lines += paragraph(written, style, first="  ", rest="     ")
    return "\n".join(lines) + "\n"
