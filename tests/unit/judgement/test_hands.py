from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from backreef.judgement.hands import Work, done_by_member, overruns, work_of_members
from backreef.judgement.rules import rule
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import Members
from tests.unit.judgement.courses import FED, MEMBERS, PAIR, course

Array = npt.NDArray[np.float64]
CHANGE = """\
[[upkeep]]
id = "tests"
task = "test_quick"
every = "7 days"
[[upkeep]]
id = "change"
task = "wc_do"
share = "10 %"
every = "7 days"
when = "nitrate > {bound} mg/L NO3"
"""
OFTEN, NEVER = CHANGE.format(bound=0.001), CHANGE.format(bound=99)


def work(per_day: Array) -> Work:
    return Work(
        per_day=per_day,
        looks_min=np.zeros(per_day.shape[1]),
        people_min=per_day.sum(axis=0),
        by_task={},
        times_by_task={},
        missed=(),
    )


def test_a_month_over_the_budget_is_a_finding_and_a_quarter_is_harm() -> None:
    busy = np.zeros((200, 1))
    busy[50:80] = 10.0
    (month,) = overruns(work(busy), 200.0)
    assert not month.harm
    assert month.worst_min_per_month == pytest.approx(10.0 * 365.25 / 12)
    busy[:] = 10.0
    harm = overruns(work(busy), 200.0)[0]
    assert (harm.harm, harm.first_day.tolist()) == (True, [int(rule("quarter_d")) - 1])


def test_minutes_within_the_budget_are_no_trouble() -> None:
    assert overruns(work(np.full((200, 3), 1.0)), 60.0) == []


def test_a_first_week_of_setting_up_is_no_month() -> None:
    start = np.zeros((200, 1))
    start[:7] = 60.0
    assert overruns(work(start), 500.0) == []


def test_a_chore_without_a_condition_is_done_by_everybody() -> None:
    chores = course(PAIR + FED + OFTEN).prepared.keeper.chores
    free = [chore for chore in chores if chore.condition is None]
    assert free
    assert done_by_member(tuple(free), [], np.zeros((0, 3)), 3).all()


def test_a_chore_with_a_condition_is_done_where_it_was_noted() -> None:
    chores = tuple(c for c in course(PAIR + FED + OFTEN).prepared.keeper.chores if c.condition is not None)
    masks = np.array([[1.0, 0.0, 1.0]])
    done = done_by_member(chores, [chores[0].id], masks, 3)
    assert done[0].tolist() == [True, False, True]
    assert not done[1:].any(), "what nothing noted was not done"


def test_a_condition_that_comes_true_costs_minutes_and_one_that_never_does_costs_none() -> None:
    often, never = course(PAIR + FED + OFTEN).work, course(PAIR + FED + NEVER).work
    assert (often.by_task["wc_do"] > 0).all()
    assert often.times_by_task["wc_do"] > 2
    assert not never.by_task["wc_do"].any()
    assert never.times_by_task["wc_do"] == 0.0
    assert (never.per_day.sum(axis=0) < often.per_day.sum(axis=0)).all()


def test_minutes_are_counted_only_in_the_members_whose_test_asked_for_the_chore() -> None:
    marched = course(PAIR + FED + OFTEN)
    notes = len(marched.prepared.timeline.noted)
    assert notes > 0
    half = np.zeros((notes, MEMBERS))
    half[:, : MEMBERS // 2] = 1.0
    result = replace_notes(marched.members, half)
    found = work_of_members(marched.prepared, result, marched.draws).by_task["wc_do"]
    assert (found[: MEMBERS // 2] > 0).all()
    assert not found[MEMBERS // 2 :].any()


def replace_notes(members: Members, masks: Array) -> Members:
    blocks = [replace(block, noted=masks) for block in members.blocks]
    return replace(members, blocks=blocks)


def test_members_differ_in_their_speed_but_not_in_what_they_do() -> None:
    marched = course(PAIR + FED + OFTEN)
    minutes = marched.work.by_task["test_quick"]
    assert len(set(minutes.tolist())) == MEMBERS
    nominal = work_of_members(marched.prepared, marched.members, Draws(1, MEMBERS, nominal=True))
    assert len(set(nominal.by_task["test_quick"].round(9).tolist())) == 1
    assert nominal.times_by_task == marched.work.times_by_task


def test_the_week_is_the_sum_of_its_seven_days() -> None:
    found = course(PAIR + FED + OFTEN).work
    assert found.per_week[20] == pytest.approx(found.per_day[14:21].sum(axis=0))


def test_looks_are_kept_apart() -> None:
    found = course(PAIR + FED).work
    assert found.looks_min.sum() > 0
    assert not any(each.chore.look for each in found.missed)


def test_a_chore_that_cannot_wait_for_monday_is_missed() -> None:
    assert course(PAIR + FED).work.missed == ()
    mondays = course(PAIR + FED + '[keeper]\npresence = ["Mon"]\n')
    assert {each.chore.task_id for each in mondays.work.missed} == {"ato_refill"}
    assert all(each.wanted.all() for each in mondays.work.missed)
    first = min(each.day for each in mondays.work.missed)
    assert mondays.broken_on["hands"].tolist() == [first] * MEMBERS


MONDAYS_WITH_A_CHORE_THAT_WAITS_THREE_DAYS = """\
[keeper]
presence = ["Mon"]
[[devices]]
kind = "ato"
plumbed = true
[[upkeep]]
id = "tests"
task = "test_quick"
every = "week on Monday"
[[upkeep]]
id = "top_up"
task = "ato_refill"
every = "2 days"
when = "nitrate > {bound} mg/L NO3"
"""


def test_a_chore_that_nobody_can_do_is_missed_only_where_its_condition_came_true() -> None:
    always = course(PAIR + FED + MONDAYS_WITH_A_CHORE_THAT_WAITS_THREE_DAYS.format(bound=0.001))
    never = course(PAIR + FED + MONDAYS_WITH_A_CHORE_THAT_WAITS_THREE_DAYS.format(bound=99))
    undone = [chore for chore in never.prepared.keeper.chores if chore.done_day is None]
    assert {chore.task_id for chore in undone} == {"ato_refill"}
    assert never.work.missed == ()
    assert (never.broken_on["hands"] < 0).all()
    assert {each.chore.task_id for each in always.work.missed} == {"ato_refill"}
    assert (always.broken_on["hands"] >= 0).all()


def test_members_break_apart_where_only_some_want_the_chore() -> None:
    marched = course(PAIR + FED + MONDAYS_WITH_A_CHORE_THAT_WAITS_THREE_DAYS.format(bound=0.001))
    half = np.zeros((len(marched.prepared.timeline.noted), MEMBERS))
    half[:, : MEMBERS // 2] = 1.0
    work = work_of_members(marched.prepared, replace_notes(marched.members, half), marched.draws)
    assert all(each.wanted.tolist() == [True] * 4 + [False] * 4 for each in work.missed)
    assert all((each.first_day >= 0).tolist() == each.wanted.tolist() for each in work.missed)
