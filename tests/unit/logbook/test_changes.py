from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from backreef.logbook.changes import correction, id_of_content, new_entries, undoing, withdrawal
from backreef.logbook.entries import Note
from backreef.logbook.memory import MemoryStore
from backreef.logbook.store import Wanted
from tests.logbook_world import HAND, MOMENT, NOON, a_reading

TANK = "Reading room"


def filled() -> MemoryStore:
    store = MemoryStore()
    whats = (a_reading(), Note(text="clear water"))
    store.add(new_entries(whats, tank=TANK, moment=MOMENT, hand=HAND))
    return store


def counted(store: MemoryStore) -> list[object]:
    return [entry.what for entry in store.entries(Wanted(tank=TANK))]


def take_back(store: MemoryStore) -> None:
    store.revise(undoing(store, store.last_batch(TANK), hand=HAND))


def test_a_correction_keeps_what_stood_before_and_who_wrote_it() -> None:
    store = filled()
    first = store.entries(Wanted(kinds=("reading",)))[0]
    other = replace(HAND, who="caretaker", now=NOON + timedelta(days=1))
    better = correction(first, what=a_reading(1.2), moment=None, hand=other, why="decimal slip")
    store.revise([better])
    history = store.history(first.id)
    assert [(one.revision, one.what, one.who, one.why) for one in history] == [
        (1, a_reading(), "librarian", ""),
        (2, a_reading(1.2), "caretaker", "decimal slip"),
    ]
    assert a_reading(1.2) in counted(store)
    assert a_reading() not in counted(store)


def test_undoing_withdraws_what_was_written_last() -> None:
    store = filled()
    take_back(store)
    assert counted(store) == []
    assert len(store.entries(Wanted(with_withdrawn=True))) == 2


def test_undoing_a_correction_brings_back_what_stood_before() -> None:
    store = filled()
    first = store.entries(Wanted(kinds=("reading",)))[0]
    store.revise([correction(first, what=a_reading(1.2), moment=None, hand=HAND, why="slip")])
    take_back(store)
    assert a_reading() in counted(store)
    take_back(store)
    assert counted(store) == []
    assert store.last_batch(TANK) == ()
    assert [one.withdrawn for one in store.history(first.id)] == [False, False, False, True]


def test_undoing_a_withdrawal_lets_it_count_again() -> None:
    store = filled()
    first = store.entries(Wanted(kinds=("reading",)))[0]
    store.revise([withdrawal(first, hand=HAND, why="not ours")])
    assert a_reading() not in counted(store)
    take_back(store)
    assert a_reading() in counted(store)


def test_the_same_thing_has_the_same_id_whatever_the_time_zone() -> None:
    from datetime import timezone

    elsewhere = replace(MOMENT, at=NOON.astimezone(timezone(timedelta(hours=9))))
    ident = id_of_content(a_reading(), tank=TANK, moment=MOMENT)
    assert ident == id_of_content(a_reading(), tank=TANK, moment=elsewhere)
    assert ident != id_of_content(a_reading(2.8), tank=TANK, moment=MOMENT)
    assert ident != id_of_content(a_reading(), tank="Hall", moment=MOMENT)
    assert ident != id_of_content(a_reading(), tank=TANK, moment=replace(MOMENT, whole_day=True))
