"""What a database complains of, in words that say what to do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from backreef.logbook.store import StoreTrouble

_HINDRANCES = (
    (("full", "no space"), "the disk is full, and nothing of this was saved; make room and repeat it"),
    (("disk i/o", "file too large"), "the disk refuses to be written, and nothing of this was saved"),
    (("locked", "lock timeout"), "somebody else has been writing all the time; try again in a moment"),
    (("readonly", "read-only", "permission"), "this user may not write it; ask who owns the file"),
)
"""What is wrong with the disk and not with what is on it."""
_DAMAGED = "is no log or is damaged; restore a backup with 'backreef log restore'"
_WORDS = (
    *_HINDRANCES,
    (("not a database", "malformed", "could not decode"), _DAMAGED),
    (("unable to open",), "cannot be opened; is its folder there, and may this user write into it?"),
    (
        ("connection", "connect", "authentication"),
        "the server does not answer or let us in; is the address right?",
    ),
    (("never overwritten",), "a revision was to be overwritten or deleted, which the log does not do"),
)


def hindrance(complaint: Exception) -> str:
    """What hinders writing, in words; empty where what is there is damaged or it is not known."""
    return _words(complaint, _HINDRANCES)


def _words(complaint: Exception, known: Iterable[tuple[tuple[str, ...], str]]) -> str:
    said = str(complaint).lower()
    return next((words for signs, words in known if any(sign in said for sign in signs)), "")


@contextmanager
def told(place: str) -> Iterator[None]:
    """Turn whatever the database raises into trouble of the store."""
    from django.db import Error as DatabaseError

    try:
        yield
    except (DatabaseError, OSError) as complaint:
        said = " ".join(str(complaint).split()).partition(" with text ")[0]  # which would be pages of it
        words = _words(complaint, _WORDS)
        raise StoreTrouble(f"{place}: {words} ({said})" if words else f"{place}: {said}") from complaint
    except ValueError as complaint:  # letters or a moment that nobody wrote so
        raise StoreTrouble(f"{place}: {_DAMAGED} ({complaint})") from complaint
