"""A million lines through any door are refused in words, in two seconds each and 500 MB together."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests import doors

ROOT = Path(__file__).resolve().parents[2]
LINES = 1_000_000
MOST_BYTES = 500_000_000
HEAD = b"date,time,NO3 (mg/L),kh,line,note\n,,,dKH,,\n"
EVENT = b"BEGIN:VEVENT\nUID:1\nDTSTART;VALUE=DATE:20270301\nEND:VEVENT\n"
LARGE: dict[str, tuple[bytes, ...]] = {
    "plan": (b"#\n" * LINES, b"a = 1\n" * LINES, b"[[animals]]\n" * LINES),
    "own foods": (b"a = 1\n" * LINES,),
    "calendar": (b"BEGIN:VCALENDAR\n" + EVENT * (LINES // 4) + b"END:VCALENDAR\n",),
    "table": (HEAD + b"2027-02-01,18:30,12,8.1,,\n" * LINES, HEAD + b"x,y,z\n" * LINES, b"\n" * LINES),
    "photograph": (b"\x89PNG\r\n\x1a\n" + b"\n" * LINES,),
    "kept answer": (b"[" * LINES, b"{}\n" * LINES),
    "line": (b"no3 12\n" * LINES, b"no3 12, " * LINES, b"note: " + b"a" * LINES),
    "moment": (b"1 ago\n" * LINES,),
    "quantity": (b"1 L\n" * LINES, b"9" * LINES),
}
CODE = (
    "import sys; sys.path.insert(0, {root!r}); from tests.property.test_large_input import through; through()"
)


def through() -> None:
    """Send them all, in a process that may have no more memory."""
    resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES, MOST_BYTES))
    known = doors.doors()
    with tempfile.TemporaryDirectory() as folder:
        for name, pieces in LARGE.items():
            for sent in pieces:
                said = doors.ask(known[name], sent, Path(folder))
                assert said, f"{name} takes {len(sent)} bytes without a word"


@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory as Linux counts it")
def test_a_million_lines_are_refused_in_time_and_in_little_memory() -> None:
    ran = subprocess.run(
        [sys.executable, "-P", "-c", CODE.format(root=str(ROOT))],
        capture_output=True,
        text=True,
        check=False,
        env={"OPENBLAS_NUM_THREADS": "1", "PATH": "", "PYTHONPATH": str(ROOT / "src")},
    )
    assert ran.returncode == 0, ran.stderr[-2000:]
