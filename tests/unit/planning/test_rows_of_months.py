"""The rows of stage 2 as they stand before any solver, each by hand; and which months there are."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from types import SimpleNamespace
from typing import Any, cast

import pytest

from backreef.aquarium.plan import Helper, Plan
from backreef.company.additions import STAGES
from backreef.planning import arrivals
from backreef.planning.arrivals import (
    FAST_COSTS,
    SLOW,
    Month,
    Timing,
    arrivals_programme,
    batch,
    comes,
    day,
    months_of,
)
from backreef.planning.choices import a_device
from backreef.planning.programme import Row
from backreef.schedule.presence import AwayStretch, Presence, presence
from tests.planning_parts import near
from tests.planning_world import a_candidate, a_short_plan
from tests.unit.planning.test_arrivals import MONTHS, from_months, some_timing

START = date(2027, 1, 4)


def rows(timing: Timing, rule: str) -> list[Row]:
    return [row for row in arrivals_programme(timing).rows if row.rule == rule]


def two(*days: date) -> tuple[Month, ...]:
    return tuple(Month(number=number, on=on, fish=True) for number, on in enumerate(days))


def test_the_first_month_begins_four_weeks_on_and_the_last_one_ends_a_day_before_the_plan() -> None:
    found = months_of(a_short_plan())
    # 28 days on is 1 February, and each month begins with its first day
    assert [month.on for month in found] == [date(2027, number, 1) for number in range(2, 8)]
    assert [month.number for month in found] == list(range(6))
    assert all(month.fish for month in found)
    # 29 days: the keeper has to be there on the day after, so there is one day on which anybody may come
    assert [month.on for month in months_of(a_short_plan(horizon_days=30))] == [START + timedelta(days=28)]
    assert months_of(a_short_plan(horizon_days=29)) == ()


def test_there_are_eighteen_months_at_most() -> None:
    assert len(months_of(a_short_plan(horizon_days=1000))) == 18


def test_two_days_of_arrival_lie_three_weeks_apart() -> None:
    # somebody is there on the last Saturday and Sunday of a month and on the first of the next
    plan = a_short_plan(days="Sat-Sun", horizon_days=120)
    days = [month.on for month in months_of(plan)]
    assert days[0] == date(2027, 2, 6)
    assert all((later - one).days >= 21 for one, later in pairwise(days))


def test_who_helps_receives_newcomers_where_that_is_on_the_list() -> None:
    plan = a_short_plan(days="Mon-Tue")
    wednesdays = Helper(
        name="x", tasks=("acclimate",), weekdays=(2,), when_closed=False, minutes_per_visit=None
    )
    other = replace(wednesdays, tasks=("wc_do",), weekdays=(3,))
    keeper = replace(plan.keeper, helpers=(wednesdays, other))
    received = arrivals._receives(replace(plan, keeper=keeper), presence(replace(plan, keeper=keeper)))  # noqa: SLF001
    assert [number for number in range(7) if received[number]] == [0, 1, 2]
    refuses = replace(plan, keeper=replace(keeper, refuses=("acclimate",)))
    received = arrivals._receives(refuses, presence(refuses))  # noqa: SLF001
    assert [number for number in range(7) if received[number]] == [2]


@pytest.mark.parametrize(
    ("length", "begins", "before"),
    [(5, 28, False), (5, 27, True), (5, 0, True), (5, -1, False), (4, 10, False)],
)
def test_no_fish_comes_in_the_four_weeks_before_five_days_without_anybody(
    length: int, begins: int, before: bool
) -> None:
    first, last = 100 + begins, 100 + begins + length - 1
    away = AwayStretch(label="away", first_day=first, last_day=last, first_on=START, last_on=START)
    there = cast("Presence", SimpleNamespace(away=(away,)))
    assert arrivals._before_absence(there, 100) is before  # noqa: SLF001


def test_each_comes_once_and_where_asked_alone_on_its_day() -> None:
    timing = some_timing(a_candidate("a"), a_candidate("b"), months=MONTHS[:2], one_a_day=True)
    one, _ = rows(timing, "once")
    assert (one.terms, one.low, one.high) == ({comes("a", 0): 1.0, comes("a", 1): 1.0}, 1.0, 1.0)
    alone, _ = rows(timing, "one_kind_a_day")
    assert (alone.terms, alone.high) == ({comes("a", 0): 1.0, comes("b", 0): 1.0}, 1.0)
    assert rows(replace(timing, one_a_day=False), "one_kind_a_day") == []


def test_the_age_of_the_tank_is_that_at_its_start_and_the_months_since() -> None:
    # 12 months on 4 January; 1 February is 28 days on: 12.92 months
    exactly = from_months(12.0 + 28.0 / 30.4375)
    timing = some_timing(
        a_candidate("a", min_tank_age_months=exactly), months=two(date(2027, 1, 31), date(2027, 2, 1))
    )
    (row,) = rows(timing, "old_enough")
    assert (row.terms, row.high) == ({comes("a", 0): 1.0}, 0.0)
    old = some_timing(a_candidate("a", min_tank_age_months=from_months(1.0)))
    assert rows(old, "old_enough") == []
    assert rows(some_timing(a_candidate("a", min_tank_age_months=None)), "old_enough") == []


def test_snails_may_come_before_an_absence() -> None:
    months = (replace(MONTHS[0], fish=False), MONTHS[1])
    timing = some_timing(a_candidate("fish"), a_candidate("snail", kind="snail"), months=months)
    (row,) = rows(timing, "not_before_absence")
    assert (row.about, row.terms, row.high) == ("fish", {comes("fish", 0): 1.0}, 0.0)
    assert rows(replace(timing, months=MONTHS), "not_before_absence") == []


@pytest.mark.parametrize(
    ("changes", "kept_apart"),
    [
        ({}, True),
        ({"aggression": "high"}, False),
        ({"add_stage": "late"}, False),
        ({"kind": "snail"}, False),
    ],
)
def test_only_a_peaceful_fish_of_an_earlier_stage_goes_before_a_bold_one(
    changes: Any, kept_apart: bool
) -> None:
    bold = a_candidate("bold", aggression="high", add_stage="late")
    shy = a_candidate("shy", **{"aggression": "none", "add_stage": "early", **changes})
    found = rows(some_timing(bold, shy, months=MONTHS[:2]), "in_turn")
    expected = {comes("bold", 0): 0.0, comes("bold", 1): 1.0, comes("shy", 0): 0.0, comes("shy", 1): -1.0}
    assert [(row.terms, row.low) for row in found] == ([(expected, 0.0)] if kept_apart else [])


def test_food_grows_by_half_of_what_was_eaten_before() -> None:
    timing = some_timing(a_candidate("a"), eats_g_per_d={"a": 0.04}, months=MONTHS[:3])
    first, _, third = rows(timing, "food_grows_slowly")
    assert (first.terms, first.high) == ({SLOW: -1.0, comes("a", 0): 0.04}, near(0.05))
    assert third.terms == {SLOW: -1.0, comes("a", 0): -0.02, comes("a", 1): -0.02, comes("a", 2): 0.04}


def quarantined(boxes: int, *days: date) -> Timing:
    box = replace(a_device("apart", "quarantine_tank", {}), count=boxes)
    plan: Plan = replace(a_short_plan(), devices=(*a_short_plan().devices, box))
    return some_timing(a_candidate("a"), a_candidate("s", kind="snail"), plan=plan, months=two(*days))


def test_fish_leave_quarantine_after_its_thirty_days_and_one_batch_at_a_time() -> None:
    timing = quarantined(
        1, START + timedelta(days=29), START + timedelta(days=30), START + timedelta(days=59)
    )
    first, *others = rows(timing, "quarantine")
    assert (first.about, first.terms, first.high) == ("a.first", {comes("a", 0): 1.0}, 0.0)
    near = [
        row
        for row in others
        if batch(0) in row.terms and len(row.terms) > 1 and comes("a", 0) not in row.terms
    ]
    # thirty days lie between the first and the third: they may be two batches; the second is near both
    assert [(row.terms, row.high) for row in near] == [({batch(0): 1.0, batch(1): 1.0}, 1.0)]
    assert [row.terms for row in others if comes("a", 1) in row.terms] == [
        {batch(1): 1.0, comes("a", 1): -1.0}
    ]
    assert [row.low for row in others if comes("a", 1) in row.terms] == [0.0]
    assert not any(comes("s", 1) in row.terms for row in others), "snails are not kept apart"


def test_as_many_batches_as_boxes_fit_at_once() -> None:
    days = [START + timedelta(days=number) for number in (30, 40, 50)]
    full = [row for row in rows(quarantined(2, *days), "quarantine") if len(row.terms) == 3]
    assert [row.high for row in full] == [2.0]
    assert [row for row in rows(quarantined(3, *days), "quarantine") if len(row.terms) == 3] == []
    assert rows(some_timing(a_candidate("a")), "quarantine") == []


def test_minutes_of_a_quarter_hold_the_first_of_a_day_in_full_and_others_in_part() -> None:
    timing = some_timing(
        a_candidate("a"),
        a_candidate("b"),
        arrival_min={"a": 60.0, "b": 100.0},
        month_min=(20.0, 30.0, 40.0, 50.0, 60.0, 70.0),
    )
    found = rows(timing, "minutes_quarter")
    assert [row.high for row in found] == [600.0 - 90.0, 600.0 - 120.0, 600.0 - 150.0, 600.0 - 180.0]
    assert found[0].terms[comes("a", 0)] == near(18.0)
    assert found[0].terms[comes("b", 2)] == near(30.0)
    assert found[0].terms[day(1)] == near(70.0)
    assert (comes("a", 3) in found[0].terms, day(3) in found[0].terms) == (False, False)
    busy = replace(timing, budget_min_per_month=10.0)
    assert {row.high for row in rows(busy, "minutes_quarter")} == {0.0}
    short = replace(timing, months=MONTHS[:2])
    assert [row.high for row in rows(short, "minutes_quarter")] == [400.0 - 50.0]


def test_who_comes_makes_a_day_of_arrivals() -> None:
    timing = some_timing(a_candidate("a"), months=MONTHS[:1])
    (row,) = rows(timing, "day_of_arrivals")
    assert (row.terms, row.low) == ({day(0): 1.0, comes("a", 0): -1.0}, 0.0)


def test_what_was_refused_together_may_come_in_part() -> None:
    banned = (frozenset({("a", 0), ("b", 1)}), frozenset({("a", 0), ("gone", 0)}))
    timing = some_timing(a_candidate("a"), a_candidate("b"), banned=banned)
    (row,) = rows(timing, "not_again")
    assert (row.terms, row.high) == ({comes("a", 0): 1.0, comes("b", 1): 1.0}, 1.0)


def test_waiting_costs_more_for_those_that_belong_early_and_days_and_haste_cost_too() -> None:
    early = a_candidate("early", add_stage=STAGES[0])
    late = a_candidate("late", add_stage=STAGES[-1])
    programme = arrivals_programme(some_timing(early, late, day_months=2.0))
    assert programme.aim[comes("early", 3)] == -3.0 * len(STAGES)
    assert programme.aim[comes("late", 3)] == -3.0
    assert programme.aim[day(2)] == -2.0 * len(STAGES)
    assert programme.aim[SLOW] == -FAST_COSTS == -1000.0
    haste = next(one for one in programme.variables if one.name == SLOW)
    assert (haste.low, haste.high, haste.whole) == (0.0, FAST_COSTS, False)
    whole = {one.name for one in programme.variables if one.whole}
    assert {comes("early", 0), day(0), batch(0)} <= whole
