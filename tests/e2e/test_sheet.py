from __future__ import annotations

import io
import sys
from pathlib import Path

import pypdf
import pytest

from tests.cli_world import EXAMPLES
from tests.e2e.conftest import Run

SUMMER = ("--from", "2027-08-02", "--to", "2027-08-16")
READING_ROOM = EXAMPLES / "reading_room.toml"


def test_it_prints_the_sheet_and_what_the_keeper_does_before(run: Run, folder: Path) -> None:
    done = run("sheet", READING_ROOM, *SUMMER)
    assert done.code == 0, done.err
    assert done.out.startswith("Looking after Reading-room reef")
    assert "6 Aug 2027: caretaker" in done.out
    assert "Before you leave (not on the sheet)" in done.out


def test_it_writes_a_page_that_names_whom_to_call(run: Run, folder: Path) -> None:
    call = ("--call", "the librarian, extension 12", "--call", "the vet's night line")
    done = run("sheet", READING_ROOM, *SUMMER, "--html", "sheet.html", *call)
    assert done.code == 0, done.err
    page = (folder / "sheet.html").read_text(encoding="utf-8")
    assert page.index("the librarian, extension 12") < page.index("the vet's night line")
    assert "<script" not in page


@pytest.mark.parametrize(("paper", "width_pt"), [("A4", 595.28), ("letter", 612.0)])
def test_it_writes_one_page_of_either_paper(run: Run, folder: Path, paper: str, width_pt: float) -> None:
    done = run("sheet", READING_ROOM, *SUMMER, "--pdf", "sheet.pdf", "--paper", paper)
    assert done.code == 0, done.err
    pdf = pypdf.PdfReader(io.BytesIO((folder / "sheet.pdf").read_bytes()))
    (page,) = pdf.pages
    assert float(page.mediabox.width) == pytest.approx(width_pt, abs=0.1)
    assert "Leave alone" in page.extract_text()


def test_without_the_extra_it_says_what_to_install(
    run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    done = run("sheet", READING_ROOM, *SUMMER, "--pdf", "sheet.pdf")
    assert done.code == 2
    assert "pip install 'backreef[pdf]'" in done.err
    assert not (folder / "sheet.pdf").exists()


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (("--from", "August", "--to", "2027-08-16"), "'August' is no date; write it as 2027-08-02"),
        (("--from", "2026-08-02", "--to", "2027-08-16"), "is before the plan begins"),
        (("--from", "2027-08-02", "--to", "2027-08-02"), "it is the day of return"),
        ((*SUMMER, "--sitter", "Freitag"), "'freitag' is no weekday"),
        (("--from", "2027-08-02"), "Missing option '--to'"),
    ],
)
def test_it_refuses_days_that_make_no_absence(
    run: Run, folder: Path, days: tuple[str, ...], said: str
) -> None:
    done = run("sheet", READING_ROOM, *days)
    assert done.code == 2
    assert said in done.err
    assert done.out == ""


def test_a_sitter_may_look_in(run: Run, folder: Path) -> None:
    done = run("sheet", "plan.toml", "--from", "2027-08-02", "--to", "2027-08-16", "--sitter", "Tue, Sat")
    assert done.code == 0, done.err
    assert "sitter" in done.out
