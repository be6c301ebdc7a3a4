"""The searches of property tests end in time, and say how far they came."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests import searching
from tests.searching import Tried, bounded, tries

SEED = settings(derandomize=True, database=None, max_examples=50)


class Clock:
    """A second passes before every look at it."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        self.now_s += 1.0
        return self.now_s


@pytest.fixture(autouse=True)
def ended() -> Iterator[list[Tried]]:
    """Keep what is searched here out of what the run tells."""
    yield searching.ended
    searching.ended.clear()


def test_a_search_ends_well_when_its_time_is_over_and_says_how_far_it_came(ended: list[Tried]) -> None:
    seen = []

    @SEED
    @given(st.integers())
    def search(number: int) -> None:
        seen.append(number)

    with bounded(search, 10.0, clock=Clock()) as tried:
        search()
    assert ended == [tried]
    assert tried.count == len(seen) == 9
    assert tried.words() == "9 examples in 11 s, ended by the clock"


def test_a_search_that_has_time_tries_all_it_is_to() -> None:
    @SEED
    @given(st.integers())
    def search(number: int) -> None:
        assume(number != 3)

    with bounded(search, 1e6, clock=Clock()) as tried:
        search()
    assert not tried.cut_short
    assert tried.count >= 50


def test_what_a_search_has_found_is_told_though_its_time_is_over() -> None:
    clock = Clock()

    @SEED
    @given(st.integers())
    def search(number: int) -> None:
        clock.now_s += 4.0
        assert number < 100, "found"

    with pytest.raises(AssertionError, match="found"), bounded(search, 100.0, clock=clock):
        search()
    assert clock.now_s > 100.0, "it went on to look for the smallest"


def test_outside_of_its_time_a_search_is_as_it_was() -> None:
    @SEED
    @given(st.integers())
    def search(number: int) -> None:
        assert isinstance(number, int)

    before = search.hypothesis.inner_test  # type: ignore[attr-defined]
    with bounded(search, 0.0):
        search()
    assert search.hypothesis.inner_test is before  # type: ignore[attr-defined]


def test_a_busy_machine_ends_a_search_by_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    worked_s, clock_s = 1.0, 50.0
    monkeypatch.setattr(time, "process_time", lambda: worked_s)
    monkeypatch.setattr(time, "monotonic", lambda: clock_s)
    taken_s = searching.spent_s()
    worked_s, clock_s = 8.0, 54.0
    assert taken_s() == 7.0
    clock_s = 150.0
    assert taken_s() == 25.0


def test_a_share_of_what_all_try_is_tried_with_long_too() -> None:
    most = settings.get_profile("searching").max_examples
    asked = settings.default.max_examples if settings.default else 0
    assert tries(30).max_examples == 30 * asked // 100
    assert most == 2000
