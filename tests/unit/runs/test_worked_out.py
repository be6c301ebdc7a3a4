"""Many members: their days on disk, and what follows from them worked out when asked for."""

import tempfile
from functools import cache
from typing import Any

import numpy as np
import pytest

from backreef.simulation import ensemble, setting
from backreef.simulation.block import FORECAST
from backreef.simulation.days_kept import IN_MEMORY_BYTES, DaysKept, InMemory
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import Keep, Members, march_members
from backreef.simulation.layout import packaged_layout
from backreef.simulation.trajectories import cohort_courses, rows_of_series, water_series
from backreef.simulation.worked_out import Named, WorkedOut
from tests.unit.runs.world import MEAL, PAIR, prepared

ROWS = np.arange(24.0, dtype=np.float32).reshape(3, 4, 2)
COUNT = 20
BIG = IN_MEMORY_BYTES + 1


@cache
def members() -> Members:
    ready = prepared(PAIR + MEAL)
    return march_members(ready, Draws(9, COUNT), FORECAST, keep=Keep(rows=rows_of_series(ready)))


def test_rows_come_back_from_memory_and_from_the_file_alike() -> None:
    for kept in (DaysKept(IN_MEMORY_BYTES), DaysKept(BIG)):
        put = {more: kept.put(ROWS + more) for more in (0, 100, 200)}
        assert {isinstance(laid, InMemory) for laid in put.values()} == {kept.in_memory}
        for place in (2, 0, 1):
            for more, laid in put.items():
                np.testing.assert_array_equal(laid.row(place), ROWS[place] + more)
    assert not kept.in_memory


def test_rows_that_lie_across_in_memory_are_written_as_they_are_read() -> None:
    across = np.ascontiguousarray(ROWS.swapaxes(0, 1)).swapaxes(0, 1)
    np.testing.assert_array_equal(DaysKept(BIG).put(across).row(1), ROWS[1])


def test_without_a_place_for_the_file_rows_stay_in_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(**_: Any) -> None:
        raise OSError("no space left on device")

    monkeypatch.setattr(tempfile, "TemporaryFile", full)
    laid = DaysKept(BIG).put(ROWS)
    assert isinstance(laid, InMemory)
    np.testing.assert_array_equal(laid.row(2), ROWS[2])


def test_a_file_that_lost_its_end_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    with tempfile.TemporaryFile(buffering=0) as file:
        monkeypatch.setattr(tempfile, "TemporaryFile", lambda **_: file)
        laid = DaysKept(BIG).put(ROWS)
        file.truncate(ROWS.nbytes - 1)
        np.testing.assert_array_equal(laid.row(1), ROWS[1])
        with pytest.raises(OSError, match="shorter"):
            laid.row(2)


def test_members_give_the_same_bits_from_the_file_and_laid_out_in_turn(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two blocks at a time, all of them on the file; a member hangs on its number alone."""
    monkeypatch.setattr(ensemble, "DaysKept", lambda _: DaysKept(BIG))
    monkeypatch.setattr(setting, "BLOCKS_TOGETHER", 2)
    ready = prepared(PAIR + MEAL)
    found = march_members(ready, Draws(9, COUNT), FORECAST, keep=Keep(rows=rows_of_series(ready)))
    for row in rows_of_series(ready):
        np.testing.assert_array_equal(found.row(row), members().row(row))
    np.testing.assert_array_equal(found.parameters, members().parameters)
    np.testing.assert_array_equal(found.natures[0], members().natures[0])


def test_numbers_of_later_members_do_not_hang_on_how_those_before_are_passed() -> None:
    whole = Draws(3, 200).normal("anything", 3)
    for first in (1, 63, 64, 130):
        np.testing.assert_array_equal(
            Draws(3, 200 - first, first=first).normal("anything", 3), whole[:, first:]
        )
    some = Draws(3, 200).of_numbers(np.array([5, 70, 199]))
    np.testing.assert_array_equal(some.uniform("else"), Draws(3, 200).uniform("else")[:, [5, 70, 199]])


@pytest.mark.parametrize("most", [8, 16, 64])
def test_parts_are_all_members_in_order(most: int) -> None:
    parts, row = list(members().parts(most)), packaged_layout().address("S_NO3")
    assert sum(part.count for part in parts) == COUNT
    assert all(part.count <= most for part in parts)
    np.testing.assert_array_equal(np.concatenate([p.row(row) for p in parts], axis=1), members().row(row))
    np.testing.assert_array_equal(np.concatenate([p.numbers for p in parts]), np.arange(COUNT))


def test_series_and_courses_are_the_same_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    ready = prepared(PAIR + MEAL)
    whole = WorkedOut(members())
    series, (course,) = water_series(ready, whole), cohort_courses(ready, whole)
    expected = {name: values.copy() for name, values in series.items()}
    mass, fullness = course.mass_g.copy(), course.fullness.copy()
    monkeypatch.setattr("backreef.simulation.worked_out.MEMBERS_AT_ONCE", 8)
    parts = WorkedOut(members(), kept_bytes=0)
    (course,) = cohort_courses(ready, parts)
    for name, values in water_series(ready, parts).items():
        np.testing.assert_array_equal(values, expected[name])
    np.testing.assert_array_equal(course.mass_g, mass)
    np.testing.assert_array_equal(course.fullness, fullness)


def test_what_was_asked_for_last_is_kept_longest() -> None:
    asked: list[str] = []

    def find(name: str) -> Any:
        def found(some: Members) -> Any:
            asked.append(name)
            return np.zeros((4, some.count))

        return found

    room = 2 * np.zeros((4, COUNT)).nbytes
    named = Named(WorkedOut(members(), kept_bytes=room), {name: find(name) for name in "abc"}, about="of ")
    for name in "abacab":
        assert named[name].shape == (4, COUNT)
    assert "".join(asked) == "abcb"
    assert (list(named), len(named), "a" in named, "d" in named) == (["a", "b", "c"], 3, True, False)
    assert "".join(asked) == "abcb", "asking whether there is one works nothing out"
