"""Trade facts as checks: common practice, no source."""

from __future__ import annotations

import pytest

from backreef.errors import InputFaults
from backreef.schedule.habits import dropped_after, habits, what_if_stopped
from backreef.schedule.rhythm import add_months
from backreef.usecases.work import lay_out
from tests.unit.aquarium.plans import SHORTEST, catalogue, plan_of

TESTS = '[[upkeep]]\nid = "tests"\ntask = "test_quick"\nevery = "2 weeks"\n[goals]\nhorizon = "2 years"\n'
TASKS = frozenset(catalogue().tasks)


def test_every_dropped_task_is_one_of_the_catalogue() -> None:
    assert {habit.task for habit in habits()} <= TASKS


def test_feeding_sand_sifters_by_hand_is_kept_up_for_a_year_or_two_by_many_and_for_five_by_few() -> None:
    # common practice, no source
    habit = dropped_after(plan_of(SHORTEST))["feed_target"]
    assert 12 <= habit.after_months.lowest <= habit.after_months.value <= habit.after_months.highest <= 24
    assert habit.after_months.highest < 60


@pytest.mark.parametrize(
    ("lid", "litres", "dropped"), [("mesh", 600, True), ("mesh", 200, False), ("glass", 600, False)]
)
def test_many_drop_a_screen_on_a_large_tank(lid: str, litres: int, *, dropped: bool) -> None:
    # common practice, no source: a screen lid is a small chore each time and many drop it on large tanks
    plan = plan_of(f'start_on = 2027-01-04\n[tank]\ndisplay = "{litres} L"\nlid = "{lid}"\n')
    assert ("lid_clean" in dropped_after(plan)) is dropped


def test_a_dropped_chore_is_done_until_its_month_and_never_after() -> None:
    plan = what_if_stopped(plan_of(SHORTEST + TESTS), {"test_quick": 7}, tasks=TASKS)
    done = [chore.done_day for chore in lay_out(plan, catalogue()).chores if chore.task_id == "test_quick"]
    stop = (add_months(plan.start_on, 7) - plan.start_on).days
    assert done
    assert stop - 20 <= max(day for day in done if day is not None) < stop


def test_dropped_from_the_first_day_it_is_never_done() -> None:
    plan = what_if_stopped(plan_of(SHORTEST + TESTS), {"test_quick": 0}, tasks=TASKS)
    assert not any(chore.task_id == "test_quick" for chore in lay_out(plan, catalogue()).chores)


def test_a_task_that_nobody_knows_is_a_fault() -> None:
    with pytest.raises(InputFaults, match="'yodel' is no task of the catalogue"):
        what_if_stopped(plan_of(SHORTEST), {"yodel": 3}, tasks=TASKS)
