from __future__ import annotations

import csv
import io
from datetime import timedelta
from pathlib import Path
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from backreef.errors import InputFaults
from backreef.logbook.changes import Hand, correction
from backreef.logbook.entries import Entry, Note, Photograph, Reading, What
from backreef.logbook.line import read_line
from backreef.logbook.memory import MemoryStore
from backreef.logbook.store import Wanted
from backreef.logbook.table_write import COLUMNS, line_of, safe, table_of
from backreef.logbook.vocabulary import Vocabulary
from backreef.units import ion_per_element_ratio
from backreef.usecases.log_table import DateOrder, draft_table, incoming, layout_of
from tests.logbook_world import NOON, an_entry, whats

HAND = Hand(who="librarian", now=NOON + timedelta(days=400))
TANK = "Reading room"


def entries_of(
    text: str, folder: Path, *columns: str, ignored: tuple[str, ...] = (), dates: str = ""
) -> list[Entry]:
    file = folder / "table.csv"
    file.write_text(text, encoding="utf-8")
    draft = draft_table(
        file,
        layout_of(columns, ignored),
        tank=TANK,
        plan=None,
        dates=cast("DateOrder | None", dates or None),
        hand=HAND,
    )
    return list(draft.entries)


def faults_of(text: str, folder: Path, *columns: str, dates: str = "") -> list[str]:
    with pytest.raises(InputFaults) as refusal:
        entries_of(text, folder, *columns, dates=dates)
    return [str(fault).removeprefix(str(folder / "table.csv")) for fault in refusal.value.faults]


def values(entries: list[Entry]) -> list[tuple[str, float]]:
    return [(one.what.series, round(one.what.value, 4)) for one in entries if isinstance(one.what, Reading)]


def test_it_reads_columns_by_their_names(tmp_path: Path) -> None:
    found = entries_of("date,time,no3,PO4 (mg/L PO4-P),note\n2027-03-01,8:15,12,0.02,clear\n", tmp_path)
    assert values(found) == [
        ("nitrate_mg_n_per_l", round(12 / ion_per_element_ratio("NO3", "N"), 4)),
        ("phosphate_mg_p_per_l", 0.02),
    ]
    assert found[2].what == Note(text="clear")
    assert {one.at.strftime("%Y-%m-%d %H:%M") for one in found} == {"2027-03-01 08:15"}
    assert not found[0].whole_day


def test_a_second_row_may_hold_units(tmp_path: Path) -> None:
    found = entries_of("date,alkalinity,temp\n,meq/L,degF\n2027-03-01,2.8,77\n", tmp_path)
    assert values(found) == [("alkalinity_meq_per_l", 2.8), ("temperature_c", 25.0)]
    assert found[0].whole_day


def test_an_empty_cell_is_no_reading_and_never_zero(tmp_path: Path) -> None:
    found = entries_of("date,no3,po4\n2027-03-01,,0\n2027-03-02, ,\n\n2027-03-03,<5,\n", tmp_path)
    assert [(one.what.value > 0, one.what.sign) for one in found if isinstance(one.what, Reading)] == [
        (False, "="),
        (True, "<"),
    ]


def test_a_column_of_lines_says_anything(tmp_path: Path) -> None:
    found = entries_of('when,line\n2027-03-01 8:00,"fed double, 1 snail died"\n', tmp_path)
    assert [one.what.kind for one in found] == ["feeding", "death"]


def test_columns_are_mapped_and_ignored(tmp_path: Path) -> None:
    text = "Tag;Nitrat;Wetter\n1.3.2027;12,5;sonnig\n"
    found = entries_of(text, tmp_path, "Tag=date", "Nitrat=no3", ignored=("Wetter",))
    assert values(found) == [("nitrate_mg_n_per_l", round(12.5 / ion_per_element_ratio("NO3", "N"), 4))]
    assert "a comma was read as a point" in found[0].what.assumed  # type: ignore[union-attr]


def test_a_comma_is_no_point_where_commas_part_the_cells(tmp_path: Path) -> None:
    assert faults_of('date,no3\n2027-03-01,"12,5"\n', tmp_path) != []


@pytest.mark.parametrize(
    ("written", "dates", "month"),
    [
        ("2/3/2027", "dmy", 3),
        ("2/3/2027", "mdy", 2),
        ("2.3.2027", "", 3),
        ("13/3/2027", "", 3),
        ("3/13/2027", "", 3),
    ],
)
def test_dates_are_read_in_the_order_that_is_said(
    written: str, dates: str, month: int, tmp_path: Path
) -> None:
    assert entries_of(f"date,no3\n{written},1\n", tmp_path, dates=dates)[0].at.month == month


def test_every_fault_is_told_with_its_line_and_column(tmp_path: Path) -> None:
    rows = (
        "2/3/2027,5,8",
        "2027-03-01,lots,8.2",
        "2027-02-30,5,8",
        ",5,8",
        "2027-03-02,5,82",
        "2027-03-03,1,8,9",
    )
    text = "\n".join(("date,no3,ph", *rows, ""))
    found = faults_of(text, tmp_path)
    assert [one.split(": ")[0] for one in found] == [":2", ":3", ":4", ":5", ":6", ":7"]
    for words in (
        "day or month first",
        "no number",
        "no such day",
        "does not say when",
        "not believable",
        "cells",
    ):
        assert sum(words in one for one in found) == 1, words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "has no header"),
        ("date,no3\n", "holds no row"),
        ("no3,po4\n1,2\n", "no column says when"),
        (
            "date,nitraet\n2027-03-01,2\n",
            "did you mean 'nitrate'? Say what it holds with --map 'nitraet=nitrate'",
        ),
        ("date,zzzz\n2027-03-01,2\n", "Say what it holds with --map 'zzzz=note'"),
        ("date,when,no3\n2027-03-01,2027-03-01,2\n", None),
        ("date,date,no3\n2027-03-01,2027-03-01,2\n", "two columns say 'date'"),
        ("when,line\n2027-03-01,fed dubble\n", "'fed dubble'"),
        ("date,no3,id\n2027-03-01,2,../x\n", "is no id"),
    ],
)
def test_it_refuses_a_table_with_a_reason(text: str, words: str | None, tmp_path: Path) -> None:
    if words is None:
        assert len(entries_of(text, tmp_path)) == 1
    else:
        assert words in faults_of(text, tmp_path)[0]


def test_a_mapped_column_has_to_be_there(tmp_path: Path) -> None:
    assert "is no column of this table" in faults_of("date,no3\n2027-03-01,2\n", tmp_path, "Nitrat=no3")[0]
    with pytest.raises(InputFaults, match="is written 'Column=no3'"):
        layout_of(["Nitrat"], [])


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / "table.csv").write_bytes(b"date,no3\n\xff\xfe")
    with pytest.raises(InputFaults, match="is not UTF-8"):
        draft_table(tmp_path / "table.csv", layout_of([], []), tank=TANK, plan=None, dates=None, hand=HAND)
    with pytest.raises(InputFaults, match="cannot be read"):
        draft_table(tmp_path / "none.csv", layout_of([], []), tank=TANK, plan=None, dates=None, hand=HAND)


def test_the_same_row_twice_is_one_row(tmp_path: Path) -> None:
    text = "date,no3\n2027-03-01,12\n2027-03-01,12\n2027-03-02,12\n"
    store = MemoryStore()
    file = tmp_path / "table.csv"
    for expected in (2, 0):
        file.write_text(text, encoding="utf-8")
        draft = draft_table(file, layout_of([], []), tank=TANK, plan=None, dates=None, hand=HAND)
        found = incoming(draft, store)
        assert len(found.draft.entries) == expected
        store.add(found.draft.entries)
    file.write_text(text + "2027-03-03,12\n", encoding="utf-8")
    again = draft_table(file, layout_of([], []), tank=TANK, plan=None, dates=None, hand=HAND)
    assert len(incoming(again, store).draft.entries) == 1
    assert incoming(again, store).there == 3


def test_what_is_given_out_comes_back_as_what_is_there(tmp_path: Path, no_plan: Vocabulary) -> None:
    store = MemoryStore()
    said = read_line(
        "no3 12 ppm by photometer, po4 < 0.02, temp 77, ph 8.1, alk 8, fed 0.4 g pellets, glass 6 min, "
        "2 ceriths died, hair algae 5 %, clownfish not eating, note: =1+1, and so on",
        no_plan,
    )
    store.add([an_entry(f"entry{number}", what) for number, what in enumerate(said)])
    first = store.history("entry0")[0]
    store.revise([correction(first, what=said[1], moment=None, hand=HAND, why="slip")])
    entries = store.entries(Wanted())
    text = table_of(entries, no_plan.catalogue)
    back = entries_of(text, tmp_path)
    assert [one.id for one in back] == [one.id for one in entries]
    draft = draft_table(
        tmp_path / "table.csv", layout_of([], []), tank=TANK, plan=None, dates=None, hand=HAND
    )
    assert incoming(draft, store).draft.entries == ()
    for there, again in zip(entries, back, strict=True):
        assert (again.at, again.what.kind) == (there.at, there.what.kind)
        if isinstance(there.what, Reading):
            assert isinstance(again.what, Reading)
            assert again.what.value == pytest.approx(there.what.value, rel=1e-12)
            assert (again.what.sign, again.what.kit) == (there.what.sign, there.what.kit)
        else:
            assert again.what == there.what


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1", "  =1", "'=1", "\n=1"])
def test_no_cell_begins_a_formula(cell: str) -> None:
    assert safe(cell).startswith("'")


@given(
    what=whats, tank=st.text(min_size=1, max_size=9).filter(lambda text: text.strip() and "\0" not in text)
)
def test_no_cell_of_any_table_begins_a_formula(what: What, tank: str) -> None:
    from backreef.catalogue.load import load_catalogue

    tank = tank.encode("utf-8", errors="replace").decode("utf-8")
    text = table_of([an_entry("a1", what, tank=tank, who="=cmd()")], load_catalogue())
    header, *rows = list(csv.reader(io.StringIO(text, newline="")))
    assert tuple(header) == COLUMNS
    numbers = {COLUMNS.index("value")}
    for row in rows:
        cells = [cell for number, cell in enumerate(row) if number not in numbers]
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) for cell in cells)


@pytest.mark.parametrize("tank", ["Hall\r", "Hall\n2", "a\r\nb", ' "Hall"'])
def test_a_line_break_in_a_name_does_not_break_the_row(tank: str) -> None:
    from backreef.catalogue.load import load_catalogue

    text = table_of([an_entry("a1", Note(text="seen"), tank=tank)], load_catalogue())
    _, row = list(csv.reader(io.StringIO(text, newline="")))
    assert len(row) == len(COLUMNS)
    assert row[COLUMNS.index("tank")] == tank


def test_a_photograph_has_no_line() -> None:
    picture = Photograph(sha256="a", media_type="image/png", width_count=1, height_count=1)
    assert line_of(picture) == ""
