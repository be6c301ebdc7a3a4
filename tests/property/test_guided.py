"""A search through doors led by the code it reaches: a moment of one, half a minute of each with --long."""

from __future__ import annotations

import re
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

from tests.doors import doors
from tests.house.repository import ROOT

MOST_MB, LONG_S, STARTS_S = 500, 30, 240
APART = ("/bin/sh", "-c", '"$@"; exit $?', "sh")
"""What this process starts counts its peak of memory as its own; what is started by a shell does not."""
pytestmark = pytest.mark.skipif(find_spec("atheris") is None, reason="atheris is built for Linux alone")


def searched(door: str, folder: Path, *options: str) -> tuple[int, str]:
    """The tries of a search through a door, and what it said; it has found nothing if it ended well."""
    ran = subprocess.run(
        [*APART, sys.executable, "-m", "tests.guided", door, "--folder", str(folder), *options],
        cwd=ROOT,
        capture_output=True,
        check=False,
        text=True,
        errors="replace",
        timeout=LONG_S + STARTS_S,
    )
    assert ran.returncode == 0, ran.stderr[-3000:]
    assert not list(folder.glob("crash-*"))
    peak = re.search(r"peak_rss_mb:\s+(\d+)", ran.stderr)
    assert peak is not None
    assert int(peak[1]) < MOST_MB
    tries = re.search(r"number_of_executed_units:\s+(\d+)", ran.stderr)
    return int(tries[1]) if tries else 0, ran.stderr


def test_a_moment_of_search_reaches_more_of_the_code_and_finds_nothing(tmp_path: Path) -> None:
    tries, said = searched("quantity", tmp_path, "--runs", "300")
    kept = re.search(r"new_units_added:\s+(\d+)", said)
    assert tries >= 300
    assert kept is not None
    assert int(kept[1]) > 0


@pytest.mark.long(40)
@pytest.mark.parametrize("door", doors())
def test_half_a_minute_of_search_through_each_door_finds_nothing(door: str, tmp_path: Path) -> None:
    tries, _ = searched(door, tmp_path, "--seconds", str(LONG_S))
    print(f"{door}: {tries} tries in {LONG_S} s, nothing found")  # noqa: T201
    assert tries > 0
