"""Reads a line of the log: several things with commas between, or every fault of the line at once."""

from __future__ import annotations

import re

from backreef.errors import Fault, InputFaults
from backreef.logbook.deeds import read_chore, read_feeding
from backreef.logbook.entries import LONGEST_TEXT, Note, What
from backreef.logbook.readings import read_reading
from backreef.logbook.sights import read_addition, read_death, read_sighting
from backreef.logbook.vocabulary import NotUnderstood, Vocabulary, nearest_meaning

YOUR_LINE = "your line"
LONGEST_LINE = 4 * LONGEST_TEXT
LONGEST_PART = 400
"""Letters of what is no note; a number, a unit and a name need no more."""
MOST_PARTS = 200
_BETWEEN = re.compile(r"\s*[,;\n]\s*|\s+and\s+", re.IGNORECASE)
_NOTE = re.compile(r"(?:note|remark)\s*[: ]\s*(?P<text>.+)", re.IGNORECASE | re.DOTALL)
_NOTE_WITHIN = re.compile(r"(?:^|[,;\n])\s*(?=(?:note|remark)\s*:)", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"\d,\d")
_EXAMPLES = (
    "write a reading ('no3 12 ppm'), a feeding ('fed double'), a chore ('water change 10 % 20 min'), "
    "'2 snails died', 'added 1 firefish', a sighting ('hair algae 5 %', 'clownfish not eating') "
    "or 'note: ...'"
)


def read_line(text: str, words: Vocabulary, *, where: str = YOUR_LINE) -> tuple[What, ...]:
    """Everything that a line says, in its order.

    Raises
    ------
    InputFaults
        With each part that was not understood, and what was probably meant.
    """
    if len(text) > LONGEST_LINE:
        raise _refused(where, f"has more than {LONGEST_LINE} letters; log it in several lines")
    parts = _parts(text)
    if len(parts) > MOST_PARTS:
        raise _refused(where, f"says more than {MOST_PARTS} things; log them in several lines")
    said: list[What] = []
    faults: list[Fault] = []
    for part in parts:
        try:
            said.append(_read(part, words))
        except NotUnderstood as refusal:
            faults.append(Fault(file=where, line=None, key=_short(part), message=str(refusal)))
    if not said and not faults:
        raise _refused(where, f"says nothing; {_EXAMPLES}")
    if faults:
        raise InputFaults(faults)
    return tuple(said)


def _parts(text: str) -> list[str]:
    """The things of a line; a note takes all that follows it."""
    note = _NOTE_WITHIN.search(text)
    before, rest = (text, "") if note is None else (text[: note.start()], text[note.end() :])
    if _DECIMAL_COMMA.search(before):
        parts = [part for part in re.split(r"\s*[;\n]\s*|\s*,(?!\d)\s*|\s+and\s+", before) if part.strip()]
    else:
        parts = [part for part in _BETWEEN.split(before) if part.strip()]
    return [*(part.strip() for part in parts), *([rest.strip()] if rest.strip() else [])]


def _read(part: str, words: Vocabulary) -> What:
    note = _NOTE.fullmatch(part)
    if note is not None:
        if len(note["text"]) > LONGEST_TEXT:
            raise NotUnderstood(f"a note has {LONGEST_TEXT} letters at most; write two")
        return Note(text=note["text"].strip())
    if len(part) > LONGEST_PART:
        raise NotUnderstood(f"has more than {LONGEST_PART} letters; write 'note: ...' before a text")
    if _DECIMAL_COMMA.search(part):
        raise NotUnderstood(
            "a comma stands between digits; write the number with a point, as 0.08, "
            "or put a blank after the comma"
        )
    found = (
        read_feeding(part, words)
        or read_reading(part)
        or read_death(part, words)
        or read_addition(part, words)
        or read_chore(part, words)
        or read_sighting(part, words)
    )
    if found is None:
        raise NotUnderstood(f"is not understood; {nearest_meaning(part) or _EXAMPLES}")
    return found


def _refused(where: str, message: str) -> InputFaults:
    return InputFaults([Fault(file=where, line=None, key="", message=message)])


def _short(part: str) -> str:
    most = 60
    return f"'{part}'" if len(part) <= most else f"'{part[:most]}...'"
