"""Disks that are full or closed, a clock that jumps, damaged databases: told in words, nothing lost."""

from __future__ import annotations

import os
import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from backreef.logbook.changes import correction, undoing
from backreef.logbook.db.keeping import look_at
from backreef.logbook.db.store import DjangoStore
from backreef.logbook.store import StoreTrouble
from tests import old_schemas
from tests.cli_world import GOOD_PLAN, Done, process
from tests.faults import MANY, closed_to_writing, damaged, mounted, told
from tests.logbook_world import HAND, MOMENT, a_reading, an_entry

pytestmark = pytest.mark.skipif(os.name == "nt", reason="forks and signals of POSIX")
SEED = 11
ROUNDS = [pytest.param(2, id="few"), pytest.param(MANY, id="many", marks=pytest.mark.long(100))]
LOG = ("log", "no3 12 ppm", "--tank", "plan.toml", "--yes")


def assert_refused(done: Done, *words: str) -> None:
    """Refused in plain words, as something that the keeper can mend."""
    assert done.code == 2, done
    assert "Traceback" not in done.err
    assert "failed, not your plan" not in done.err
    for word in words:
        assert word in done.err


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "plan.toml").write_text(GOOD_PLAN, encoding="utf-8")
    return tmp_path


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    with mounted(tmp_path / "disk", "1m") as disk:
        if disk is None:
            pytest.skip("only root may mount a small disk")
        (disk / "plan.toml").write_text(GOOD_PLAN, encoding="utf-8")
        yield disk


def test_a_folder_that_is_closed_to_writing_is_told_in_words(small_disk: Path) -> None:
    if not closed_to_writing(small_disk):
        pytest.skip("this system does not close a disk")
    assert process("check", "plan.toml", folder=small_disk).code == 0
    for words in (("forecast", "plan.toml", "--html", "f.html"), LOG, ("serve", ".", "--port", "0")):
        assert_refused(process(*words, folder=small_disk), "writ")
    assert [path.name for path in small_disk.iterdir()] == ["plan.toml"]


def test_a_disk_that_is_full_keeps_the_old_report(small_disk: Path) -> None:
    (small_disk / "f.html").write_text("the old one", encoding="utf-8")
    fill(small_disk)
    done = process("forecast", "plan.toml", "--html", "f.html", folder=small_disk)
    assert_refused(done, "space")
    assert (small_disk / "f.html").read_text(encoding="utf-8") == "the old one"
    assert_refused(process("serve", ".", "--port", "0", folder=small_disk), "full")
    assert not [path for path in small_disk.iterdir() if path.name.endswith(".part")]


def fill(disk: Path) -> None:
    """Leave no room on a disk."""
    with (disk / "ballast").open("wb", buffering=0) as ballast:
        while True:
            try:
                ballast.write(bytes(4096))
            except OSError:
                return


def test_a_damaged_log_is_told_at_the_command_line(folder: Path) -> None:
    assert process(*LOG, folder=folder).code == 0
    place = folder / "backreef-log.sqlite3"
    content = bytearray(place.read_bytes())
    content[4096:8192] = bytes(4096)
    place.write_bytes(bytes(content))
    assert_refused(process("log", "list", "--tank", "plan.toml", folder=folder), "restore")


@pytest.mark.parametrize("left", [0, 1, 100, 4096])
def test_a_log_that_was_cut_off_is_not_taken_for_a_new_one(tmp_path: Path, left: int) -> None:
    place = tmp_path / "log.sqlite3"
    store = DjangoStore(place)
    store.add([an_entry("first")])
    store.close()
    place.write_bytes(place.read_bytes()[:left])
    for create in (False, True):
        with pytest.raises(StoreTrouble, match="restore"):
            DjangoStore(place, create=create)
    assert place.stat().st_size == left


@pytest.mark.parametrize("rounds", ROUNDS)
def test_a_damaged_database_of_the_page_is_told_with_what_to_do(folder: Path, rounds: int) -> None:
    state = folder / ".backreef"
    state.mkdir()
    whole = old_schemas.rebuilt(old_schemas.kept("web")[-1], folder / "whole.sqlite3").read_bytes()
    draws, noticed = random.Random(SEED), 0
    for number in range(rounds):
        (state / "web.sqlite3").write_bytes(whole)
        if number:
            damaged(state / "web.sqlite3", draws)
        else:
            (state / "web.sqlite3").write_bytes(b"nothing of a database" * 400)
        done = process("serve", ".", "--lan", "--port", "0", folder=folder)
        assert "Traceback" not in done.err, done.err
        assert "failed, not your plan" not in done.err, done.err
        noticed += "web.sqlite3" in done.err
        for beside in state.glob("web.sqlite3*"):
            beside.unlink()
    told(rounds, "database of the page damaged", noticed=noticed)
    assert noticed


def test_a_clock_that_jumps_back_changes_no_order(tmp_path: Path) -> None:
    store = DjangoStore(tmp_path / "log.sqlite3")
    store.add([an_entry("first", batch="b1", logged_at=HAND.now)])
    early = replace(HAND, now=HAND.now - timedelta(days=400))
    store.add([an_entry("second", batch="b2", logged_at=early.now, at=early.now)])
    again = correction(
        store.history("first")[-1], what=a_reading(3.0), moment=MOMENT, hand=early, why="clock"
    )
    store.revise([replace(again, batch="b3")])
    assert [one.revision for one in store.history("first")] == [1, 2]
    assert [entry.batch for entry in store.last_batch("Reading room")] == ["b3"]
    store.revise(undoing(store, store.last_batch("Reading room"), hand=early))
    assert look_at(store).faults == ()
    assert [entry.batch for entry in store.last_batch("Reading room")] == ["b2"]
    store.close()


def test_two_pages_of_one_folder_are_one(folder: Path) -> None:
    """The second gives an address of the first and ends."""
    from tests.browser.served import server

    with server(folder) as first:
        second = process("serve", ".", "--port", "0", folder=folder)
        assert second.code == 0, second
        assert "served already" in second.out
        assert first.home.rpartition(":")[2] in second.out
        assert first.process.poll() is None
    with closing(sqlite3.connect(folder / ".backreef" / "web.sqlite3")) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
