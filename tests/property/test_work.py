"""What must hold for the minutes of any plan."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backreef.aquarium.plan import Plan
from backreef.schedule.minutes import chore_arrays, ledger, spent_minutes
from tests.drawn_plans import plans, schedule_of
from tests.searching import tries


@tries(40)
@given(plans(), st.integers(0, 2**32))
def test_minutes_are_never_negative_whatever_is_done(plan: Plan, seed: int) -> None:
    chores = schedule_of(plan).chores
    done = np.random.default_rng(seed).random(len(chores)) < 0.5
    spent = spent_minutes(chore_arrays(chores), done=done)
    assert (spent >= 0).all()
    assert (spent[~done] == 0).all()


@tries(40)
@given(plans(), st.integers(0, 2**32))
def test_doing_more_never_takes_less(plan: Plan, seed: int) -> None:
    arrays = chore_arrays(schedule_of(plan).chores)
    luck = np.random.default_rng(seed).random((2, len(arrays.day)))
    some = luck[0] < 0.5
    more = some | (luck[1] < 0.3)
    assert spent_minutes(arrays, done=more).sum() >= spent_minutes(arrays, done=some).sum() - 1e-9


@tries(40)
@given(plans())
def test_days_months_and_tasks_add_up_to_the_same_minutes(plan: Plan) -> None:
    schedule = schedule_of(plan)
    book = schedule.ledger
    total = float(book.per_day.sum() + book.looks_per_day.sum())
    assert sum(month.minutes for month in book.per_month) == pytest.approx(float(book.per_day.sum()))
    assert sum(book.by_task.values()) == pytest.approx(total)
    assert sum(month.days for month in book.per_month) == schedule.days
    given = sum(month.budget_minutes for month in book.per_month)
    whole = [month for month in book.per_month if month.first_on.day == 1 and month.days >= 28]
    assert given >= len(whole) * plan.keeper.minutes_per_month * 28 / 31 - 1e-9


@tries(40)
@given(plans(), st.integers(1, 400))
def test_split_anywhere_the_two_parts_take_what_the_whole_takes(plan: Plan, day: int) -> None:
    schedule = schedule_of(plan)
    parts = [
        [chore for chore in schedule.chores if chore.done_day is not None and (chore.done_day < day) is first]
        for first in (True, False)
    ]
    books = [
        ledger(part, start_on=plan.start_on, days=schedule.days, minutes_per_month=60.0) for part in parts
    ]
    assert sum(float(book.per_day.sum()) for book in books) == pytest.approx(
        float(schedule.ledger.per_day.sum())
    )
