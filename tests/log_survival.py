"""Writers of the log that are killed, starved of room, or set upon each other.

Writers are processes. They are forked from one that has everything imported, so that a round takes no longer
than what is tried in it. They say in a file which entries they were told are kept.
"""

from __future__ import annotations

import json
import os
import random
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from backreef.logbook.db.keeping import look_at
from backreef.logbook.db.store import DjangoStore
from backreef.logbook.entries import Note
from tests.logbook_world import an_entry

NURSERY = """\
import sys
sys.path.insert(0, {root!r})
from tests.log_survival import serve
serve()
"""
ROOT = Path(__file__).resolve().parents[1]
LONGEST_S = 300.0
_IN_THE_MAKING = 0.2
"""Share of the writers that are killed while the log is opened or made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Survived:
    """What writers were told is kept, what is, and what is wrong with it."""

    acknowledged: tuple[str, ...]
    kept: frozenset[str]
    faults: tuple[str, ...]

    @property
    def lost(self) -> tuple[str, ...]:
        """Acknowledged and not kept."""
        return tuple(one for one in self.acknowledged if one not in self.kept)


@dataclass(slots=True, kw_only=True)
class Writer:
    """A writer at work, and the files in which it says what it knows."""

    pid: int
    said: Path
    trouble: Path

    def acknowledged(self) -> list[str]:
        """The ids that it said to their end."""
        return [line.decode("ascii") for line in self.said.read_bytes().split(b"\n")[:-1] if line]

    def wait_for(self, count: int) -> None:
        """Wait until it has said so many, or is gone."""
        until = time.monotonic() + LONGEST_S
        while len(self.acknowledged()) < count and self.is_there() and time.monotonic() < until:
            time.sleep(0.002)

    def wait(self) -> None:
        """Wait until it is gone."""
        until = time.monotonic() + LONGEST_S
        while self.is_there():
            assert time.monotonic() < until, "a writer goes on and on"
            time.sleep(0.002)

    def is_there(self) -> bool:
        """Whether it still runs."""
        try:
            os.kill(self.pid, 0)
        except ProcessLookupError:
            return False
        return True


@dataclass(slots=True)
class Nursery:
    """Starts writers."""

    folder: Path
    process: subprocess.Popen[str]
    started: int = field(default=0)

    def start(self, place: Path | str, who: str, *, letters: int = 40, file_bytes: int = 0) -> Writer:
        """A writer of a log; its files may not grow beyond a size, if one is given."""
        self.started += 1
        said, trouble = (self.folder / f"{who}-{self.started}.{end}" for end in ("said", "trouble"))
        said.touch()
        wanted = {"place": str(place), "who": who, "letters": letters, "file_bytes": file_bytes}
        command, answer = self.process.stdin, self.process.stdout
        assert command is not None
        assert answer is not None
        command.write(json.dumps(wanted | {"said": str(said), "trouble": str(trouble)}) + "\n")
        command.flush()
        return Writer(pid=int(answer.readline()), said=said, trouble=trouble)


@contextmanager
def a_nursery(folder: Path) -> Iterator[Nursery]:
    """A process that starts writers, for as long as the block lasts."""
    folder.mkdir(exist_ok=True)
    code = NURSERY.format(root=str(ROOT))
    with subprocess.Popen(
        [sys.executable, "-P", "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        try:
            yield Nursery(folder, process)
        finally:
            os.killpg(process.pid, signal.SIGKILL)  # its writers too, or they would write for ever


def serve() -> None:
    """Fork a writer for each line of standard input, and say its number."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody waits for them here
    warmed = ROOT / "nowhere" / "log.sqlite3"
    with suppress(Exception):
        DjangoStore(warmed)  # refused, but everything is imported by then
    for line in sys.stdin:
        pid = os.fork()
        if pid == 0:
            _be_a_writer(json.loads(line))
        sys.stdout.write(f"{pid}\n")
        sys.stdout.flush()


def _be_a_writer(wanted: dict[str, str | int]) -> None:
    room = int(wanted["file_bytes"])
    if room:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
    with Path(str(wanted["said"])).open("ab", buffering=0) as said:
        try:
            write_without_end(str(wanted["place"]), str(wanted["who"]), int(wanted["letters"]), said)
        except BaseException as trouble:  # noqa: BLE001  told to whoever started it
            Path(str(wanted["trouble"])).write_text(str(trouble), encoding="utf-8")
        finally:
            os._exit(0)


def write_without_end(place: str, who: str, letters: int, said: IO[bytes]) -> None:
    """Write entries one by one, and say each id once it is kept; corrections and pairs among them."""
    store = DjangoStore(place)
    number = 0
    while True:
        ident = f"{who}{number}"
        text = Note(text=f"{number} ".ljust(letters, "x"))
        if number % 5 == 4:
            before = store.history(f"{who}{number - 1}")[-1]
            after = an_entry(before.id, text, revision=before.revision + 1, batch=ident, why="again")
            store.revise([after])
            said.write(f"{before.id}.{after.revision}\n".encode())
        else:
            store.add([an_entry(ident, text, batch=ident), an_entry(f"{ident}b", text, batch=ident)])
            said.write(f"{ident}.1\n".encode())
        number += 1


def killed_at_random(
    nursery: Nursery, place: Path | str, draws: random.Random, *, writers: int = 1
) -> Survived:
    """Let writers write, kill them with no warning at a random moment, and look what is kept."""
    started = [nursery.start(place, f"w{draws.randrange(10**9)}x") for _ in range(writers)]
    if draws.random() < _IN_THE_MAKING:
        time.sleep(draws.uniform(0.0, 0.3))
    else:
        started[0].wait_for(draws.randrange(1, 40))
        time.sleep(draws.uniform(0.0, 0.03))
    for one in started:
        os.kill(one.pid, signal.SIGKILL)
    for one in started:
        one.wait()
    return look(place, [ident for one in started for ident in one.acknowledged()])


def filled_up(nursery: Nursery, place: Path, *, letters: int, file_bytes: int = 0) -> tuple[Survived, str]:
    """Let a writer write until there is no room left; what is kept, and what it said at its end."""
    writer = nursery.start(place, f"f{nursery.started}x", letters=letters, file_bytes=file_bytes)
    writer.wait()
    said = writer.trouble.read_text(encoding="utf-8") if writer.trouble.exists() else ""
    return look(place, writer.acknowledged()), said


def look(place: Path | str, acknowledged: list[str]) -> Survived:
    """Open the log as the next one would, and read everything."""
    if isinstance(place, Path) and not place.exists():
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
