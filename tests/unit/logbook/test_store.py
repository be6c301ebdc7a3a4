"""What every store must do; each runs the same tests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from backreef.logbook.entries import Death, Note
from backreef.logbook.store import LogbookStore, NotTheNext, Wanted
from tests.logbook_world import NOON, a_reading, an_entry


def test_it_gives_back_what_it_was_given(store: LogbookStore) -> None:
    entries = (an_entry("a1"), an_entry("a2", Note(text="clear “water”, 3 °C")))
    assert store.add(entries) == entries
    assert store.entries(Wanted()) == entries
    assert store.all_revisions() == entries
    assert store.history("a2") == entries[1:]
    assert store.history("a3") == ()


def test_the_same_entry_twice_is_one(store: LogbookStore) -> None:
    assert store.add([an_entry("a1"), an_entry("a1")]) == (an_entry("a1"),)
    assert store.add([an_entry("a1"), an_entry("a2")]) == (an_entry("a2"),)
    assert len(store.all_revisions()) == 2
    assert store.known_ids(["a1", "a2", "a3"]) == {"a1", "a2"}


def test_it_keeps_all_or_nothing(store: LogbookStore) -> None:
    with pytest.raises(NotTheNext):
        store.add([an_entry("a1"), an_entry("a2", revision=2)])
    assert store.all_revisions() == ()
    store.add([an_entry("a1"), an_entry("a2")])
    with pytest.raises(NotTheNext):
        store.revise([an_entry("a1", revision=2), an_entry("a2", revision=3)])
    assert len(store.all_revisions()) == 2


@pytest.mark.parametrize("revision", [1, 3])
def test_a_revision_follows_the_last_or_is_refused(store: LogbookStore, revision: int) -> None:
    store.add([an_entry("a1")])
    with pytest.raises(NotTheNext, match="stands at revision 1"):
        store.revise([an_entry("a1", revision=revision)])
    with pytest.raises(NotTheNext, match="is not in the log"):
        store.revise([an_entry("a9", revision=2)])
    with pytest.raises(NotTheNext):
        store.revise([an_entry("a1", revision=2), an_entry("a1", revision=3)])
    assert len(store.history("a1")) == 1


def test_the_last_revision_counts(store: LogbookStore) -> None:
    store.add([an_entry("a1"), an_entry("a2")])
    store.revise([an_entry("a1", a_reading(1.0), revision=2, batch="b2")])
    store.revise([an_entry("a2", revision=2, withdrawn=True, batch="b3")])
    assert [(one.id, one.revision) for one in store.entries(Wanted())] == [("a1", 2)]
    everything = store.entries(Wanted(with_withdrawn=True))
    assert [(one.id, one.revision) for one in everything] == [("a1", 2), ("a2", 2)]
    assert [one.revision for one in store.history("a1")] == [1, 2]


def test_it_finds_what_is_wanted(store: LogbookStore) -> None:
    later = NOON + timedelta(hours=1)
    entries = [
        an_entry("a1"),
        an_entry("a2", a_reading(series="ph_total"), at=later),
        an_entry("a3", Death(count=1, name="snail", written="")),
        an_entry("a4", tank="Hall", at=later),
    ]
    store.add(entries)

    def ids(**wanted: object) -> list[str]:
        return [one.id for one in store.entries(Wanted(**wanted))]  # type: ignore[arg-type]

    assert ids() == ["a1", "a3", "a2", "a4"]
    assert ids(tank="Reading room") == ["a1", "a3", "a2"]
    assert ids(kinds=("death",)) == ["a3"]
    assert ids(kinds=("death", "reading"), tank="Hall") == ["a4"]
    assert ids(series="ph_total") == ["a2"]
    assert ids(since=later) == ["a2", "a4"]
    assert ids(until=later) == ["a1", "a3"]
    assert ids(newest_count=2) == ["a2", "a4"]
    assert store.tanks() == ("Hall", "Reading room")


def test_it_finds_entries_by_the_beginning_of_their_id(store: LogbookStore) -> None:
    store.add([an_entry("ab1"), an_entry("ab2"), an_entry("b_1"), an_entry("b%1")])
    assert store.ids_like("ab") == ("ab1", "ab2")
    assert store.ids_like("b_") == ("b_1",)
    assert store.ids_like("b%") == ("b%1",)
    assert store.ids_like("x") == ()


def test_its_last_batch_is_the_newest_that_was_not_taken_back(store: LogbookStore) -> None:
    assert store.last_batch("Reading room") == ()
    store.add([an_entry("a1", batch="b1"), an_entry("a2", batch="b1")])
    store.add([an_entry("a3", batch="b2")])
    store.add([an_entry("h1", batch="b3", tank="Hall")])
    assert [one.id for one in store.last_batch("Reading room")] == ["a3"]
    store.revise([an_entry("a3", revision=2, withdrawn=True, batch="b4", undoes="b2")])
    assert [one.id for one in store.last_batch("Reading room")] == ["a1", "a2"]
    assert [one.id for one in store.last_batch("Hall")] == ["h1"]


def test_its_mark_is_another_one_after_anything_was_written(store: LogbookStore) -> None:
    marks = [store.mark("reef")]
    assert marks == [""]
    tank = an_entry("a1").tank
    writes: list[Callable[[], object]] = [
        lambda: store.add([an_entry("a1")]),
        lambda: store.add([an_entry("a2")]),
        lambda: store.revise([an_entry("a1", a_reading(1.0), revision=2, batch="b2")]),
        lambda: store.revise([an_entry("a2", revision=2, withdrawn=True, batch="b3")]),
    ]
    for write in writes:
        write()
        assert store.mark(tank) not in marks
        assert store.mark(tank) == store.mark(tank)
        marks.append(store.mark(tank))
    assert store.mark("another tank") == ""


def test_it_tells_moments_apart_to_the_microsecond(store: LogbookStore) -> None:
    early, late = NOON, NOON + timedelta(microseconds=1)
    store.add([an_entry("a2", at=late), an_entry("a1", at=early)])
    assert [one.id for one in store.entries(Wanted(until=late))] == ["a1"]
    assert store.history("a2")[0].at == late


def test_a_moment_keeps_the_clock_of_its_place(store: LogbookStore) -> None:
    from datetime import timezone

    there = NOON.astimezone(timezone(timedelta(hours=5, minutes=45)))
    store.add([an_entry("a1", at=there)])
    found = store.history("a1")[0].at
    assert (found, found.utcoffset()) == (there, timedelta(hours=5, minutes=45))
    assert store.entries(Wanted(since=NOON)) == (replace(an_entry("a1"), at=there),)
