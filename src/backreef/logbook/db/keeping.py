"""Keeps a log safe: looks whether it holds together, copies it, puts a copy back."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.logbook.db.copies import BadCopy, copy_sqlite, look_at_sqlite, put_back_sqlite
from backreef.logbook.db.prepare import closing_alias
from backreef.logbook.db.rows import Spoiled, checked_entry_of, row_of
from backreef.logbook.db.setup import is_address
from backreef.logbook.db.store import DjangoStore
from backreef.logbook.db.trouble import told
from backreef.logbook.store import StoreTrouble

if TYPE_CHECKING:
    from backreef.logbook.db.models import Revision

_AT_ONCE = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What a log holds, and what is wrong with it."""

    entries_count: int
    revisions_count: int
    tanks: tuple[str, ...]
    faults: tuple[str, ...]


def look_at(store: DjangoStore) -> Looked:
    """Read every revision of a log and check it against its check sum and its neighbours."""
    faults: list[str] = []
    if not is_address(store.place):
        try:
            look_at_sqlite(Path(store.place))
        except BadCopy as refusal:
            return Looked(entries_count=0, revisions_count=0, tanks=(), faults=(str(refusal),))
    entries_count = revisions_count = 0
    tanks: set[str] = set()
    with told(store.told_as):
        rows = store.rows().order_by("entry_id", "revision").iterator(chunk_size=_AT_ONCE)
        for entry_id, group in groupby(rows, key=lambda row: row.entry_id):
            revisions = list(group)
            entries_count += 1
            revisions_count += len(revisions)
            tanks.update(row.tank for row in revisions)
            faults += _faults_of(entry_id, revisions)
    return Looked(
        entries_count=entries_count,
        revisions_count=revisions_count,
        tanks=tuple(sorted(tanks)),
        faults=tuple(faults),
    )


def _faults_of(entry_id: str, revisions: list[Revision]) -> Iterator[str]:
    if [row.revision for row in revisions] != list(range(1, len(revisions) + 1)):
        yield f"entry {entry_id} lacks a revision"
    if [row.current for row in revisions] != [False] * (len(revisions) - 1) + [True]:
        yield f"entry {entry_id}: not its last revision counts"
    for row in revisions:
        try:
            checked_entry_of(row)
        except Spoiled as spoiled:
            yield str(spoiled)


def back_up(store: DjangoStore, target: Path) -> Looked:
    """Copy a log into a file, while it is in use, and look at the copy.

    Raises
    ------
    StoreTrouble
        If the copy is not as good as the log; then it is not there.
    """
    if target.exists():
        raise BadCopy(f"{target} is there already; name another file")
    if not target.parent.is_dir():
        raise StoreTrouble(f"{target}: the folder {target.parent} is not there; make it first")
    with _folder(target.parent) as folder:
        copy = folder / "copy.sqlite3"
        with told(str(target)):
            if is_address(store.place):
                _write_out(store, copy)
            else:
                copy_sqlite(Path(store.place), copy)
        looked = _looked_at(copy)
        if looked.faults:
            raise BadCopy(f"the copy would be damaged as the log is: {looked.faults[0]}")
        with told(str(target)):
            copy_sqlite(copy, target)
    return looked


def put_back(place: str, copy: Path, *, now: datetime) -> tuple[Looked, Path | None]:
    """Put a copy in the place of a log, which is itself copied aside first.

    Returns
    -------
    Looked
        What the copy holds.
    Path or None
        Where the log that stood there is now; None if there was none.
    """
    if not copy.is_file():
        raise StoreTrouble(f"{copy} is not there")
    with tempfile.TemporaryDirectory(prefix="backreef-restore-") as name:
        ours = Path(name) / "copy.sqlite3"
        with told(str(copy)):
            look_at_sqlite(copy)
            copy_sqlite(copy, ours)
        looked = _looked_at(ours)
        if looked.faults:
            raise BadCopy(f"{copy} is damaged, so nothing was changed: {looked.faults[0]}")
        if is_address(place):
            _read_in(ours, place)
            return looked, None
        path = Path(place)
        aside = None
        with told(place):
            if path.exists():
                aside = path.with_name(f"{path.stem}-before-restore-{now:%Y%m%d-%H%M%S}.sqlite3")
                copy_sqlite(path, aside)
                put_back_sqlite(ours, path)
            else:
                copy_sqlite(ours, path)
    return looked, aside


def _read_in(copy: Path, place: str) -> None:
    """Fill an empty log on a server; one that holds something is never overwritten."""
    source, target = DjangoStore(copy), DjangoStore(place)
    try:
        if target.rows().exists():
            raise StoreTrouble(
                f"the log at {target.told_as} holds entries, which are not overwritten; "
                "restore into a fresh database"
            )
        with told(target.told_as):
            _transfer(source, target)
    finally:
        source.close()
        target.close()


def _write_out(store: DjangoStore, target: Path) -> None:
    copy = DjangoStore(target)
    try:
        _transfer(store, copy)
    finally:
        copy.close()


def _transfer(source: DjangoStore, target: DjangoStore) -> None:
    """Write every revision of one log into another, in its order, all or none."""
    from django.db import transaction

    with transaction.atomic(using=target.alias):
        waiting: list[Revision] = []
        for row in source.rows().order_by("pk").iterator(chunk_size=_AT_ONCE):
            waiting.append(row_of(checked_entry_of(row), current=row.current))
            if len(waiting) == _AT_ONCE:
                target.rows().bulk_create(waiting)
                waiting = []
        target.rows().bulk_create(waiting)


def _looked_at(path: Path) -> Looked:
    store = DjangoStore(path, create=False)
    try:
        return look_at(store)
    finally:
        store.close()


@contextmanager
def _folder(beside: Path) -> Iterator[Path]:
    """A folder for unfinished work, on the same disk."""
    name = tempfile.mkdtemp(dir=beside, prefix=".backreef-")
    try:
        yield Path(name)
    finally:
        shutil.rmtree(name, ignore_errors=True)


def pragmas(place: str) -> dict[str, str]:
    """The settings that a connection to a log in a file really has."""
    from django.db import connections

    with closing_alias(place) as alias, connections[alias].cursor() as cursor:
        found = {}
        for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout"):
            cursor.execute(f"PRAGMA {name}")
            found[name] = str(cursor.fetchone()[0])
        return found
