"""Bring a table into the log, and give it out as one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Literal
from uuid import uuid4

from backreef.catalogue.load import load_catalogue
from backreef.errors import Fault, InputFaults
from backreef.logbook.changes import Hand, Moment, id_of_content
from backreef.logbook.entries import BadEntry, Entry, Reading
from backreef.logbook.store import LogbookStore
from backreef.logbook.table_read import Layout, Row, read_table
from backreef.logbook.vocabulary import NotUnderstood, Vocabulary
from backreef.usecases.log import Draft
from backreef.usecases.log_desk import animals_of
from backreef.usecases.log_moments import NoMoment, read_moment

MOST_BYTES = 50_000_000
DateOrder = Literal["dmy", "mdy"]
_NUMBERS = re.compile(
    r"(?P<a>\d{1,2})(?P<sign>[./-])(?P<b>\d{1,2})(?P=sign)(?P<year>\d{4})(?:[ ,]+(?P<clock>.+))?"
)
_MONTHS_IN_A_YEAR = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Incoming:
    """What a table would bring."""

    draft: Draft
    """Entries that are not in the log yet."""
    there: int
    """Rows that are in the log already, or stand in the table twice."""

    @property
    def counts(self) -> dict[str, int]:
        """Kind -> how many."""
        return dict(Counter(entry.what.kind for entry in self.draft.entries))

    @property
    def assumed(self) -> dict[str, int]:
        """What had to be assumed -> for how many readings."""
        readings = [entry.what for entry in self.draft.entries if isinstance(entry.what, Reading)]
        return dict(Counter(note for reading in readings for note in reading.assumed))


def draft_table(
    file: Path, layout: Layout, *, tank: str, plan: Path | None, dates: DateOrder | None, hand: Hand
) -> Draft:
    """The entries of a table, each thing once.

    Raises
    ------
    InputFaults
        With every fault of the file.
    """
    catalogue = load_catalogue()
    words = Vocabulary(catalogue=catalogue, animals=animals_of(plan))

    def moment(date: str, time: str) -> Moment:
        return _moment(date, time, dates, hand.now)

    rows = read_table(_text(file), str(file), layout, words, moment)
    batch = uuid4().hex
    entries: list[Entry] = []
    faults: list[Fault] = []
    for row in rows:
        try:
            entries.append(_entry(row, tank=tank, batch=batch, hand=hand))
        except BadEntry as refusal:
            faults.append(Fault(file=str(file), line=row.line, key="", message=str(refusal)))
    if faults:
        raise InputFaults(faults)
    return Draft(entries=tuple(entries), catalogue=catalogue)


def incoming(draft: Draft, store: LogbookStore | None) -> Incoming:
    """What of a table is new to a log."""
    known = frozenset() if store is None else store.known_ids([entry.id for entry in draft.entries])
    new = {entry.id: entry for entry in reversed(draft.entries) if entry.id not in known}
    kept = tuple(reversed(new.values()))
    return Incoming(draft=replace(draft, entries=kept), there=len(draft.entries) - len(kept))


def _entry(row: Row, *, tank: str, batch: str, hand: Hand) -> Entry:
    ident = row.ident or id_of_content(row.what, tank=tank, moment=row.moment)
    return Entry(
        id=ident,
        tank=tank,
        at=row.moment.at,
        whole_day=row.moment.whole_day,
        what=row.what,
        logged_at=hand.now,
        who=hand.who,
        batch=batch,
    )


def _text(file: Path) -> str:
    try:
        if not file.is_file():
            raise _refused(file, "cannot be read: there is no such file, or it is no ordinary one")
        if file.stat().st_size > MOST_BYTES:
            raise _refused(file, f"is larger than {MOST_BYTES // 1_000_000} MB; import it in parts")
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise _refused(file, "is not UTF-8; save it as 'CSV UTF-8'") from None
    except OSError as trouble:
        raise _refused(file, f"cannot be read ({trouble.strerror or trouble})") from None


def _refused(file: Path, message: str) -> InputFaults:
    return InputFaults([Fault(file=str(file), line=None, key="", message=message)])


def _moment(date: str, time: str, dates: DateOrder | None, now: datetime) -> Moment:
    if not date:
        raise NotUnderstood("the row does not say when")
    written = _in_order(f"{date} {time}".strip(), dates)
    if not re.match(r"\d{4}-", written):
        raise NotUnderstood(f"'{date}' is no date; write it as 2027-03-02, or say --dates dmy or mdy")
    try:
        return read_moment(written, now)
    except NoMoment as refusal:
        raise NotUnderstood(str(refusal)) from None


def _in_order(written: str, dates: DateOrder | None) -> str:
    """The moment with year, month, day: '2.3.2027 8:00' becomes '2027-3-2 8:00'."""
    found = _NUMBERS.fullmatch(written)
    if found is None:
        return written
    first, second = int(found["a"]), int(found["b"])
    order = dates or ("dmy" if found["sign"] == "." else None)
    if order is None and first == second:
        order = "dmy"
    if order is None and max(first, second) > _MONTHS_IN_A_YEAR:
        order = "dmy" if first > second else "mdy"
    if order is None:
        raise NotUnderstood(
            f"'{written}': day or month first? Say --dates dmy or --dates mdy for the whole table"
        )
    day, month = (first, second) if order == "dmy" else (second, first)
    return f"{found['year']}-{month}-{day} {found['clock'] or ''}".strip()


def layout_of(mapped: Sequence[str], ignored: Sequence[str]) -> Layout:
    """The layout of 'Header=no3' and of headers to be left out.

    Raises
    ------
    InputFaults
        If one of them is not of that form.
    """
    odd = [one for one in mapped if not all(part.strip() for part in one.rpartition("=")[::2])]
    if odd:
        raise InputFaults(
            Fault(file="--map", line=None, key=one, message="is written 'Column=no3'") for one in odd
        )
    pairs = (one.rpartition("=") for one in mapped)
    return Layout(
        columns={header.strip(): holds.strip() for header, _, holds in pairs},
        ignored=frozenset(one.strip() for one in ignored),
    )
