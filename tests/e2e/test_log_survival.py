"""What was acknowledged is kept, whatever happens to whoever writes: killed, no room, two at once.

Few rounds here; `--long` kills one writer 200 times, two at once 200 times, and fills 200 disks.
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
from tests.log_survival import Nursery, Survived, a_nursery, filled_up, killed_at_random, look
from tests.logbook_world import an_entry

SEED = 8
FEW, MANY = 3, 200
ROUNDS_OF_A_LOG = 10


@pytest.fixture
def nursery(tmp_path: Path) -> Iterator[Nursery]:
    with a_nursery(tmp_path / "nursery") as one:
        yield one


def assert_kept(found: Survived) -> None:
    assert found.faults == ()
    assert found.lost == ()


def rounds_of_kills(nursery: Nursery, folder: Path, rounds: int, *, writers: int) -> tuple[int, int]:
    """Kill writers of one log again and again; how much was acknowledged, and how often nothing was yet."""
    draws = random.Random(SEED + writers)
    said = idle = 0
    for number in range(rounds):
        # A new log now and then, so that its making is met too.
        place = folder / f"log{number // ROUNDS_OF_A_LOG}.sqlite3"
        found = killed_at_random(nursery, place, draws, writers=writers)
        assert_kept(found)
        said += len(found.acknowledged)
        idle += not found.acknowledged
    return said, idle


@pytest.mark.parametrize("writers", [1, 2])
def test_what_was_acknowledged_survives_being_killed(writers: int, nursery: Nursery, tmp_path: Path) -> None:
    said, _ = rounds_of_kills(nursery, tmp_path, FEW, writers=writers)
    assert said > 0


@pytest.mark.long(150)
@pytest.mark.parametrize("writers", [1, 2])
def test_what_was_acknowledged_survives_being_killed_many_times(
    writers: int, nursery: Nursery, tmp_path: Path
) -> None:
    said, idle = rounds_of_kills(nursery, tmp_path, MANY, writers=writers)
    print(f"{MANY} kills of {writers}: {said} acknowledged, none lost; {idle} before the first")  # noqa: T201
    assert said > MANY


def test_a_full_quota_loses_nothing_and_is_told(nursery: Nursery, tmp_path: Path) -> None:
    place = tmp_path / "log.sqlite3"
    found, said = filled_up(nursery, place, letters=3000, file_bytes=400_000)
    assert found.acknowledged
    assert_kept(found)
    assert "nothing of this was saved" in said
    store = DjangoStore(place)
    assert store.add([an_entry("after")])  # with room again, it goes on
    store.close()


@pytest.mark.long(150)
def test_a_disk_that_is_full_at_any_point_loses_nothing(nursery: Nursery, tmp_path: Path) -> None:
    draws = random.Random(SEED)
    filled = said_in_all = 0
    for number in range(MANY):
        place = tmp_path / f"log{number}.sqlite3"
        room, letters = draws.randrange(20_000, 400_000), draws.randrange(10, 6000)
        found, said = filled_up(nursery, place, letters=letters, file_bytes=room)
        assert_kept(found)
        assert "nothing of this was saved" in said or not found.acknowledged, said
        filled += bool(found.acknowledged)
        said_in_all += len(found.acknowledged)
        place.unlink(missing_ok=True)
    print(f"{MANY} limits of room: {said_in_all} acknowledged in {filled} logs, none lost")  # noqa: T201
    assert filled > MANY // 2


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of three megabytes."""
    if os.geteuid() != 0:
        pytest.skip("only root may mount a small disk")
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(folder)]
    if subprocess.run(mount, capture_output=True, check=False).returncode != 0:
        pytest.skip("no small disk can be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_loses_nothing_and_is_told(small_disk: Path, nursery: Nursery) -> None:
    place = small_disk / "log.sqlite3"
    found, said = filled_up(nursery, place, letters=3000)
    assert found.acknowledged
    assert_kept(found)
    assert "the disk is full, and nothing of this was saved" in said
    again, _ = filled_up(nursery, place, letters=3000)
    assert_kept(again)
    assert again.kept >= found.kept


def test_a_backup_that_does_not_fit_is_not_there(small_disk: Path, nursery: Nursery) -> None:
    place = small_disk / "log.sqlite3"
    filled_up(nursery, place, letters=3000)
    store = DjangoStore(place)
    with pytest.raises(Exception, match=r"disk|full|room"):
        back_up(store, small_disk / "backup.sqlite3")
    store.close()
    assert not (small_disk / "backup.sqlite3").exists()
    assert [one.name for one in small_disk.iterdir() if one.name.startswith(".")] == []
    assert_kept(look(place, []))
