from __future__ import annotations

from datetime import timedelta

import pytest

from backreef.calibration.tables import number
from backreef.calibration.window import first_day_of_fit, plan_from
from backreef.logbook.entries import Addition, Death
from backreef.usecases.reconcile import reconcile
from tests.reconcile_world import entry, reading, small_plan
from tests.unit.aquarium.plans import catalogue

NITRATE, DAY = "nitrate_mg_n_per_l", 400


def test_a_short_log_is_fitted_whole_and_a_long_one_by_its_last_months() -> None:
    window = int(number("window_days"))
    assert first_day_of_fit(window) == 0
    assert first_day_of_fit(10 * window) == 9 * window
    assert plan_from(small_plan(), catalogue(), [], 0) is small_plan()


def test_animals_are_older_and_those_that_died_are_gone() -> None:
    entries = [
        entry("d", 30.0, Death(count=3, name="snails", species="trochus", written="")),
        entry("a", 60.0, Addition(count=2, name="snails", species="trochus", written="")),
    ]
    plan = plan_from(small_plan(), catalogue(), entries, DAY)
    assert plan.start_on == small_plan().start_on + timedelta(days=DAY)
    assert [(one.id, one.count, one.arrives_on) for one in plan.animals] == [
        ("pair", 2, None),
        ("snails", 1, None),
        ("trochus_0log", 2, None),
    ]
    before, after = small_plan().animals[0].length_cm, plan.animals[0].length_cm
    assert before is not None
    assert after is not None
    assert before < after < 12
    assert plan.tank.start.age_months == pytest.approx(small_plan().tank.start.age_months + 13.1, abs=0.1)


def test_its_first_day_is_as_was_read_last_or_else_unsure() -> None:
    entries = [entry(f"n{day}", day, reading(NITRATE, 3.0)) for day in (385.0, 390.0, 395.0)]
    read = plan_from(small_plan(), catalogue(), entries, DAY)
    unread = plan_from(small_plan(), catalogue(), [], DAY)
    assert read.tank.start.readings[NITRATE] == 3.0
    assert "tank.start.nitrate" not in [one.key for one in read.assumptions]
    assert "tank.start.nitrate" in [one.key for one in unread.assumptions]


def test_a_long_log_is_told_to_be_cut_off() -> None:
    entries = [entry(f"n{day}", day + 0.5, reading(NITRATE, 2.0)) for day in range(5, 400, 15)]
    found = reconcile(small_plan(), entries, members=32)
    assert found.start_on > small_plan().start_on
    assert any("left out of the fit" in notice for notice in found.notices)
    assert all(one.on >= found.start_on for one in found.readings)
    assert not found.left_out
