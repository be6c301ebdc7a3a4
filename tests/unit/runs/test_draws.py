from concurrent.futures import ThreadPoolExecutor
from hashlib import blake2b

import numpy as np
import pytest

from backreef.simulation.draws import ASSUMED_RATIO, Z_95, Draws, spread


def test_a_name_has_the_same_luck_in_every_plan() -> None:
    first, second = Draws(7, 16), Draws(7, 16)
    second.normal("something else")
    assert np.array_equal(first.normal("mu_F"), second.normal("mu_F"))
    assert not np.array_equal(first.normal("mu_F"), first.normal("mu_T"))
    assert not np.array_equal(first.normal("mu_F"), Draws(8, 16).normal("mu_F"))


def test_a_thread_draws_as_a_generator_of_the_key_does_whatever_was_drawn_before() -> None:
    def drawn(name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        draws = Draws(7, 8, first=8)
        draws.uniform("a number before", 3)
        return draws.normal(name, 2)

    def anew(name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        key = int.from_bytes(blake2b(f"7 {name}".encode(), digest_size=16).digest(), "little")
        return np.random.Generator(np.random.Philox(key=key)).standard_normal(32).reshape(16, 2)[8:].T

    names = [f"name {number}" for number in range(40)]
    with ThreadPoolExecutor(4) as pool:
        for name, found in zip(names, pool.map(drawn, names), strict=True):
            np.testing.assert_array_equal(found, anew(name))


def test_more_members_leave_the_first_ones_as_they_are() -> None:
    few, many = Draws(7, 8), Draws(7, 64)
    for draw in ("normal", "uniform", "exponential"):
        assert np.array_equal(getattr(few, draw)("x", 3), getattr(many, draw)("x", 3)[:, :8])


def test_nobody_errs_in_a_nominal_run() -> None:
    nominal = Draws(7, 4, nominal=True)
    assert nominal.value("x", 3.0, 1.0, 9.0).tolist() == [3.0] * 4
    assert nominal.normal("x", 2).tolist() == [[0.0] * 4] * 2
    assert nominal.exponential("x").tolist() == [[1.0] * 4]
    assert nominal.uniform("x").tolist() == [[0.5] * 4]


def test_the_first_member_is_the_deterministic_run() -> None:
    draws = Draws(7, 8)
    assert draws.certain.tolist() == [True, *[False] * 7]
    assert draws.value("x", 3.0, 1.0, 9.0)[0] == 3.0
    assert (draws.normal("x", 3)[:, 0].tolist(), draws.exponential("x")[0, 0]) == ([0.0] * 3, 1.0)
    assert not Draws(7, 8, first=8).certain.any()
    assert (draws.normal("x")[0, 1:] != 0.0).all()


def test_some_of_the_members_draw_as_they_do_among_all() -> None:
    whole = Draws(7, 24)
    for first in (0, 8, 16):
        some = whole.some(first, 8)
        assert np.array_equal(some.normal("x", 2), whole.normal("x", 2)[:, first : first + 8])
    assert Draws(7, 4, nominal=True).some(0, 8).certain.all()
    numbers = np.array([1, 2, 16, 23])
    picked = whole.of_numbers(numbers)
    assert np.array_equal(picked.exponential("x", 2), whole.exponential("x", 2)[:, numbers])
    assert picked.members == 4


def test_the_ends_of_a_range_are_its_5_and_95_percent_points() -> None:
    z = np.array([-Z_95, 0.0, Z_95])
    assert spread(3.0, 1.0, 12.0, z) == pytest.approx([1.0, 3.0, 12.0])
    assert spread(3.0, 0.0, 12.0, z) == pytest.approx([0.0, 3.0, 12.0])


def test_a_twentieth_of_many_members_lies_beyond_each_end() -> None:
    values = Draws(3, 20_000).value("x", 3.0, 1.0, 12.0)
    assert np.mean(values < 1.0) == pytest.approx(0.05, abs=0.006)
    assert np.mean(values > 12.0) == pytest.approx(0.05, abs=0.006)
    assert np.median(values) == pytest.approx(3.0, rel=0.05)


def test_a_missing_end_is_assumed() -> None:
    z = np.array([-Z_95, Z_95])
    assert spread(6.0, None, None, z) == pytest.approx([6.0 / ASSUMED_RATIO, 6.0 * ASSUMED_RATIO])


def test_what_is_known_does_not_vary() -> None:
    assert spread(2.0, 2.0, 2.0, np.array([-3.0, 0.0, 3.0])).tolist() == [2.0] * 3


def test_nothing_stays_nothing_and_nothing_falls_below_it() -> None:
    z = np.array([-4.0, 0.0, 4.0])
    assert spread(0.0, None, None, z).tolist() == [0.0] * 3
    assert (spread(1.0, 0.0, 3.0, z) >= 0.0).all()
