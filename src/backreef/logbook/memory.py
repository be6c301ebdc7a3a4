"""A store that lasts as long as the process: for tests and for trying things out."""

from __future__ import annotations

from collections.abc import Sequence
from threading import Lock

from backreef.logbook.entries import Entry, Reading
from backreef.logbook.store import NotTheNext, Wanted

_MOST_ALIKE = 10


class MemoryStore:
    """Keeps every revision in a list."""

    def __init__(self) -> None:
        self._written: list[Entry] = []
        self._last: dict[str, Entry] = {}
        self._lock = Lock()

    def add(self, entries: Sequence[Entry]) -> tuple[Entry, ...]:
        """Keep new entries, all or none of them; those whose id is there already are left out."""
        with self._lock:
            new: dict[str, Entry] = {}
            for entry in entries:
                if entry.revision != 1:
                    raise NotTheNext(entry, self._revision(entry.id))
                if entry.id not in self._last:
                    new.setdefault(entry.id, entry)
            self._keep(list(new.values()))
            return tuple(new.values())

    def revise(self, revisions: Sequence[Entry]) -> None:
        """Keep further revisions of entries, all or none of them."""
        with self._lock:
            for one in revisions:
                last = self._revision(one.id)
                if last is None or one.revision != last + 1:
                    raise NotTheNext(one, last)
            if len({one.id for one in revisions}) < len(revisions):
                raise NotTheNext(revisions[-1], self._revision(revisions[-1].id))
            self._keep(revisions)

    def history(self, entry_id: str) -> tuple[Entry, ...]:
        """Every revision of an entry, first to last; empty if there is none."""
        return tuple(entry for entry in self._written if entry.id == entry_id)

    def entries(self, wanted: Wanted) -> tuple[Entry, ...]:
        """The last revision of each entry that is wanted, by moment and then as they were written."""
        found = [entry for entry in self._last.values() if _is_wanted(entry, wanted)]
        found.sort(key=lambda entry: entry.at)
        return tuple(found if wanted.newest_count is None else found[-wanted.newest_count :])

    def ids_like(self, beginning: str) -> tuple[str, ...]:
        """The ids that begin so, ten at most."""
        return tuple(sorted(one for one in self._last if one.startswith(beginning))[:_MOST_ALIKE])

    def known_ids(self, ids: Sequence[str]) -> frozenset[str]:
        """Those of the ids that are in the log."""
        return frozenset(ids) & self._last.keys()

    def last_batch(self, tank: str) -> tuple[Entry, ...]:
        """The revisions of the newest batch of a tank that takes nothing back and was not taken back."""
        taken_back = {entry.undoes for entry in self._written if entry.tank == tank}
        for entry in reversed(self._written):
            if entry.tank == tank and not entry.undoes and entry.batch not in taken_back:
                return tuple(one for one in self._written if one.batch == entry.batch and one.tank == tank)
        return ()

    def mark(self, tank: str) -> str:
        """A word that is another one after anything of the tank was written; empty where nothing was."""
        count = sum(entry.tank == tank for entry in self._written)
        return str(count) if count else ""

    def all_revisions(self) -> tuple[Entry, ...]:
        """Everything, in the order in which it was written."""
        return tuple(self._written)

    def tanks(self) -> tuple[str, ...]:
        """The tanks that have entries, by name."""
        return tuple(sorted({entry.tank for entry in self._last.values()}))

    def close(self) -> None:
        """Let go of nothing: there is nothing held open."""

    def _keep(self, revisions: Sequence[Entry]) -> None:
        self._written.extend(revisions)
        for entry in revisions:
            self._last.pop(entry.id, None)  # so that its place is that of its last revision
            self._last[entry.id] = entry

    def _revision(self, entry_id: str) -> int | None:
        return self._last[entry_id].revision if entry_id in self._last else None


def _is_wanted(entry: Entry, wanted: Wanted) -> bool:
    series = entry.what.series if isinstance(entry.what, Reading) else None
    return (
        (wanted.with_withdrawn or not entry.withdrawn)
        and wanted.tank in (None, entry.tank)
        and (not wanted.kinds or entry.what.kind in wanted.kinds)
        and wanted.series in (None, series)
        and (wanted.since is None or entry.at >= wanted.since)
        and (wanted.until is None or entry.at < wanted.until)
    )
