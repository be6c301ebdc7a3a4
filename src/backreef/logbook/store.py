"""What every store of the log can do; `memory.py` does it in memory, `db` in a database."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from backreef.errors import BackreefError
from backreef.logbook.entries import Entry


class StoreTrouble(BackreefError):
    """The store cannot do what was asked, and has done nothing of it; the message says what to do."""


class NotTheNext(StoreTrouble):
    """A revision that does not follow the last one: somebody else has corrected the entry meanwhile."""

    def __init__(self, entry: Entry, last_revision: int | None) -> None:
        held = "is not in the log" if last_revision is None else f"stands at revision {last_revision}"
        super().__init__(
            f"entry {entry.id} {held}, so revision {entry.revision} cannot follow; "
            "look at it again and repeat the correction"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which entries are asked for; everything that is left out does not narrow."""

    tank: str | None = None
    kinds: tuple[str, ...] = ()
    series: str | None = None
    since: datetime | None = None
    """At this moment or later."""
    until: datetime | None = None
    """Before this moment."""
    newest_count: int | None = None
    """Only so many, the latest."""
    with_withdrawn: bool = False


class LogbookStore(Protocol):
    """A place where revisions are added and never changed."""

    def add(self, entries: Sequence[Entry]) -> tuple[Entry, ...]:
        """Keep new entries, all or none of them; those whose id is there already are left out.

        Returns
        -------
        tuple of Entry
            Those that were new. Once this returns they outlive the process.
        """
        ...

    def revise(self, revisions: Sequence[Entry]) -> None:
        """Keep further revisions of entries, all or none of them.

        Raises
        ------
        NotTheNext
            If one of them is not the next of its entry.
        """
        ...

    def history(self, entry_id: str) -> tuple[Entry, ...]:
        """Every revision of an entry, first to last; empty if there is none."""
        ...

    def entries(self, wanted: Wanted) -> tuple[Entry, ...]:
        """The last revision of each entry that is wanted, by moment and then as they were written."""
        ...

    def ids_like(self, beginning: str) -> tuple[str, ...]:
        """The ids that begin so, ten at most."""
        ...

    def known_ids(self, ids: Sequence[str]) -> frozenset[str]:
        """Those of the ids that are in the log."""
        ...

    def last_batch(self, tank: str) -> tuple[Entry, ...]:
        """The revisions of the newest batch of a tank that takes nothing back and was not taken back."""
        ...

    def mark(self, tank: str) -> str:
        """A word that is another one after anything of the tank was written; empty where nothing was."""
        ...

    def all_revisions(self) -> tuple[Entry, ...]:
        """Everything, in the order in which it was written."""
        ...

    def tanks(self) -> tuple[str, ...]:
        """The tanks that have entries, by name."""
        ...

    def close(self) -> None:
        """Let go of what the store holds open."""
        ...
