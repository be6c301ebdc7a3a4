"""Entries of a log for tests: small builders, and strategies that make any entry that can be."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from hypothesis import strategies as st

from backreef.aquarium.series import all_series
from backreef.logbook.changes import Hand, Moment
from backreef.logbook.entries import (
    SIGNS,
    Addition,
    Chore,
    Death,
    Entry,
    Feeding,
    Note,
    Photograph,
    Reading,
    Sighting,
    What,
)
from backreef.logbook.store import LogbookStore

NOON = datetime(2027, 3, 2, 12, 0, tzinfo=UTC)
HAND = Hand(who="librarian", now=NOON + timedelta(minutes=5))
MOMENT = Moment(at=NOON)
StoreMaker = Callable[[], LogbookStore]


def a_reading(value: float = 2.7, series: str = "nitrate_mg_n_per_l", written: str = "12 ppm") -> Reading:
    return Reading(series=series, value=value, written=written)


def an_entry(ident: str = "a1", what: What | None = None, **changed: Any) -> Entry:
    made: dict[str, Any] = {
        "id": ident,
        "tank": "Reading room",
        "at": NOON,
        "what": a_reading() if what is None else what,
        "logged_at": HAND.now,
        "who": "librarian",
        "batch": "b1",
    }
    return Entry(**(made | changed))


_texts = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=30)
_names = st.text(st.characters(categories=("L", "N")), min_size=1, max_size=12)
_numbers = st.floats(allow_nan=False, allow_infinity=False)
_counts = st.integers(1, 10_000)
_maybe_name = st.none() | _names
_moments = st.builds(
    lambda at, minutes: at.replace(tzinfo=timezone(timedelta(minutes=minutes))),
    st.datetimes(datetime(1990, 1, 2), datetime(2090, 1, 1)),  # noqa: DTZ001  the zone comes with the next
    st.integers(-12 * 60, 14 * 60),
)

whats: st.SearchStrategy[What] = st.one_of(
    st.builds(
        Reading,
        series=st.sampled_from([one.series for one in all_series()]),
        value=_numbers,
        sign=st.sampled_from(SIGNS),
        written=_texts,
        kit=_maybe_name,
        assumed=st.lists(_texts, max_size=2).map(tuple),
    ),
    st.builds(
        Feeding,
        portion_ratio=st.none() | _numbers,
        food=_maybe_name,
        amount_g=st.none() | _numbers,
        written=_texts,
    ),
    st.builds(
        Chore, task=_names, minutes=st.none() | _numbers, share_frac=st.none() | _numbers, written=_texts
    ),
    st.builds(Addition, count=_counts, name=_names, species=_maybe_name, animal=_maybe_name, written=_texts),
    st.builds(Death, count=_counts, name=_names, species=_maybe_name, animal=_maybe_name, written=_texts),
    st.builds(
        Sighting,
        thing=_names,
        seen=st.booleans(),
        cover_frac=st.none() | _numbers,
        at_night=st.booleans(),
        written=_texts,
    ),
    st.builds(Note, text=_texts),
    st.builds(
        Photograph,
        sha256=_names,
        media_type=_names,
        width_count=_counts,
        height_count=_counts,
        caption=_texts,
    ),
)

entries: st.SearchStrategy[Entry] = st.builds(
    Entry,
    id=_names,
    tank=st.sampled_from(["Reading room", "Hall", "Ψάρι"]),
    at=_moments,
    whole_day=st.booleans(),
    what=whats,
    logged_at=_moments,
    who=_names,
    batch=st.sampled_from(["b1", "b2", "b3"]),
)
