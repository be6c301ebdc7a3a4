"""Copies of a log: made while it is in use, looked at before they are trusted, put back in one step."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

from backreef.logbook.store import StoreTrouble

_WAIT_S = 20.0


class BadCopy(StoreTrouble):
    """A copy that cannot be trusted; the message says why."""


def copy_sqlite(source: Path, target: Path) -> None:
    """Copy a log that may be in use; the target is whole or not there.

    Raises
    ------
    BadCopy
        If the copy is not as good as what was copied.
    """
    if target.exists():
        raise BadCopy(f"{target} is there already; name another file")
    unfinished = target.with_name(f".{target.name}.part")
    unfinished.unlink(missing_ok=True)
    try:
        with closing(_opened(source)) as old, closing(sqlite3.connect(unfinished)) as new:
            old.backup(new)
            new.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
        look_at_sqlite(unfinished)
        _to_disk(unfinished)
        unfinished.chmod(0o600)
        unfinished.replace(target)
        _to_disk(target.parent)
    finally:
        unfinished.unlink(missing_ok=True)


def look_at_sqlite(path: Path) -> None:
    """Whether a file is a database that holds together.

    Raises
    ------
    BadCopy
        If it is not.
    """
    try:
        with closing(_opened(path)) as database:
            answer = [row[0] for row in database.execute("PRAGMA integrity_check")]
            strays = list(database.execute("PRAGMA foreign_key_check"))
    except sqlite3.Error as complaint:
        raise BadCopy(f"{path} is no log, or damaged ({complaint})") from complaint
    if answer != ["ok"] or strays:
        raise BadCopy(f"{path} is damaged: {'; '.join(answer[:3])}")


def put_back_sqlite(copy: Path, path: Path) -> None:
    """Put a copy in the place of a log, in one transaction: whoever has it open goes on with the copy."""
    look_at_sqlite(copy)
    with closing(_opened(copy)) as source, closing(sqlite3.connect(path, timeout=_WAIT_S)) as target:
        source.backup(target)
    look_at_sqlite(path)


def dump_postgres(address: str, target: Path, *, table: str) -> None:
    """Dump a log on a server with the server's own tool, and look whether the table is in the dump."""
    if shutil.which("pg_dump") is None or shutil.which("pg_restore") is None:
        raise StoreTrouble(
            "the tables of the log must be brought up to date, and no backup can be made first: "
            "pg_dump is not here; install PostgreSQL's client tools"
        )
    made = subprocess.run(  # noqa: S603  our own command
        ["pg_dump", "--format=custom", f"--file={target}", f"--dbname={address}"],  # noqa: S607  wherever it is
        capture_output=True,
        check=False,
        text=True,
    )
    if made.returncode != 0:
        raise BadCopy(f"no backup could be made, so nothing was changed: {made.stderr.strip()}")
    listed = subprocess.run(  # noqa: S603  our own command
        ["pg_restore", "--list", str(target)],  # noqa: S607  wherever it is
        capture_output=True,
        check=False,
        text=True,
    )
    if listed.returncode != 0 or f"TABLE DATA public {table}" not in listed.stdout:
        raise BadCopy(f"the backup {target} does not hold the log, so nothing was changed")


def _opened(path: Path) -> sqlite3.Connection:
    """A connection that reads and makes nothing."""
    return sqlite3.connect(f"file:{quote(str(path))}?mode=ro", uri=True, timeout=_WAIT_S)


def _to_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
