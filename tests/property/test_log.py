"""What must hold of the log whatever is written: it is given back as it was, and nothing is ever lost."""

from __future__ import annotations

import json
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from backreef.catalogue.load import load_catalogue
from backreef.errors import Fault, InputFaults
from backreef.logbook.changes import Hand, correction, undoing, withdrawal
from backreef.logbook.entries import Entry, What
from backreef.logbook.line import read_line
from backreef.logbook.memory import MemoryStore
from backreef.logbook.plain import entry_fields, entry_from, what_fields, what_from
from backreef.logbook.store import Wanted
from backreef.logbook.vocabulary import Vocabulary, all_words
from backreef.logbook.words import what_words
from tests.logbook_world import HAND, entries, whats

WORDS = Vocabulary(catalogue=load_catalogue())


@given(what=whats)
def test_a_thing_survives_the_way_through_json(what: What) -> None:
    text = json.dumps(what_fields(what), allow_nan=False)
    assert what_from(what.kind, json.loads(text)) == what


@given(entry=entries)
def test_an_entry_survives_the_way_through_json(entry: Entry) -> None:
    back = entry_from(json.loads(json.dumps(entry_fields(entry), allow_nan=False)))
    assert back == entry
    assert back.at.utcoffset() == entry.at.utcoffset()


@given(what=whats)
def test_everything_can_be_said_in_words(what: What) -> None:
    assert isinstance(what_words(what, WORDS.catalogue), str)


@st.composite
def acts(draw: st.DrawFn) -> list[tuple[str, int, What]]:
    kind = st.sampled_from(["add", "correct", "withdraw", "undo"])
    return draw(st.lists(st.tuples(kind, st.integers(0, 50), whats), max_size=12))


@given(done=acts())
def test_nothing_that_was_written_is_ever_lost_or_changed(done: list[tuple[str, int, What]]) -> None:
    store = MemoryStore()
    before: tuple[Entry, ...] = ()
    for number, (act, which, what) in enumerate(done):
        act_on(store, act, which, what, number)
        written = store.all_revisions()
        assert written[: len(before)] == before
        before = written
    for entry in store.entries(Wanted(with_withdrawn=True)):
        history = store.history(entry.id)
        assert [one.revision for one in history] == list(range(1, len(history) + 1))
        assert history[-1] == entry


@given(done=acts())
def test_undoing_all_leaves_nothing_that_counts(done: list[tuple[str, int, What]]) -> None:
    store = MemoryStore()
    for number, (act, which, what) in enumerate(done):
        act_on(store, act, which, what, number)
    steps = 0
    while batch := store.last_batch("Hall"):
        store.revise(undoing(store, batch, hand=HAND))
        steps += 1
        assert steps <= len(done)
    assert store.entries(Wanted()) == ()


@given(done=acts(), what=whats)
def test_undoing_restores_exactly_what_counted(done: list[tuple[str, int, What]], what: What) -> None:
    store = MemoryStore()
    for number, (act, which, thing) in enumerate(done):
        act_on(store, act, which, thing, number)
    counted = {one.id: (one.what, one.at) for one in store.entries(Wanted())}
    act_on(store, "correct", 0, what, 1000)
    store.revise(undoing(store, store.last_batch("Hall"), hand=HAND))
    assert {one.id: (one.what, one.at) for one in store.entries(Wanted())} == counted


def act_on(store: MemoryStore, act: str, which: int, what: What, number: int) -> None:
    hand = Hand(who="somebody", now=HAND.now)
    there = store.entries(Wanted(with_withdrawn=True))
    if act == "add" or not there:
        first = Entry(
            id=f"e{number}",
            tank="Hall",
            at=hand.now,
            what=what,
            logged_at=hand.now,
            who="x",
            batch=f"b{number}",
        )
        store.add([first])
    elif act == "undo":
        store.revise(undoing(store, store.last_batch("Hall"), hand=hand))
    else:
        entry = there[which % len(there)]
        made = (
            withdrawal(entry, hand=hand, why="w")
            if act == "withdraw"
            else correction(entry, what=what, moment=None, hand=hand, why="c")
        )
        store.revise([replace(made, batch=f"b{number}")])


pieces = st.sampled_from([one.word for one in all_words()]) | st.sampled_from(
    [
        "fed",
        "died",
        "added",
        "not eating",
        "12",
        "0.08",
        "ppm",
        "mg/L",
        "%",
        "min",
        ",",
        "and",
        "note:",
        "seen",
    ]
)


@given(text=st.text(max_size=60) | st.lists(pieces, max_size=8).map(" ".join))
def test_any_line_is_understood_or_refused_with_words(text: str) -> None:
    said, faults = understood(text)
    assert bool(said) != bool(faults)
    assert all(what_from(what.kind, what_fields(what)) == what for what in said)
    assert all(len(fault.message) > 10 for fault in faults)


def understood(text: str) -> tuple[tuple[What, ...], tuple[Fault, ...]]:
    try:
        return read_line(text, WORDS), ()
    except InputFaults as refusal:
        return (), refusal.faults
