"""Write into the log, look at it, correct it, take back: each a wish of the keeper, in one call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.errors import BackreefError
from backreef.logbook.changes import Hand, Moment, correction, new_entries, undoing, withdrawal
from backreef.logbook.entries import KINDS, Entry, Photograph
from backreef.logbook.line import read_line
from backreef.logbook.photographs import folder_of, is_sound, take
from backreef.logbook.store import LogbookStore, Wanted
from backreef.logbook.vocabulary import Vocabulary
from backreef.usecases.log_desk import animals_of
from backreef.usecases.log_moments import read_moment

SHORTEST_ID = 4


class NothingToDo(BackreefError):
    """What was asked for is not there; the message says what is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Revisions that are to be written, with what is needed to show them."""

    entries: tuple[Entry, ...]
    catalogue: Catalogue
    before: tuple[Entry, ...] = ()
    """What stood before, where something is corrected or taken back."""


def draft_line(line: str, *, tank: str, plan: Path | None, at: str, hand: Hand) -> Draft:
    """What a line says, as entries that are not written yet.

    Raises
    ------
    InputFaults
        With every fault of the line.
    NoMoment
        If `at` is no moment.
    """
    catalogue = load_catalogue()
    words = Vocabulary(catalogue=catalogue, animals=animals_of(plan))
    moment = read_moment(at, hand.now) if at else Moment(at=hand.now)
    whats = read_line(line, words)
    return Draft(entries=new_entries(whats, tank=tank, moment=moment, hand=hand), catalogue=catalogue)


def draft_undo(store: LogbookStore | None, *, tank: str, hand: Hand) -> Draft:
    """What takes the last batch of a tank back.

    Raises
    ------
    NothingToDo
        If there is none.
    """
    batch = () if store is None else store.last_batch(tank)
    if store is None or not batch:
        raise NothingToDo(f"nothing of {tank} is left to take back")
    return Draft(
        entries=undoing(store, batch, hand=hand),
        catalogue=load_catalogue(),
        before=tuple(store.history(entry.id)[-1] for entry in batch),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What is to become of an entry."""

    line: str
    """What it should have said; empty where only the moment was wrong, or where it is withdrawn."""
    at: str
    why: str
    withdraw: bool = False


def draft_correction(
    store: LogbookStore, beginning: str, wanted: Correction, *, plan: Path | None, hand: Hand
) -> Draft:
    """The next revision of an entry.

    Raises
    ------
    InputFaults
        With every fault of the line.
    NothingToDo
        If the entry is not there, or nothing of it would change.
    """
    entry = history_of(store, beginning)[-1]
    catalogue = load_catalogue()
    if wanted.withdraw:
        if entry.withdrawn:
            raise NothingToDo(f"entry {entry.id[:8]} is withdrawn already")
        revision = withdrawal(entry, hand=hand, why=wanted.why or "withdrawn")
        return Draft(entries=(revision,), catalogue=catalogue, before=(entry,))
    what = entry.what
    if wanted.line:
        words = Vocabulary(catalogue=catalogue, animals=animals_of(plan))
        whats = read_line(wanted.line, words)
        if len(whats) != 1:
            raise NothingToDo(f"an entry is one thing, and the line says {len(whats)}; log the others apart")
        what = whats[0]
    moment = read_moment(wanted.at, hand.now) if wanted.at else None
    revision = correction(entry, what=what, moment=moment, hand=hand, why=wanted.why or "corrected")
    same = replace(revision, revision=entry.revision, logged_at=entry.logged_at, who=entry.who, why=entry.why)
    if replace(same, batch=entry.batch, undoes=entry.undoes) == entry:
        raise NothingToDo("nothing would change; say what it should be, or --at, or --withdraw")
    return Draft(entries=(revision,), catalogue=catalogue, before=(entry,))


def save(store: LogbookStore, draft: Draft) -> tuple[Entry, ...]:
    """Write a draft, all of it or nothing; once this returns it is kept."""
    if draft.before:
        store.revise(draft.entries)
        return draft.entries
    return store.add(draft.entries)


def history_of(store: LogbookStore, beginning: str) -> tuple[Entry, ...]:
    """Every revision of the one entry whose id begins so.

    Raises
    ------
    NothingToDo
        If there is none, or more than one.
    """
    asked = beginning.strip().lower()
    if len(asked) < SHORTEST_ID:
        raise NothingToDo(
            f"'{beginning}' is too short for an entry; give {SHORTEST_ID} letters of its id or more"
        )
    ids = store.ids_like(asked)
    if not ids:
        raise NothingToDo(f"no entry begins with '{beginning}'; 'log list' shows them")
    if len(ids) > 1:
        raise NothingToDo(
            f"'{beginning}' is the beginning of {', '.join(one[:12] for one in ids)}; give more of it"
        )
    return store.history(ids[0])


def listed(
    store: LogbookStore,
    *,
    tank: str,
    kinds: Sequence[str],
    since: str,
    newest_count: int | None,
    now: datetime,
) -> tuple[Entry, ...]:
    """Entries of a tank, old to new.

    Raises
    ------
    NothingToDo
        If a kind is none.
    """
    odd = [kind for kind in kinds if kind not in KINDS]
    if odd:
        raise NothingToDo(f"'{odd[0]}' is no kind of entry; there are {', '.join(KINDS)}")
    start = _start_of(since, now) if since else None
    return store.entries(Wanted(tank=tank, kinds=tuple(kinds), since=start, newest_count=newest_count))


def _start_of(text: str, now: datetime) -> datetime:
    moment = read_moment(text, now)
    return moment.at.replace(hour=0, minute=0) if moment.whole_day else moment.at


def photograph_folder(place: str) -> Path:
    """Where the photographs of a log are kept.

    Raises
    ------
    NothingToDo
        If the log is on a server, which has no folder of its own.
    """
    if "://" in place:
        raise NothingToDo("photographs are kept beside a log in a file; this one is on a server")
    return folder_of(place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A picture to be kept, and what is said of it."""

    file: Path
    caption: str
    at: str


def log_photograph(store: LogbookStore, shot: Shot, folder: Path, *, tank: str, hand: Hand) -> Entry:
    """Keep a photograph and write it into the log; the picture is on the disk before the log speaks of it."""
    moment = read_moment(shot.at, hand.now) if shot.at else Moment(at=hand.now)
    taken = take(shot.file, folder, caption=shot.caption)
    (entry,) = store.add(new_entries((taken,), tank=tank, moment=moment, hand=hand))
    return entry


def unsound_photographs(store: LogbookStore, folder: Path) -> tuple[str, ...]:
    """What is wrong with the photographs that the log speaks of."""
    shots = store.entries(Wanted(kinds=(Photograph.kind,)))
    return tuple(
        f"the photograph of entry {entry.id} in {folder} is missing or was changed"
        for entry in shots
        if isinstance(entry.what, Photograph) and not is_sound(folder, entry.what)
    )
