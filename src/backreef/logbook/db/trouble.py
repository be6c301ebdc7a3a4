"""What a database complains of, in words that say what to do."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from backreef.logbook.store import StoreTrouble

_WORDS = (
    (("full", "no space"), "the disk is full, and nothing of this was saved; make room and repeat it"),
    (("disk i/o", "file too large"), "the disk refuses to be written, and nothing of this was saved"),
    (("locked", "lock timeout"), "somebody else has been writing all the time; try again in a moment"),
    (("readonly", "read-only", "permission"), "this user may not write it; ask who owns the file"),
    (
        ("not a database", "malformed"),
        "is no log or is damaged; restore a backup with 'backreef log restore'",
    ),
    (("unable to open",), "cannot be opened; is its folder there, and may this user write into it?"),
    (
        ("connection", "connect", "authentication"),
        "the server does not answer or let us in; is the address right?",
    ),
    (("never overwritten",), "a revision was to be overwritten or deleted, which the log does not do"),
)


@contextmanager
def told(place: str) -> Iterator[None]:
    """Turn whatever the database raises into trouble of the store."""
    from django.db import Error as DatabaseError

    try:
        yield
    except (DatabaseError, OSError) as complaint:
        said = " ".join(str(complaint).split())
        words = next((words for signs, words in _WORDS if any(sign in said.lower() for sign in signs)), "")
        raise StoreTrouble(f"{place}: {words} ({said})" if words else f"{place}: {said}") from complaint
