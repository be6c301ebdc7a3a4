"""Brings the tables of a log up to date, after a backup that was looked at; makes a new log whole."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from backreef.logbook.db.copies import copy_sqlite, dump_postgres
from backreef.logbook.db.setup import MAKERS_LOCK, forget, is_address, register, shown
from backreef.logbook.store import StoreTrouble

APP = "logbook"
TABLE = "logbook_revision"
_BEGINNING = b"SQLite format 3\0"
_MORE = tuple(f"-{number}" for number in range(2, 100))
"""Endings for a backup where one of the same second stands already, of somebody who was stopped."""


class NoLog(StoreTrouble):
    """There is no log where one was looked for."""

    def __init__(self, place: str) -> None:
        super().__init__(f"there is no log at {place}; the first thing that is logged makes one")


def is_there(place: str) -> bool:
    """Whether there is a log at a place; a server is taken to have one."""
    return is_address(place) or Path(place).exists()


def prepare(place: str) -> tuple[Path, ...]:
    """Make the log if it is not there, bring its tables up to date if they are old.

    Returns
    -------
    tuple of Path
        The backup that was made before the tables were changed, if they were.
    """
    if not is_there(place):
        _make_whole(Path(place))
        return ()
    if not is_address(place):
        _refuse_what_was_cut_off(Path(place))
    with closing_alias(place) as alias:
        return _bring_up_to_date(alias, place)


def _refuse_what_was_cut_off(path: Path) -> None:
    """SQLite takes an empty file for a new database; here it is a log whose content is gone."""
    with path.open("rb") as file:
        begins = file.read(len(_BEGINNING))
    if begins != _BEGINNING:
        what = "was cut off and is damaged" if _BEGINNING.startswith(begins) else "is no log or is damaged"
        raise StoreTrouble(
            f"{path} {what}; restore a backup with 'backreef log restore', or take the file away if there "
            "never was a log in it"
        )


class closing_alias:  # noqa: N801  used like contextlib.closing
    """A registered database for as long as the block lasts."""

    def __init__(self, place: str) -> None:
        self._place = place
        self._alias = ""

    def __enter__(self) -> str:
        self._alias = register(self._place)
        return self._alias

    def __exit__(self, *_: object) -> None:
        forget(self._alias)


def _make_whole(path: Path) -> None:
    """Make the tables in another file and put it in place at once, so that nobody meets a half-made log."""
    if not path.parent.is_dir():
        raise StoreTrouble(f"{path}: the folder {path.parent} is not there; make it first")
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-", suffix=".part")
    os.close(handle)
    unfinished = Path(name)
    try:
        with closing_alias(name) as alias:
            _executor(alias).migrate(_leaves(alias))
        unfinished.chmod(0o600)
        with suppress(FileExistsError):  # somebody else was faster, and theirs is as good
            os.link(unfinished, path)
    finally:
        for beside in ("", "-wal", "-shm"):
            Path(name + beside).unlink(missing_ok=True)


def _bring_up_to_date(alias: str, place: str) -> tuple[Path, ...]:
    from django.db import connections

    connection = connections[alias]
    tables = set(connection.introspection.table_names())
    if tables and TABLE not in tables:
        raise StoreTrouble(f"{shown(place)} is a database of something else; name another file with --store")
    executor = _executor(alias)
    known = set(executor.loader.disk_migrations)
    newer = sorted(
        name for app, name in executor.loader.applied_migrations if app == APP and (app, name) not in known
    )
    if newer:
        raise StoreTrouble(
            f"{shown(place)} was written by a newer backreef ({newer[-1]}); use that one, or a later one"
        )
    if not executor.migration_plan(_leaves(alias)):
        return ()
    backup = _backup(place) if tables else ()
    if is_address(place):
        _migrate_at_once(alias)
    else:
        executor.migrate(_leaves(alias))
    return backup


def _migrate_at_once(alias: str) -> None:
    """Bring a server up to date in one transaction, one maker at a time: killed, it leaves nothing."""
    from django.db import connections, transaction

    with transaction.atomic(using=alias), connections[alias].cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [MAKERS_LOCK])
        _executor(alias).migrate(_leaves(alias))  # made anew: somebody else may have been faster


def _backup(place: str) -> tuple[Path, ...]:
    """A copy of the log as it is, looked at before anything is changed."""
    stamp = datetime.now(tz=UTC).strftime("%Y%m%d-%H%M%S")
    if is_address(place):
        target = Path.cwd() / f"backreef-log-before-update-{stamp}.dump"
        dump_postgres(place, target, table=TABLE)
    else:
        path = Path(place)
        named = (f"{path.stem}-before-update-{stamp}{more}.sqlite3" for more in ("", *_MORE))
        target = next(one for name in named if not (one := path.with_name(name)).exists())
        copy_sqlite(path, target)
    return (target,)


def _executor(alias: str) -> Any:
    from django.db import connections
    from django.db.migrations.executor import MigrationExecutor

    return MigrationExecutor(connections[alias])


def _leaves(alias: str) -> list[tuple[str, str]]:
    return [leaf for leaf in _executor(alias).loader.graph.leaf_nodes() if leaf[0] == APP]
