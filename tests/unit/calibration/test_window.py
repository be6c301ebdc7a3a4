from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from backreef.calibration.deeds import deeds_of
from backreef.calibration.tables import number
from backreef.calibration.window import first_day_of_fit, plan_from
from backreef.logbook.entries import Addition, Death
from backreef.schedule.build import build_schedule
from backreef.schedule.people import stop_day
from backreef.usecases.reconcile import reconcile
from tests.reconcile_world import SMALL, entry, reading, small_plan
from tests.unit.aquarium.plans import catalogue, plan_of

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


@pytest.mark.parametrize("later_d", [0.6, 20.0])
def test_animals_that_came_later_than_planned_are_not_there_twice(later_d: float) -> None:
    crew = '[[animals]]\nid = "crew"\nspecies = "cerith"\ncount = 6\narrives_on = 2026-04-20\n'
    came = entry("a", DAY + later_d, Addition(count=5, name="ceriths", animal="crew", written=""))
    plan = plan_from(plan_of(SMALL + crew), catalogue(), [came], DAY)
    lived = deeds_of([came], plan, catalogue(), last_day=40).plan
    ceriths = [one for one in lived.animals if one.species == "cerith"]
    assert [(one.count, one.arrives_on) for one in ceriths] == [(5, came.at.date())]


def test_rhythms_go_on_as_they_were_begun_with_the_plan() -> None:
    """Neither the fortnight of the water change nor the lamp's cleaning begins anew with the window."""
    due = {
        since: {
            (chore.entry_id, chore.task_id, since + chore.due_day)
            for chore in build_schedule(
                replace(plan_from(small_plan(), catalogue(), [], since), horizon_days=460 - since),
                catalogue(),
            ).chores
            if since + chore.due_day >= 430 and chore.by != "hand" and not chore.look
        }
        for since in (0, 401)
    }
    assert any(task == "wc_do" for _, task, _ in due[0])
    assert due[401] == due[0]


def test_what_the_keeper_has_dropped_stays_dropped() -> None:
    keeper = replace(small_plan().keeper, stops_after={"wc_do": 12.0, "test_quick": 24.0})
    plan = replace(small_plan(), keeper=keeper, horizon_days=1096)
    later = plan_from(plan, catalogue(), [], DAY)
    assert stop_day(later, "wc_do") == 0
    assert stop_day(later, "test_quick") == 730 - DAY


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
