"""Pages of the catalogue for a terminal: what there is, what some words found, and one entry to read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from backreef.catalogue.entries import Species
from backreef.reports.text_layout import Style, heading, paragraph, text_table
from backreef.usecases.browse import KINDS, Browsed, Listed, kind_of, name_of
from backreef.usecases.pages import SHELVES, gist_of
from backreef.usecases.portrait import Portrait


def portrait_page(portrait: Portrait, style: Style) -> str:
    """One entry as a page to read."""
    lines = [style.paint(line, "strong") for line in paragraph(portrait.title, style)]
    lines += [style.paint(line, "quiet") for line in paragraph(portrait.subtitle, style)]
    lines += [style.paint(line, "quiet") for line in paragraph(f"in plans: {portrait.id}", style)]
    for part in portrait.parts:
        if part.sentences:
            lines += heading(part.title, style)
            for sentence in part.sentences:
                lines += paragraph(sentence, style, first="  ", rest="    ")
    return "\n".join(lines) + "\n"


def overview_page(everything: Sequence[Listed], style: Style, *, program: str) -> str:
    """What the catalogue holds, and how to go on."""
    kinds = Counter(entry.kind for entry in everything if isinstance(entry, Species))
    lines: list[str] = []
    for kind in KINDS:
        shelf = [entry for entry in everything if kind_of(entry) == kind]
        lines.append(style.paint(f"{len(shelf):4d} {SHELVES[kind].lower()}", "strong"))
        if kind == "species":
            told = ", ".join(f"{count} {_many(word)}" for word, count in kinds.most_common())
            lines += paragraph(told, style, first="     ", rest="     ")
    lines.append("")
    ways = (
        (f"{program} catalogue royal gramma", "one entry as a page; old and misspelt names will do"),
        (f"{program} catalogue snail", "everything that a word is about"),
        (f"{program} catalogue --kind foods", "a whole shelf: animals, foods, devices or tasks"),
        (f"{program} catalogue check", "whether every entry obeys the laws of the catalogue"),
    )
    lines += [line for way in ways for line in (f"  {way[0]}", style.paint(f"      {way[1]}", "quiet"))]
    return "\n".join(lines) + "\n"


def list_page(entries: Iterable[Listed], style: Style) -> str:
    """Entries in tables, shelf by shelf."""
    lines: list[str] = []
    listed = list(entries)
    for kind in KINDS:
        shelf = [entry for entry in listed if kind_of(entry) == kind]
        if shelf:
            lines += heading(f"{SHELVES[kind]} ({len(shelf)})", style)
            rows = [(entry.id, name_of(entry), gist_of(entry)) for entry in shelf]
            lines += text_table(("in plans", "name", "in short"), rows, style)
    return "\n".join(lines[1:]) + "\n"


def nothing_text(browsed: Browsed, style: Style) -> str:
    """What to say where nothing matches."""
    shelf = "the catalogue" if browsed.kind is None else f"the {SHELVES[browsed.kind].lower()}"
    words = f"Nothing in {shelf} is called or about '{browsed.query}'."
    if browsed.entry is not None:
        words += f" This is what comes near: {name_of(browsed.entry)}."
    elif browsed.near:
        words += f" Did you mean {' or '.join(f'{name_of(e)} ({e.id})' for e in browsed.near[:3])}?"
    return "\n".join(paragraph(words, style)) + "\n"


def _many(kind: str) -> str:
    return kind if kind == "fish" else f"{kind}s"
