"""What was acknowledged is kept, whatever happens to whoever writes: killed, no room, two at once.

Few rounds here; `--long` kills one writer 100 times, two at once 100 times, and fills 100 disks.
"""

from __future__ import annotations

import os
import random
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from backreef.logbook.db.keeping import back_up
from backreef.logbook.db.store import DjangoStore
from tests.log_survival import Survived, filled_up, killed_at_random, look
from tests.logbook_world import an_entry

SEED = 8
FEW, MANY = 3, 100


def rounds_of_kills(folder: Path, rounds: int, *, writers: int) -> tuple[int, int]:
    """Kill writers of one log again and again; how much was acknowledged, and how many found it half made."""
    draws = random.Random(SEED + writers)
    said = idle = 0
    place = folder / "log.sqlite3"
    for number in range(rounds):
        if number % 10 == 0:
            place = folder / f"log{number}.sqlite3"  # so that the making of a log is met too
        found = killed_at_random(place, draws, writers=writers)
        assert_kept(found)
        said += len(found.acknowledged)
        idle += not found.acknowledged
    return said, idle


def assert_kept(found: Survived) -> None:
    assert found.faults == ()
    assert found.lost == ()


@pytest.mark.parametrize("writers", [1, 2])
def test_what_was_acknowledged_survives_being_killed(writers: int, tmp_path: Path) -> None:
    said, _ = rounds_of_kills(tmp_path, FEW, writers=writers)
    assert said > 0


@pytest.mark.long
@pytest.mark.parametrize("writers", [1, 2])
def test_what_was_acknowledged_survives_being_killed_many_times(writers: int, tmp_path: Path) -> None:
    said, idle = rounds_of_kills(tmp_path, MANY, writers=writers)
    print(f"{MANY} kills of {writers}: {said} acknowledged, none lost; {idle} killed before the first")  # noqa: T201
    assert said > MANY


def test_a_full_quota_loses_nothing_and_is_told(tmp_path: Path) -> None:
    place = tmp_path / "log.sqlite3"
    found, said = filled_up(place, letters=3000, file_bytes=400_000)
    assert found.acknowledged
    assert_kept(found)
    assert "nothing of this was saved" in said
    store = DjangoStore(place)
    assert store.add([an_entry("after")])  # with room again, it goes on
    store.close()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of three megabytes."""
    if os.geteuid() != 0:
        pytest.skip("only root may mount a small disk")
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(folder)], capture_output=True, check=False
    )
    if mount.returncode != 0:
        pytest.skip("no small disk can be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_loses_nothing_and_is_told(small_disk: Path) -> None:
    place = small_disk / "log.sqlite3"
    found, said = filled_up(place, letters=3000)
    assert found.acknowledged
    assert_kept(found)
    assert "the disk is full, and nothing of this was saved" in said
    kept = len(found.kept)
    again, _ = filled_up(place, letters=3000)
    assert again.faults == ()
    assert len(again.kept) >= kept


def test_a_backup_that_does_not_fit_is_not_there(small_disk: Path) -> None:
    place = small_disk / "log.sqlite3"
    filled_up(place, letters=3000)
    store = DjangoStore(place)
    with pytest.raises(Exception, match=r"disk|full|room"):
        back_up(store, small_disk / "backup.sqlite3")
    store.close()
    assert not (small_disk / "backup.sqlite3").exists()
    assert [one.name for one in small_disk.iterdir() if one.name.startswith(".")] == []
    assert_kept(look(place, []))


@pytest.mark.long
def test_a_disk_that_is_full_at_any_point_loses_nothing(tmp_path: Path) -> None:
    draws = random.Random(SEED)
    full = 0
    for number in range(MANY):
        place = tmp_path / f"log{number}.sqlite3"
        bytes_there = draws.randrange(20_000, 400_000)
        found, said = filled_up(place, letters=draws.randrange(10, 6000), file_bytes=bytes_there)
        assert_kept(found)
        full += bool(found.acknowledged)
        assert "nothing of this was saved" in said or not found.acknowledged, said
        place.unlink(missing_ok=True)
    print(f"{MANY} limits of room: {full} logs with entries, none lost")  # noqa: T201
    assert full > MANY // 2
