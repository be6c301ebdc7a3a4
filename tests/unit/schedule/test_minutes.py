from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from backreef.aquarium.plan import Condition
from backreef.schedule.minutes import (
    chore_arrays,
    ledger,
    spent_minutes,
    trailing_sum,
)
from tests.unit.schedule.world import (
    MONDAY,
    a_helper,
    a_keeper,
    a_meal,
    a_plan,
    an_upkeep,
    closed_on,
    every,
    schedule_of,
)

NITRATE_HIGH = Condition(series="nitrate_mg_n_per_l", comparison=">", value=4.5, text="nitrate > 20 mg/L NO3")


def test_a_day_has_its_chores_and_their_set_up() -> None:
    schedule = schedule_of(a_plan(upkeep=(an_upkeep("test_quick", every(30)),), horizon_days=40))
    assert schedule.ledger.per_day[30] == 11.0
    assert schedule.ledger.per_day.sum() == 11.0
    assert schedule.ledger.busiest_day == 30
    assert schedule.ledger.busiest_day_minutes == 11.0


def test_a_week_is_the_day_and_the_six_before_it() -> None:
    schedule = schedule_of(a_plan(upkeep=(an_upkeep("test_quick", every(30)),), horizon_days=40))
    week = schedule.ledger.per_week
    assert np.flatnonzero(week).tolist() == list(range(30, 37))
    assert trailing_sum(np.arange(10.0), days=3).tolist() == [0, 1, 3, 6, 9, 12, 15, 18, 21, 24]


def test_months_add_up_to_the_days_and_budgets_to_their_share() -> None:
    plan = a_plan(upkeep=(an_upkeep("wc_do", every(7)),), meals=(a_meal(),), start_on=date(2027, 12, 17))
    book = schedule_of(replace(plan, horizon_days=90)).ledger
    assert [(month.first_on, month.days) for month in book.per_month] == [
        (date(2027, 12, 17), 15),
        (date(2028, 1, 1), 31),
        (date(2028, 2, 1), 29),
        (date(2028, 3, 1), 15),
    ]
    assert sum(month.minutes for month in book.per_month) == pytest.approx(float(book.per_day.sum()))
    assert [month.budget_minutes for month in book.per_month] == pytest.approx(
        [400 * 15 / 31, 400, 400, 400 * 15 / 31]
    )


def test_tasks_add_up_to_the_days_and_looks() -> None:
    book = schedule_of(a_plan(upkeep=(an_upkeep("wc_do", every(14)),), meals=(a_meal(),))).ledger
    assert sum(book.by_task.values()) == pytest.approx(float(book.per_day.sum() + book.looks_per_day.sum()))
    assert list(book.by_task.values()) == sorted(book.by_task.values(), reverse=True)


def test_helpers_minutes_stand_apart() -> None:
    keeper = a_keeper(refuses=("glass_outer",), helpers=(a_helper(tasks=("glass_outer",)),))
    book = schedule_of(a_plan(keeper=keeper, upkeep=(an_upkeep("glass_outer", every(30)),))).ledger
    assert book.per_day.sum() == 0
    assert book.helpers_per_day.sum() == pytest.approx(12 * 6.0)


def test_a_conditional_chore_counts_only_when_it_is_done() -> None:
    plan = a_plan(
        upkeep=(an_upkeep("wc_do", every(30), when=NITRATE_HIGH), an_upkeep("sand_clean", every(30))),
        horizon_days=40,
    )
    chores = schedule_of(plan).chores
    arrays = chore_arrays(chores)
    all_done, none_done = (
        spent_minutes(arrays, done=done).sum() for done in (np.ones(len(chores), bool), ~arrays.conditional)
    )
    looks = 2.0 * 40
    # sand 8; change 0.25 x 37.5 + 10; making 0.1 x 37.5 + 8; one set-up of 8 or, for the sand alone, of 5
    assert all_done == pytest.approx(looks + 8 + 19.375 + 11.75 + 8)
    assert none_done == pytest.approx(looks + 8 + 5)
    assert spent_minutes(arrays).sum() == pytest.approx(all_done)


def test_a_set_up_moves_on_when_its_carrier_is_not_done() -> None:
    plan = a_plan(
        upkeep=(an_upkeep("test_quick", every(30)), an_upkeep("test_full", every(30))), horizon_days=40
    )
    chores = [chore for chore in schedule_of(plan).chores if not chore.look]
    arrays = chore_arrays(chores)
    carrier = int(np.argmax(arrays.setup))
    done = np.ones(len(chores), bool)
    done[carrier] = False
    other = 1 - carrier
    assert spent_minutes(arrays)[other] == pytest.approx(arrays.typ[other])
    assert spent_minutes(arrays, done=done)[other] == pytest.approx(arrays.typ[other] + 3.0)


def test_a_slower_keeper_takes_longer() -> None:
    plan = a_plan(upkeep=(an_upkeep("wc_do", every(30)),))
    schedule = schedule_of(plan)
    slow = ledger(schedule.chores, start_on=MONDAY, days=365, minutes_per_month=400.0, factor=1.5)
    assert slow.mean_per_month == pytest.approx(1.5 * schedule.ledger.mean_per_month)


def test_what_falls_where_nobody_is_has_no_day() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 25), date(2027, 3, 7)),))
    plan = a_plan(keeper=keeper, upkeep=(an_upkeep("sand_clean", every(30)),))
    assert [chore.due_day for chore in schedule_of(plan).chores if chore.done_day is None] == [30]
