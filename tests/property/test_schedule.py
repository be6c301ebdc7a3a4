"""What must hold for the schedule of every plan."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from backreef.aquarium.plan import ClosedRule, Keeper, Plan, Rhythm, Upkeep
from backreef.schedule.build import build_schedule
from backreef.schedule.minutes import chore_arrays, spent_minutes
from backreef.schedule.people import KEEPER
from backreef.schedule.presence import presence
from backreef.schedule.rhythm import due_days
from backreef.schedule.visit_days import Need, least_visits
from tests.drawn_plans import (
    CATALOGUE,
    STATED,
    closures,
    keepers,
    plans,
    rhythms,
    schedule_of,
    starts,
)
from tests.searching import tries
from tests.unit.schedule.world import (
    a_catalogue,
    a_keeper,
    a_plan,
    an_upkeep,
    every,
)

pytestmark = pytest.mark.property
ROUNDING = 1e-12


# --- who is there ---


@given(starts, st.integers(1, 800), keepers())
def test_every_day_is_one_of_presence_or_has_a_reason(start_on: date, days: int, keeper: Keeper) -> None:
    there = presence(a_plan(start_on=start_on, horizon_days=days, keeper=keeper))
    assert len(there.present) == len(there.from_hour) == len(there.reason) == days
    assert [bool(reason) for reason in there.reason] == (~there.present).tolist()
    assert np.all((there.from_hour >= 0) == there.present)
    assert np.all(there.from_hour[there.present] < there.to_hour[there.present])
    away = [day for stretch in there.absences for day in range(stretch.first_day, stretch.last_day + 1)]
    assert away == np.flatnonzero(~there.present).tolist()
    assert all(stretch.label for stretch in there.absences)
    assert all((stretch.last_on - stretch.first_on).days + 1 == stretch.days for stretch in there.absences)


@given(starts, st.integers(1, 500), closures())
def test_a_longer_horizon_changes_no_day(start_on: date, days: int, rule: ClosedRule) -> None:
    short, longer = (
        presence(a_plan(start_on=start_on, horizon_days=each, keeper=a_keeper(closed=(rule,))))
        for each in (days, days + 200)
    )
    assert short.present.tolist() == longer.present[:days].tolist()
    assert short.reason == longer.reason[:days]


@given(st.dates(date(2028, 1, 1), date(2028, 12, 31)), st.dates(date(2028, 1, 1), date(2028, 12, 31)))
def test_a_yearly_closure_and_its_complement_are_the_year(first: date, last: date) -> None:
    after, before = last + timedelta(days=1), first - timedelta(days=1)
    rules = [
        ((first.month, first.day), (last.month, last.day)),
        ((after.month, after.day), (before.month, before.day)),
    ]
    closed = [
        presence(
            a_plan(
                start_on=date(2027, 6, 1),
                horizon_days=900,
                keeper=a_keeper(
                    closed=(
                        ClosedRule(
                            kind="yearly",
                            label="",
                            first_month=start[0],
                            first_day=start[1],
                            last_month=end[0],
                            last_day=end[1],
                        ),
                    )
                ),
            )
        ).present
        for start, end in rules
    ]
    if (last - first).days % 366 != 365:
        assert np.all(closed[0] ^ closed[1])


# --- rhythms ---


@given(starts, st.integers(1, 1200), rhythms())
@example(date(2023, 12, 1), 67, every(1.9))
def test_a_rhythm_falls_due_as_often_as_it_says(start_on: date, days: int, rhythm: Rhythm) -> None:
    due = due_days(rhythm, start_on=start_on, days=days)
    assert due == sorted(set(due))
    assert all(0 <= day < days for day in due)
    dates = [start_on + timedelta(days=day) for day in due]
    if rhythm.kind == "interval":
        assert rhythm.every_days is not None
        # Due days are whole days: each may be half a day off, as the last of the example is.
        most = 1 + 0.5 / rhythm.every_days
        assert abs(len(due) - days / rhythm.every_days) <= most * (1 + ROUNDING)
    elif rhythm.kind == "weekly":
        assert all(on.weekday() in rhythm.weekdays for on in dates)
        weeks = days / 7 / rhythm.every_weeks
        assert abs(len(due) - weeks * len(rhythm.weekdays)) <= 2 * len(rhythm.weekdays)
    else:
        assert all(on.weekday() in rhythm.weekdays for on in dates)
        months = Counter((on.year, on.month) for on in dates)
        assert all(count <= len(rhythm.weekdays) for count in months.values())
        assert all((on.year - start_on.year) * 12 + on.month - start_on.month >= 0 for on in dates)
        assert {
            ((on.year - start_on.year) * 12 + on.month - start_on.month) % rhythm.every_months for on in dates
        } <= {0}


# --- chores ---


@tries(60)
@given(plans())
def test_no_hand_works_where_nobody_is(plan: Plan) -> None:
    schedule = schedule_of(plan)
    there = schedule.presence
    comes = {helper.name: helper.present for helper in there.helpers}
    for chore in schedule.chores:
        if chore.done_day is None or not chore.needs_presence or chore.by == "feeder":
            continue
        present = there.present if chore.by == KEEPER else comes[chore.by]
        assert present[chore.done_day], chore.id
        assert chore.by != KEEPER or chore.task_id not in plan.keeper.refuses
    for meal in schedule.meals.occasions:
        if meal.by == "hand":
            assert there.present[meal.day] if meal.who == KEEPER else comes[meal.who][meal.day]
        if meal.who == KEEPER:
            assert any(start <= meal.hour <= end for start, end in there.hours(meal.day))


@tries(60)
@given(plans())
def test_no_chore_is_lost(plan: Plan) -> None:
    """Each due day of a stated task has its chore, unless it is left to the time after or dropped."""
    schedule = schedule_of(plan)
    for upkeep in plan.upkeep:
        due = due_days(upkeep.rhythm, start_on=plan.start_on, days=plan.horizon_days)
        chores = [
            chore for chore in schedule.chores if chore.entry_id == upkeep.id and chore.task_id == upkeep.task
        ]
        assert len({chore.due_day for chore in chores}) == len(chores)
        assert {chore.due_day for chore in chores} <= set(due)
        dropped = upkeep.task in plan.keeper.refuses or upkeep.task in plan.keeper.stops_after
        if not dropped:
            slack = 20
            assert {day for day in due if day < plan.horizon_days - slack} <= {
                chore.due_day for chore in chores
            }


@tries(60)
@given(plans())
def test_a_chore_moves_no_further_than_it_may(plan: Plan) -> None:
    for chore in schedule_of(plan).chores:
        if chore.done_day is None or chore.task_id not in STATED:
            continue
        tolerated = CATALOGUE.tasks[chore.task_id].tolerated_missed_days
        assert chore.done_day - chore.due_day <= getattr(tolerated, "value", 0)


@tries(60)
@given(plans())
def test_no_line_of_work_is_done_twice_on_a_day(plan: Plan) -> None:
    done = Counter(
        (chore.entry_id, chore.task_id, chore.done_day, chore.hour)
        for chore in schedule_of(plan).chores
        if chore.done_day is not None and chore.merged_into is None
    )
    assert all(count == 1 for count in done.values())


@tries(60)
@given(plans())
def test_what_is_done_by_a_later_chore_is_done(plan: Plan) -> None:
    chores = {chore.id: chore for chore in schedule_of(plan).chores}
    for chore in chores.values():
        if chore.merged_into is not None:
            into = chores[chore.merged_into]
            assert into.done_day == chore.done_day
            assert into.due_day > chore.due_day
            assert chore.minutes == chore.setup_minutes == 0.0


@tries(60)
@given(plans())
def test_what_nobody_does_could_not_be_done_in_time(plan: Plan) -> None:
    """A stated chore without a day has no able person from its due day until it can slip no more."""
    schedule = schedule_of(plan)
    for chore in (one for one in schedule.chores if one.done_day is None):
        if chore.task_id not in STATED or chore.task_id in plan.keeper.refuses:
            continue
        if chore.task_id in plan.keeper.stops_after:
            continue
        slack = int(getattr(CATALOGUE.tasks[chore.task_id].tolerated_missed_days, "value", 0))
        assert not schedule.presence.present[chore.due_day : chore.due_day + slack + 1].any()


# --- minutes ---


@tries(60)
@given(plans())
def test_minutes_add_up(plan: Plan) -> None:
    schedule = schedule_of(plan)
    book = schedule.ledger
    keepers_own = sum(
        chore.minutes + chore.setup_minutes
        for chore in schedule.chores
        if chore.by == KEEPER and chore.done_day is not None and not chore.look
    )
    assert book.per_day.sum() == pytest.approx(keepers_own)
    assert sum(month.minutes for month in book.per_month) == pytest.approx(keepers_own)
    assert sum(month.days for month in book.per_month) == plan.horizon_days
    assert np.all(book.per_day >= 0)
    assert book.per_week[-1] == pytest.approx(book.per_day[-7:].sum())


@tries(60)
@given(plans())
def test_a_set_up_is_spent_once_on_a_visit(plan: Plan) -> None:
    shared: dict[tuple[int, str, str], list[tuple[float, float]]] = defaultdict(list)
    for chore in schedule_of(plan).chores:
        if chore.done_day is not None and chore.setup_own_minutes > 0:
            shared[chore.done_day, chore.by, chore.setup_group].append(
                (chore.setup_minutes, chore.setup_own_minutes)
            )
    for parts in shared.values():
        assert sum(part for part, _ in parts) == pytest.approx(max(own for _, own in parts))


@tries(40)
@given(plans(), st.integers(0, 2**32 - 1))
def test_less_done_never_takes_more(plan: Plan, seed: int) -> None:
    chores = schedule_of(plan).chores
    arrays = chore_arrays(chores)
    done = np.random.default_rng(seed).random(len(chores)) < 0.6
    some, everything = spent_minutes(arrays, done=done), spent_minutes(arrays)
    assert some.sum() <= everything.sum() + 1e-9
    assert np.all(some[~done] == 0.0)


@tries(40)
@given(plans())
def test_it_depends_on_the_plan_alone(plan: Plan) -> None:
    first, second = schedule_of(plan), schedule_of(replace(plan))
    assert first.chores == second.chores
    assert first.meals.occasions == second.meals.occasions


@tries(40)
@given(plans())
def test_food_from_a_feeder_is_food_from_its_fillings(plan: Plan) -> None:
    schedule = schedule_of(plan)
    for device_id, traits in schedule.meals.feeders.items():
        given_g = sum(meal.food_g for meal in schedule.meals.occasions if meal.by == device_id)
        filled = 1.0 + sum(
            refill.share_frac for refill in schedule.meals.refills if refill.device_id == device_id
        )
        assert traits.hopper_g is not None
        assert given_g <= traits.hopper_g * filled + 1e-6


# --- the bound ---


def fewest_days(windows: list[tuple[int, int]]) -> int:
    """The least number of days that meet every window."""
    needs = [Need(first=first, last=last, group="bench", setup_minutes=3.0) for first, last in windows]
    return least_visits(needs).own_visits


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 4)), max_size=6))
def test_no_choice_of_days_meets_all_windows_with_fewer(spans: list[tuple[int, int]]) -> None:
    windows = [(first, min(9, first + length)) for first, length in spans]
    fewest = fewest_days(windows)
    for size in range(fewest):
        for days in combinations(range(10), size):
            assert not all(any(first <= day <= last for day in days) for first, last in windows)


@tries(60)
@given(st.lists(rhythms(), min_size=2, max_size=3), starts)
def test_set_ups_are_the_fewest_that_the_windows_allow(found: list[Rhythm], start_on: date) -> None:
    """With the keeper there daily, tests of one bench need no more days than the bound says."""
    tasks = ("test_quick", "test_full", "test_lab")
    upkeep: tuple[Upkeep, ...] = tuple(
        an_upkeep(task, Rhythm(kind="interval", text="", every_days=each.every_days or 30.0))
        for task, each in zip(tasks, found, strict=False)
    )
    extra = replace(CATALOGUE.tasks["test_quick"], id="test_lab")
    plan = a_plan(upkeep=upkeep, start_on=start_on, horizon_days=300)
    schedule = build_schedule(plan, a_catalogue(extra))
    chores = [chore for chore in schedule.chores if chore.setup_group == "test_bench"]
    windows = []
    for each in upkeep:
        flex = int(min(0.25 * max(1.0, each.rhythm.every_days or 1.0), 14))
        late = min(flex, 10)
        windows += [
            (max(0, day - flex), min(299, day + late))
            for day in due_days(each.rhythm, start_on=start_on, days=300)
        ]
    assert len({chore.done_day for chore in chores}) <= fewest_days(windows)
