"""The only place that joins the command line to a database; nothing of it is imported before it is used."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType
from typing import TYPE_CHECKING

from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.logbook.db.store import DjangoStore


@contextmanager
def opened_store(place: str, terminal: Terminal, *, create: bool) -> Iterator[DjangoStore]:
    """The log at a place, for as long as the block lasts; what was done to bring it up to date is told."""
    from backreef.logbook.db.store import DjangoStore

    store = DjangoStore(place, create=create)
    try:
        for backup in store.backups:
            terminal.tell(f"The log was brought up to date; as it was before, it is in {backup}\n")
        yield store
    finally:
        store.close()


@contextmanager
def existing_store(place: str, terminal: Terminal) -> Iterator[DjangoStore | None]:
    """The log at a place if there is one, for as long as the block lasts."""
    from backreef.logbook.db.prepare import is_there

    if is_there(place):
        with opened_store(place, terminal, create=False) as store:
            yield store
    else:
        yield None


def keeping() -> ModuleType:
    """What keeps a log safe: backing up, restoring, verifying."""
    from backreef.logbook.db import keeping as module

    return module
