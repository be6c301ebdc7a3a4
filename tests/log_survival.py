"""Writers of the log that are killed, starved of room, or set upon each other: in processes of their own."""

from __future__ import annotations

import os
import random
import resource
import signal
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from backreef.logbook.db.keeping import look_at
from backreef.logbook.db.store import DjangoStore
from backreef.logbook.entries import Note

WRITER = """\
import sys
sys.path.insert(0, {root!r})
from tests.log_survival import write_without_end
write_without_end({place!r}, {who!r}, {letters})
"""
ROOT = Path(__file__).resolve().parents[1]
LONGEST_START_S = 60.0
_IN_THE_MAKING = 0.2
"""Share of the writers that are killed while the log is opened or made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Survived:
    """What a writer was told is kept, and what is."""

    acknowledged: tuple[str, ...]
    kept: frozenset[str]
    faults: tuple[str, ...]

    @property
    def lost(self) -> tuple[str, ...]:
        """Acknowledged and not kept."""
        return tuple(one for one in self.acknowledged if one not in self.kept)


def write_without_end(place: str, who: str, letters: int) -> None:
    """Write entries one by one, and say each id once it is kept; corrections and pairs among them."""
    from tests.logbook_world import an_entry

    sys.stdout.write("begin\n")
    sys.stdout.flush()
    store = DjangoStore(place)
    number = 0
    while True:
        ident = f"{who}{number}"
        text = Note(text=f"{number} ".ljust(letters, "x"))
        if number % 5 == 4:
            before = store.history(f"{who}{number - 1}")[-1]
            after = an_entry(before.id, text, revision=before.revision + 1, batch=ident, why="again")
            store.revise([after])
            said = f"{before.id}.{after.revision}"
        else:
            store.add([an_entry(ident, text, batch=ident), an_entry(f"{ident}b", text, batch=ident)])
            said = f"{ident}.1"
        sys.stdout.write(said + "\n")
        sys.stdout.flush()
        number += 1


def start_writer(
    place: Path, who: str, *, letters: int = 40, file_bytes: int | None = None
) -> subprocess.Popen[bytes]:
    """A writer in a process of its own; its files may not grow beyond a size, if one is given."""

    def confine() -> None:
        if file_bytes is not None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (file_bytes, file_bytes))

    code = WRITER.format(root=str(ROOT), place=str(place), who=who, letters=letters)
    return subprocess.Popen(
        [sys.executable, "-P", "-c", code],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        bufsize=0,  # what is read line by line must not keep from us what follows
        preexec_fn=confine,  # noqa: PLW1509  nothing else runs in this process
    )


def killed_at_random(place: Path, draws: random.Random, *, writers: int = 1) -> Survived:
    """Let writers write, kill them with no warning at a random moment, and look what is kept."""
    started = [start_writer(place, f"w{draws.randrange(10**9)}x") for _ in range(writers)]
    acknowledged: list[str] = []
    for one in started:
        next_line(one)
    if draws.random() < _IN_THE_MAKING:
        time.sleep(draws.uniform(0.0, 1.0))
    else:
        acknowledged += [next_line(started[0]) for _ in range(draws.randrange(1, 40))]
        time.sleep(draws.uniform(0.0, 0.03))
    for one in started:
        one.send_signal(signal.SIGKILL)
    for one in started:
        out, _ = one.communicate(timeout=LONGEST_START_S)
        acknowledged += whole_lines(out)
    return look(place, acknowledged)


def filled_up(place: Path, *, letters: int, file_bytes: int | None = None) -> tuple[Survived, str]:
    """Let a writer write until there is no room left; what is kept, and what it said at its end."""
    writer = start_writer(place, f"f{os.getpid()}x", letters=letters, file_bytes=file_bytes)
    out, err = writer.communicate(timeout=5 * LONGEST_START_S)
    acknowledged = whole_lines(out.partition(b"\n")[2])
    return look(place, acknowledged), err.decode("utf-8", errors="replace")


def look(place: Path, acknowledged: list[str]) -> Survived:
    """Open the log as the next one would, and read everything."""
    if not place.exists():
        return Survived(acknowledged=tuple(acknowledged), kept=frozenset(), faults=())
    store = DjangoStore(place)
    try:
        faults = look_at(store).faults
        kept = frozenset(f"{one.id}.{one.revision}" for one in store.all_revisions())
        halves = [one for one in kept if one.endswith("b.1") and f"{one[:-3]}.1" not in kept]
        faults += tuple(f"{one} stands without the entry that was written with it" for one in halves)
    finally:
        store.close()
    return Survived(acknowledged=tuple(acknowledged), kept=frozenset(kept), faults=faults)


def whole_lines(out: bytes) -> list[str]:
    """The lines that were said to their end."""
    return [line.decode("ascii") for line in out.split(b"\n")[:-1] if line]


def next_line(writer: subprocess.Popen[bytes]) -> str:
    """The next that a writer says."""
    pipe: IO[bytes] | None = writer.stdout
    assert pipe is not None
    line = pipe.readline()
    if not line.endswith(b"\n"):
        with suppress(subprocess.TimeoutExpired):
            writer.wait(timeout=1)
        raise AssertionError(writer.communicate()[1].decode("utf-8", errors="replace"))
    return line.decode("ascii").strip()
