"""How the log changes: new entries, corrections and undoing, all of them by adding revisions."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from uuid import uuid4

from backreef.logbook.entries import Entry, What
from backreef.logbook.plain import what_fields
from backreef.logbook.store import LogbookStore


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """Who writes, and when."""

    who: str
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """When something happened."""

    at: datetime
    whole_day: bool = False
    """Only the day is known."""


def new_entries(whats: Sequence[What], *, tank: str, moment: Moment, hand: Hand) -> tuple[Entry, ...]:
    """Entries for things of one moment, as one batch, each with an id of its own."""
    batch = uuid4().hex
    return tuple(
        Entry(
            id=uuid4().hex,
            tank=tank,
            at=moment.at,
            whole_day=moment.whole_day,
            what=what,
            logged_at=hand.now,
            who=hand.who,
            batch=batch,
        )
        for what in whats
    )


def id_of_content(what: What, *, tank: str, moment: Moment) -> str:
    """An id that is the same for the same thing, so that a row imported twice is one row."""
    content = [tank, moment.at.astimezone(UTC).isoformat(), moment.whole_day, what.kind, what_fields(what)]
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:32]


def correction(entry: Entry, *, what: What, moment: Moment | None, hand: Hand, why: str) -> Entry:
    """The next revision of an entry, with other content; a withdrawn entry counts again."""
    when = moment or Moment(at=entry.at, whole_day=entry.whole_day)
    return _next(entry, hand, what=what, at=when.at, whole_day=when.whole_day, withdrawn=False, why=why)


def withdrawal(entry: Entry, *, hand: Hand, why: str) -> Entry:
    """The next revision of an entry, which no longer counts."""
    return _next(entry, hand, withdrawn=True, why=why)


def undoing(store: LogbookStore, batch: Sequence[Entry], *, hand: Hand) -> tuple[Entry, ...]:
    """The revisions that take a batch back: what was new is withdrawn, what was corrected is as before."""
    fresh = uuid4().hex
    taken = []
    for entry in batch:
        history = store.history(entry.id)
        kept = history[max(entry.revision - 2, 0)]
        back = replace(
            kept,
            revision=history[-1].revision + 1,
            withdrawn=True if entry.revision == 1 else kept.withdrawn,
            logged_at=hand.now,
            who=hand.who,
            why="taken back",
        )
        taken.append(replace(back, batch=fresh, undoes=entry.batch))
    return tuple(taken)


def _next(entry: Entry, hand: Hand, **changed: object) -> Entry:
    step: dict[str, object] = {
        "revision": entry.revision + 1,
        "logged_at": hand.now,
        "who": hand.who,
        "batch": uuid4().hex,
        "undoes": "",
    }
    return replace(entry, **(step | changed))  # type: ignore[arg-type]
