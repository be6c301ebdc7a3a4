"""Entries as rows of the table, and back."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC
from typing import TYPE_CHECKING

from backreef.logbook.entries import BadEntry, Entry, Reading
from backreef.logbook.plain import entry_fields, entry_from
from backreef.logbook.store import StoreTrouble

if TYPE_CHECKING:
    from backreef.logbook.db.models import Revision


class Spoiled(StoreTrouble):
    """A row that is not as it was written."""

    def __init__(self, entry_id: str, revision: int, what: str) -> None:
        super().__init__(
            f"revision {revision} of entry {entry_id} is spoiled ({what}); "
            "restore a backup with 'backreef log restore'"
        )


def row_of(entry: Entry, *, current: bool = True) -> Revision:
    """The row that keeps a revision."""
    from backreef.logbook.db.models import Revision

    content = json.dumps(
        entry_fields(entry), sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":")
    )
    return Revision(
        entry_id=entry.id,
        revision=entry.revision,
        current=current,
        tank=entry.tank,
        kind=entry.what.kind,
        series=entry.what.series if isinstance(entry.what, Reading) else "",
        at=entry.at.astimezone(UTC),
        content=content,
        digest=digest_of(content),
        withdrawn=entry.withdrawn,
        batch=entry.batch,
        undoes=entry.undoes,
    )


def entry_of(row: Revision) -> Entry:
    """The revision that a row keeps.

    Raises
    ------
    Spoiled
        If its content is not what was written.
    """
    if digest_of(row.content) != row.digest:
        raise Spoiled(row.entry_id, row.revision, "its letters do not fit its check sum")
    try:
        entry = entry_from(json.loads(row.content))
    except (BadEntry, json.JSONDecodeError, RecursionError) as refusal:
        raise Spoiled(row.entry_id, row.revision, str(refusal)) from None
    return entry


def checked_entry_of(row: Revision) -> Entry:
    """The same, with every column beside the content compared with it too: for whoever looks the log over.

    Raises
    ------
    Spoiled
        If any of it is not what was written.
    """
    entry = entry_of(row)
    beside = row_of(entry, current=row.current)
    columns = [column for column in _COLUMNS if getattr(beside, column) != getattr(row, column)]
    if columns:
        raise Spoiled(row.entry_id, row.revision, f"its {', '.join(columns)} is not what it says itself")
    return entry


_COLUMNS = (
    "entry_id",
    "revision",
    "tank",
    "kind",
    "series",
    "at",
    "withdrawn",
    "batch",
    "undoes",
)


def digest_of(content: str) -> str:
    """SHA-256 of a content. [hexadecimal]"""
    return hashlib.sha256(content.encode("utf-8")).hexdigest()
