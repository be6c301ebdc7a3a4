"""The log in a database: SQLite in one file, or PostgreSQL for a firm, with the same code."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from backreef.logbook.db.prepare import NoLog, is_there, prepare
from backreef.logbook.db.rows import entry_of, row_of
from backreef.logbook.db.setup import forget, register, shown
from backreef.logbook.db.trouble import told
from backreef.logbook.entries import Entry
from backreef.logbook.store import NotTheNext, StoreTrouble, Wanted

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from backreef.logbook.db.models import Revision

_MOST_ALIKE = 10
_AT_ONCE = 500


class DjangoStore:
    """Keeps revisions in a database; each store has its own connection."""

    def __init__(self, place: str | Path, *, create: bool = True) -> None:
        """Open the log at a path or at the address of a server, with its tables brought up to date.

        Raises
        ------
        NoLog
            If there is none and none is to be made.
        StoreTrouble
            If it cannot be opened.
        """
        self.place = str(place)
        self.told_as = shown(self.place)
        if not create and not is_there(self.place):
            raise NoLog(self.told_as)
        with told(self.told_as):
            self.backups = prepare(self.place)
            self.alias = register(self.place)

    def add(self, entries: Sequence[Entry]) -> tuple[Entry, ...]:
        """Keep new entries, all or none of them; those whose id is there already are left out."""
        from django.db import IntegrityError, transaction

        for entry in entries:
            if entry.revision != 1:
                raise NotTheNext(entry, self._last_revision(entry.id))
        for attempt in (1, 2):
            try:
                with told(self.told_as), transaction.atomic(using=self.alias):
                    return self._add(entries)
            except StoreTrouble as trouble:
                # On a server, somebody else may have added one of them since we looked.
                if attempt == 1 and isinstance(trouble.__cause__, IntegrityError):
                    continue
                raise
        raise AssertionError  # pragma: no cover  the second attempt returns or raises

    def _add(self, entries: Sequence[Entry]) -> tuple[Entry, ...]:
        known = self._known([entry.id for entry in entries])
        new: dict[str, Entry] = {}
        for entry in entries:
            if entry.id not in known:
                new.setdefault(entry.id, entry)
        self.rows().bulk_create([row_of(entry) for entry in new.values()], batch_size=_AT_ONCE)
        return tuple(new.values())

    def revise(self, revisions: Sequence[Entry]) -> None:
        """Keep further revisions of entries, all or none of them."""
        from django.db import transaction

        with told(self.told_as), transaction.atomic(using=self.alias):
            for one in revisions:
                last = self.rows().select_for_update().filter(entry_id=one.id, current=True).first()
                if last is None or one.revision != last.revision + 1:
                    raise NotTheNext(one, None if last is None else last.revision)
                self.rows().filter(pk=last.pk).update(current=False)
                row_of(one).save(using=self.alias, force_insert=True)
            if len({one.id for one in revisions}) < len(revisions):
                raise NotTheNext(revisions[-1], revisions[-1].revision - 1)

    def history(self, entry_id: str) -> tuple[Entry, ...]:
        """Every revision of an entry, first to last; empty if there is none."""
        return self._read(self.rows().filter(entry_id=entry_id).order_by("revision"))

    def entries(self, wanted: Wanted) -> tuple[Entry, ...]:
        """The last revision of each entry that is wanted, by moment and then as they were written."""
        narrowed: dict[str, Any] = {"current": True}
        if not wanted.with_withdrawn:
            narrowed["withdrawn"] = False
        if wanted.kinds:
            narrowed["kind__in"] = wanted.kinds
        given = {
            "tank": wanted.tank,
            "series": wanted.series,
            "at__gte": wanted.since,
            "at__lt": wanted.until,
        }
        narrowed |= {key: value for key, value in given.items() if value is not None}
        rows = self.rows().filter(**narrowed)
        if wanted.newest_count is None:
            return self._read(rows.order_by("at", "pk"))
        return self._read(rows.order_by("-at", "-pk")[: wanted.newest_count])[::-1]

    def ids_like(self, beginning: str) -> tuple[str, ...]:
        """The ids that begin so, ten at most."""
        rows = self.rows().filter(entry_id__startswith=beginning, current=True).order_by("entry_id")
        with told(self.told_as):
            return tuple(sorted(rows.values_list("entry_id", flat=True)[:_MOST_ALIKE]))

    def known_ids(self, ids: Sequence[str]) -> frozenset[str]:
        """Those of the ids that are in the log."""
        with told(self.told_as):
            return frozenset(self._known(ids))

    def last_batch(self, tank: str) -> tuple[Entry, ...]:
        """The revisions of the newest batch of a tank that takes nothing back and was not taken back."""
        ours = self.rows().filter(tank=tank)
        taken_back = ours.exclude(undoes="").values("undoes")
        last = ours.filter(undoes="").exclude(batch__in=taken_back).order_by("-pk")
        with told(self.told_as):
            newest = last.first()
        return () if newest is None else self._read(ours.filter(batch=newest.batch).order_by("pk"))

    def mark(self, tank: str) -> str:
        """A word that is another one after anything of the tank was written; empty where nothing was."""
        from django.db.models import Count, Max

        with told(self.told_as):
            found = self.rows().filter(tank=tank, current=True).aggregate(newest=Max("pk"), count=Count("pk"))
        return "" if found["newest"] is None else f"{found['newest']}.{found['count']}"

    def all_revisions(self) -> tuple[Entry, ...]:
        """Everything, in the order in which it was written."""
        return self._read(self.rows().order_by("pk"))

    def tanks(self) -> tuple[str, ...]:
        """The tanks that have entries, by name."""
        with told(self.told_as):
            return tuple(sorted(set(self.rows().filter(current=True).values_list("tank", flat=True))))

    def close(self) -> None:
        """Let go of the connection."""
        forget(self.alias)

    def rows(self) -> QuerySet[Revision]:
        """Every row, for whoever looks after the log."""
        from backreef.logbook.db.models import Revision

        return Revision.objects.using(self.alias)

    def _read(self, rows: Iterable[Revision]) -> tuple[Entry, ...]:
        with told(self.told_as):
            return tuple(entry_of(row) for row in rows)

    def _known(self, ids: Sequence[str]) -> set[str]:
        found: set[str] = set()
        for start in range(0, len(ids), _AT_ONCE):
            some = ids[start : start + _AT_ONCE]
            found.update(self.rows().filter(entry_id__in=some).values_list("entry_id", flat=True))
        return found

    def _last_revision(self, entry_id: str) -> int | None:
        history = self.history(entry_id)
        return history[-1].revision if history else None
