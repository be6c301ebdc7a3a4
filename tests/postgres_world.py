"""A PostgreSQL server of our own for tests: in a temporary folder, on a socket, gone afterwards."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from urllib.parse import quote

_COUNTER = count(1)


class NoServer(Exception):
    """No server can be started here; the message says why."""


@contextmanager
def a_server() -> Iterator[Path]:
    """The folder of the socket of a running server."""
    binaries = _binaries()
    account = _account()
    folder = Path(tempfile.mkdtemp(prefix="backreef-pg-"))
    try:
        if account is not None:
            os.chown(folder, account.pw_uid, account.pw_gid)
        data = folder / "data"
        _run(
            account, binaries / "initdb", "-D", data, "-U", "keeper", "-A", "trust", "-E", "UTF8", "--no-sync"
        )
        options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c fsync=off"
        control = (binaries / "pg_ctl", "-D", data, "-w")
        _run(account, *control, "-o", options, "-l", folder / "log", "start")
        try:
            yield folder
        finally:
            _run(account, *control, "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def a_database(server: Path) -> str:
    """The address of a fresh database."""
    import psycopg
    from psycopg import sql

    name = f"log{next(_COUNTER)}"
    with psycopg.connect(f"host={server} user=keeper dbname=postgres", autocommit=True) as connection:
        connection.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
    return f"postgresql://keeper@/{name}?host={quote(str(server), safe='')}"


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
        timeout=60,
        **whose,  # type: ignore[call-overload]
    )
    if done.returncode != 0:
        raise NoServer(f"{Path(str(command[0])).name} failed with {done.returncode}")
