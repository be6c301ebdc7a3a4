"""A PostgreSQL server of our own for tests: in a temporary folder, on a socket, gone afterwards."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from urllib.parse import quote

_COUNTER = count(1)
LONGEST_S = 30.0
LONGEST_START_S = 180.0
"""How long a server may take to start on a busy machine, after it fell too."""


class NoServer(Exception):
    """No server can be started here; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A server that can be struck down."""

    folder: Path
    binaries: Path
    account: pwd.struct_passwd | None
    fsync: bool

    def start(self) -> None:
        """Start it, or start it again: it mends what was going on when it fell."""
        options = f"-c listen_addresses='' -c unix_socket_directories={self.folder}"
        options += "" if self.fsync else " -c fsync=off"
        patience = f"{LONGEST_START_S:.0f}"
        self._control("-t", patience, "-o", options, "-l", self.folder / "log", "start")

    def strike_down(self) -> None:
        """End it at once, with no word to anybody and nothing put in order."""
        self._control("-m", "immediate", "stop")

    def kill(self) -> None:
        """Kill the server's first process as `kill -9` does; the others fall with it."""
        place = self.folder / "data" / "postmaster.pid"
        first = int(place.read_text(encoding="ascii").split()[0])
        others = _children(first)
        os.kill(first, signal.SIGKILL)
        until = time.monotonic() + LONGEST_S
        while any(map(_is_there, others)) and time.monotonic() < until:  # they still hold its memory
            time.sleep(0.02)
        place.unlink()

    def _control(self, *words: object) -> None:
        _run(self.account, self.binaries / "pg_ctl", "-D", self.folder / "data", "-w", *words)


def _children(pid: int) -> list[int]:
    found = subprocess.run(
        ["pgrep", "-P", str(pid)], capture_output=True, check=False, stdin=subprocess.DEVNULL, text=True
    )
    return [int(word) for word in found.stdout.split()]


def _is_there(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


@contextmanager
def a_server(*, fsync: bool = False) -> Iterator[Server]:
    """A running server; without `fsync` it is quicker, and a power cut would hurt it."""
    binaries = _binaries()
    account = _account()
    folder = Path(tempfile.mkdtemp(prefix="backreef-pg-"))
    server = Server(folder=folder, binaries=binaries, account=account, fsync=fsync)
    try:
        if account is not None:
            os.chown(folder, account.pw_uid, account.pw_gid)
        made = ("-U", "keeper", "-A", "trust", "-E", "UTF8", "--no-sync")
        _run(account, binaries / "initdb", "-D", folder / "data", *made)
        server.start()
        try:
            yield server
        finally:
            server.strike_down()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def a_database(server: Server) -> str:
    """The address of a fresh database."""
    import psycopg
    from psycopg import sql

    name = f"log{next(_COUNTER)}"
    with psycopg.connect(f"host={server.folder} user=keeper dbname=postgres", autocommit=True) as connection:
        connection.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
    return f"postgresql://keeper@/{name}?host={quote(str(server.folder), safe='')}"


def drop_database(server: Server, address: str) -> None:
    """Be rid of a database: after a fall a server looks at the files of all that it has."""
    import psycopg
    from psycopg import sql

    name = address.partition("@/")[2].partition("?")[0]
    with psycopg.connect(f"host={server.folder} user=keeper dbname=postgres", autocommit=True) as connection:
        connection.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


def _binaries() -> Path:
    places = [shutil.which("initdb"), *sorted(map(str, Path("/usr/lib/postgresql").glob("*/bin/initdb")))]
    for place in places:
        if place is not None and (Path(place).resolve().parent / "pg_ctl").exists():
            return Path(place).resolve().parent
    raise NoServer("PostgreSQL's server is not installed (initdb and pg_ctl)")


def _account() -> pwd.struct_passwd | None:
    """Whom the server runs as: ourselves, or, since it refuses root, the account made for it."""
    if os.geteuid() != 0:
        return None
    try:
        return pwd.getpwnam("postgres")
    except KeyError:
        raise NoServer("PostgreSQL refuses to run as root, and there is no account postgres") from None


def _run(account: pwd.struct_passwd | None, *command: object) -> None:
    whose = {} if account is None else {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}
    done = subprocess.run(
        [str(word) for word in command],
        cwd="/",
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,  # the server keeps what it inherits
        stderr=subprocess.DEVNULL,
        check=False,
        timeout=LONGEST_START_S,
        **whose,  # type: ignore[call-overload]
    )
    if done.returncode != 0:
        raise NoServer(f"{Path(str(command[0])).name} failed with {done.returncode}")
