"""Reads a table of a spreadsheet into things of the log: columns by name, a row of units."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from backreef.errors import Fault, InputFaults
from backreef.logbook.changes import Moment
from backreef.logbook.entries import Note, Reading, What
from backreef.logbook.line import read_line
from backreef.logbook.readings import read_reading, series_word
from backreef.logbook.vocabulary import NotUnderstood, Vocabulary, all_words, nearest

WHEN, DATE, TIME, LINE, NOTE, ID = "when", "date", "time", "line", "note", "id"
OF_OURS = (WHEN, DATE, TIME, LINE, NOTE, ID)
SHOWN_ONLY = ("tank", "kind", "words", "quantity", "value", "unit", "who", "withdrawn")
"""Columns of our own export that say again what its line says."""
MOST_ROWS = 200_000
_IN_BRACKETS = re.compile(r"^(?P<name>.*?)\s*[(\[](?P<unit>[^)\]]*)[)\]]\s*$")
_DECIMAL_COMMA = re.compile(r"^(\s*[<>]?\s*\d+),(\d+)(?=\D*$)")
_ID = re.compile(r"[0-9A-Za-z_-]{4,64}")
ReadMoment = Callable[[str, str], Moment]
"""Gives the moment of a date and a time, either of which may be empty; refuses with `NotUnderstood`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One thing of a table, with the moment of its row and where it stands."""

    what: What
    moment: Moment
    line: int
    ident: str
    """The id that the row brings with it; empty where it brings none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How a table is to be read where its header does not say it."""

    columns: Mapping[str, str] = field(default_factory=dict)
    """Header -> what it holds: a water quantity, when, date, time, line or note."""
    ignored: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: what it holds and in which unit."""

    header: str
    holds: str
    unit: str


def read_table(
    text: str, name: str, layout: Layout, words: Vocabulary, moment: ReadMoment
) -> tuple[Row, ...]:
    """Everything that a table says, row by row.

    Raises
    ------
    InputFaults
        With every fault of every row and column.
    """
    delimiter = _delimiter(text)
    lines = _cells(text, name, delimiter)
    if not lines or not any(cell.strip() for cell in lines[0]):
        _refuse(name, "has no header; the first row names the columns, as 'date,no3,po4,note'")
    faults: list[Fault] = []
    columns = _columns(lines[0], layout, name, faults)
    start = 1
    if len(lines) > 1 and _is_units(lines[1], columns):
        columns = [
            _with_unit(column, cell) for column, cell in zip(columns, _padded(lines[1], columns), strict=True)
        ]
        start = 2
    if not faults and not {WHEN, DATE} & {column.holds for column in columns}:
        faults.append(_fault(name, 1, "", "no column says when; name one 'date' or 'when', or use --map"))
    rows: list[Row] = []
    if not faults:
        reader = _Reader(name, columns, words, moment, comma=delimiter != ",")
        for number, cells in enumerate(lines[start:], start=start + 1):
            rows += reader.row(number, cells)
        faults = reader.faults
    if faults:
        raise InputFaults(faults)
    if not rows:
        _refuse(name, "holds no row with anything in it")
    return tuple(rows)


class _Reader:
    """Reads rows, collecting faults."""

    def __init__(
        self, name: str, columns: Sequence[Column], words: Vocabulary, moment: ReadMoment, *, comma: bool
    ) -> None:
        self.faults: list[Fault] = []
        self._name = name
        self._columns = columns
        self._words = words
        self._moment = moment
        self._comma = comma

    def row(self, number: int, cells: Sequence[str]) -> list[Row]:
        """Everything of one row."""
        if not any(cell.strip() for cell in cells):
            return []
        if len(cells) > len(self._columns) and any(cell.strip() for cell in cells[len(self._columns) :]):
            self._complain(number, "", f"has {len(cells)} cells under {len(self._columns)} columns")
            return []
        said = dict(zip(self._columns, (cell.strip() for cell in _padded(cells, self._columns)), strict=True))
        by_kind = {column.holds: cell for column, cell in said.items() if column.holds in OF_OURS}
        date = by_kind.get(WHEN) or by_kind.get(DATE, "")
        try:
            moment = self._moment(date, by_kind.get(TIME, ""))
        except NotUnderstood as refusal:
            self._complain(number, date, str(refusal))
            return []
        things = [what for column, cell in said.items() for what in self._things(number, column, cell)]
        ident = by_kind.get(ID, "") if len(things) == 1 else ""
        if ident and not _ID.fullmatch(ident):
            self._complain(number, ID, f"'{ident}' is no id of a log; leave the cell empty")
            return []
        return [Row(what=what, moment=moment, line=number, ident=ident) for what in things]

    def _things(self, number: int, column: Column, cell: str) -> Sequence[What]:
        plain = _without_guard(cell)
        if not plain or column.holds in (WHEN, DATE, TIME, ID, ""):
            return ()
        try:
            if column.holds == NOTE:
                return (Note(text=plain),)
            if column.holds == LINE:
                return read_line(plain, self._words)
            return (self._reading(column, plain),)
        except NotUnderstood as refusal:
            self._complain(number, column.header, str(refusal))
        except InputFaults as refusal:
            for fault in refusal.faults:
                self._complain(number, column.header, f"{fault.key} {fault.message}".strip())
        return ()

    def _reading(self, column: Column, cell: str) -> Reading:
        comma = self._comma and _DECIMAL_COMMA.match(cell) is not None
        amount = _DECIMAL_COMMA.sub(r"\1.\2", cell) if comma else cell
        has_unit = re.search(r"[a-zA-Z%°]", amount) is not None
        found = read_reading(
            f"{column.holds} {amount}{'' if has_unit or not column.unit else f' {column.unit}'}"
        )
        if found is None:
            raise NotUnderstood(f"'{cell}' is no number; leave the cell empty where nothing was measured")
        return replace(found, assumed=(*found.assumed, "a comma was read as a point")) if comma else found

    def _complain(self, number: int, key: str, message: str) -> None:
        self.faults.append(_fault(self._name, number, key, message))


def _cells(text: str, name: str, delimiter: str) -> list[list[str]]:
    """The rows of a table as cells; no more of them than are taken."""
    lines: list[list[str]] = []
    rows = csv.reader(io.StringIO(text), delimiter=delimiter)
    try:
        for cells in rows:
            if len(lines) == MOST_ROWS:
                _refuse(name, f"has more than {MOST_ROWS} rows; import it in parts")
            lines.append(cells)
    except csv.Error as complaint:
        message = f"is no table ({complaint}); is a quote left open, or is it another kind of file?"
        raise InputFaults([_fault(name, rows.line_num, "", message)]) from None
    return lines


def _columns(header: Sequence[str], layout: Layout, name: str, faults: list[Fault]) -> list[Column]:
    columns = []
    for cell in header:
        written = _without_guard(cell.strip())
        try:
            columns.append(_column(written, layout))
        except NotUnderstood as refusal:
            faults.append(_fault(name, 1, written, str(refusal)))
    missing = [
        one for one in (*layout.columns, *layout.ignored) if one not in [cell.strip() for cell in header]
    ]
    faults += [
        _fault(name, 1, one, "is no column of this table; the names must be the same") for one in missing
    ]
    held = [column.holds for column in columns if column.holds in OF_OURS]
    twice = sorted({one for one in held if held.count(one) > 1})
    faults += [_fault(name, 1, one, f"two columns say '{one}'; leave one out with --ignore") for one in twice]
    return columns


def _column(written: str, layout: Layout) -> Column:
    brackets = _IN_BRACKETS.match(written)
    bare, unit = (brackets["name"], brackets["unit"].strip()) if brackets else (written, "")
    if written in layout.ignored or (not written and written not in layout.columns):
        return Column(header=written, holds="", unit="")
    wanted = layout.columns.get(written, bare).strip().lower()
    if wanted in OF_OURS:
        return Column(header=written, holds=wanted, unit="")
    if wanted in SHOWN_ONLY and written not in layout.columns:
        return Column(header=written, holds="", unit="")
    try:
        return Column(header=written, holds=series_word(wanted).word, unit=unit)
    except NotUnderstood:
        near = nearest(wanted, [*OF_OURS, *(one.word for one in all_words() if one.kind == "series")])
        hint = f"did you mean '{near[0]}'? " if near else "no word that is known is near it. "
        holds = near[0] if near else "note"
        raise NotUnderstood(
            f"is no column that is known; {hint}Say what it holds with --map '{written}={holds}', "
            f"or leave it out with --ignore '{written}'"
        ) from None


def _is_units(cells: Sequence[str], columns: Sequence[Column]) -> bool:
    """Whether a row holds units: no digit at the beginning of any cell, and no date."""
    said = [(column, cell.strip()) for column, cell in zip(columns, _padded(cells, columns), strict=True)]
    dates = [cell.lower() for column, cell in said if column.holds in (WHEN, DATE)]
    units = [cell for column, cell in said if column.holds not in (*OF_OURS, "")]
    if any(cell not in ("", "unit", "units") for cell in dates):
        return False
    return bool(units) and not any(re.match(r"[<>]?\s*[-+.]?\d", cell) for cell in units)


def _with_unit(column: Column, cell: str) -> Column:
    return (
        replace(column, unit=cell.strip()) if column.holds not in (*OF_OURS, "") and cell.strip() else column
    )


def _padded(cells: Sequence[str], columns: Sequence[Column]) -> list[str]:
    return [*cells, *[""] * len(columns)][: len(columns)]


def _without_guard(cell: str) -> str:
    """The cell without the sign that keeps a spreadsheet from taking it for a formula."""
    return cell[1:] if re.match(r"'[=+\-@\t\r]", cell) else cell


def _delimiter(text: str) -> str:
    """The sign between cells: whichever the header has most of."""
    header = text.lstrip().partition("\n")[0]
    return max((",", ";", "\t"), key=header.count)


def _fault(name: str, line: int, key: str, message: str) -> Fault:
    return Fault(file=name, line=line, key=key, message=message)


def _refuse(name: str, message: str) -> None:
    raise InputFaults([Fault(file=name, line=None, key="", message=message)])
