"""What each animal ate of each pool is carried by the steps themselves, like every other ledger."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from backreef.models.mouths import BOTTOM, POOLS
from backreef.simulation.block import FORECAST
from tests.tank_acts import feed
from tests.tanks import KEPT, Course, Life, Tank, an_animal, run, run_slowly

DAYS = 10
TIGHT = replace(FORECAST, relative=0.1 * FORECAST.relative)
LIKES = (
    {"Q_1": 1.0, "Z_PC": 0.02, "A_F": 0.01},
    {"A_F": 0.03, "A_T": 0.02, "X_DL": 0.01},
    {"Q_1": 0.5, "Q_2": 1.0, "Z_PA": 0.02},
)


def stocked() -> Tank:
    """A tank with swimmers, a grazer and two foods."""
    return Tank(animals=[an_animal(2.0, likes=likes) for likes in LIKES])


def fed(tank: Tank, days: int = DAYS) -> Life:
    """Three meals a day."""
    meals = {9.0: feed(8.0, tank=tank), 13.0: feed(6.0, tank=tank, food=2), 17.0: feed(6.0, tank=tank)}
    return Life(days=days, daily=meals, overflow=True)


def eaten(course: Course, slot: int, pool: str) -> float:
    """What a slot ate of a pool over the whole time. [mmol C]"""
    return float(course.animal(slot, f"ate_{pool}")[-1, 0])


def test_it_is_near_that_of_a_run_ten_times_as_exact() -> None:
    tank = stocked()
    usual, exact = (run(tank, fed(tank), tolerances=tolerances) for tolerances in (FORECAST, TIGHT))
    for slot, likes in enumerate(LIKES):
        for pool in likes:
            assert eaten(exact, slot, pool) > 0.1
            assert eaten(usual, slot, pool) == pytest.approx(eaten(exact, slot, pool), rel=0.01)


def test_what_was_kept_of_it_is_what_was_got_to_the_last_digits() -> None:
    # got is a sum over the pools with fixed shares, and steps of the method leave such sums as they are
    tank = stocked()
    course = run(tank, fed(tank))
    for slot in range(len(LIKES)):
        kept = sum(
            KEPT.get(pool, 0.3) * course.animal(slot, f"ate_{pool}") for pool in POOLS if pool != BOTTOM
        )
        got = course.animal(slot, "got")
        assert np.abs(course.animal(slot, f"ate_{BOTTOM}")).max() == 0.0
        assert got[-1, 0] > 1.0
        assert np.asarray(kept) == pytest.approx(got, rel=1e-11, abs=1e-11)


def test_both_engines_count_alike() -> None:
    tank = replace(stocked(), lanes=1)
    fast, slow = (march(tank, fed(tank, days=1)) for march in (run, run_slowly))
    for slot, likes in enumerate(LIKES):
        for pool in likes:
            assert eaten(fast, slot, pool) == pytest.approx(eaten(slow, slot, pool), rel=1e-6)
