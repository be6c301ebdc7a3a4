from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from backreef.calibration.deeds import deeds_of
from backreef.calibration.evidence import rows_needed
from backreef.calibration.faults import Fault, life_with
from backreef.calibration.fit import lived_of, march_lived, march_on
from backreef.calibration.luck import LearnedDraws
from backreef.logbook.entries import Chore, Death, Entry
from backreef.simulation.ensemble import Members
from backreef.simulation.lived import Lived
from backreef.simulation.resumed import days_before, days_of, joined
from backreef.simulation.trajectories import rows_of_series
from tests.reconcile_world import entry, small_plan
from tests.twins import LANES
from tests.unit.aquarium.plans import catalogue

DAYS, KNOWN, DAY = 40, 30, 22
STEPS_MAY_DIFFER = 0.005
DEATH = entry("d", 25.5, Death(name="snail", written="snail", species="trochus", count=1, animal="snails"))


def life(*entries: Entry, days: int = DAYS) -> Lived:
    deeds = deeds_of(entries, small_plan(), catalogue(), last_day=KNOWN - 1)
    return lived_of(deeds, catalogue(), known_days=KNOWN, days=days)


def rows_of(lived: Lived) -> list[int]:
    return sorted(rows_needed(lived.prepared.layout) | rows_of_series(lived.prepared))


@cache
def whole() -> Members:
    """What was kept on a morning before anybody died."""
    lived = life()
    return march_lived(lived, LearnedDraws(1, LANES), frozenset(rows_of(lived)), morning=DAY)


def assert_nearly_the_same(one: Members, other: Members, rows: list[int]) -> None:
    for row in rows:
        first, second = one.row(row), other.row(row)
        assert first.shape == second.shape
        assert np.abs(first - second).max() <= STEPS_MAY_DIFFER * max(1e-9, np.abs(first).max()), row


def gone_on(lived: Lived) -> Members:
    rows, morning = rows_of(lived), whole().audits
    assert morning is not None
    later = march_on(lived, LearnedDraws(1, LANES), frozenset(rows), morning, DAY)
    return joined(days_of(whole(), rows, DAY), later, rows)


@pytest.mark.parametrize("entries", [(), (DEATH,)], ids=["as planned", "one dies after that morning"])
def test_a_march_that_goes_on_from_a_morning_gives_the_days_of_a_whole_one(entries: tuple[Entry]) -> None:
    lived = life(*entries)
    rows = rows_of(lived)
    again = march_lived(lived, LearnedDraws(1, LANES), frozenset(rows))
    assert_nearly_the_same(again, gone_on(lived), rows)


@pytest.mark.parametrize("does", ["food_doubled", "animal_dies"])
def test_a_fault_begins_on_its_day_where_its_run_goes_on_from_the_morning_before(does: str) -> None:
    lived = life()
    deeds = deeds_of((), small_plan(), catalogue(), last_day=KNOWN - 1)
    faulty = life_with(Fault(does=does, since_day=DAY + 1), deeds, catalogue(), lived)
    rows = sorted(rows_needed(lived.prepared.layout))
    again = march_lived(faulty, LearnedDraws(1, LANES), frozenset(rows))
    morning = whole().audits
    assert morning is not None
    later = march_on(faulty, LearnedDraws(1, LANES), frozenset(rows), morning, DAY)
    assert_nearly_the_same(again, joined(days_of(whole(), rows, DAY), later, rows), rows)


def test_what_was_done_before_a_day_hangs_on_nothing_after_it() -> None:
    usual = days_before(life(), DAY)
    assert days_before(life(days=DAYS + 21), DAY) == usual
    assert days_before(life(DEATH), DAY) == usual
    assert days_before(life(entry("d", 20.5, DEATH.what)), DAY) != usual
    assert (
        days_before(life(entry("c", 20.5, Chore(task="wc_do", share_frac=0.3, written="30 %"))), DAY) != usual
    )
