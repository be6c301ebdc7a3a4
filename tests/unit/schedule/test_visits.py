from dataclasses import replace
from datetime import date

from backreef.aquarium.plan import Keeper, Plan, PresenceWindow
from backreef.schedule.people import Doers, doers
from backreef.schedule.presence import presence
from backreef.schedule.settling import Visit
from backreef.schedule.visits import plan_visits
from backreef.schedule.work import Due, Line
from backreef.schedule.workload import Minutes
from tests.unit.schedule.world import (
    WORKDAYS,
    a_catalogue,
    a_helper,
    a_keeper,
    a_plan,
    closed_on,
    windows,
)


def a_line(
    entry: str = "entry", task: str = "test_quick", *, interval_d: float = 20.0, **changes: object
) -> Line:
    """10 minutes, set-up 3, may slip 10 days, every 20 days: moves by 5."""
    line = Line(
        entry_id=entry,
        task_id=task,
        name=task,
        minutes=Minutes(low_min=5.0, typ_min=10.0, high_min=20.0),
        setup_minutes=3.0,
        setup_group="bench",
        needs_presence=True,
        interval_d=interval_d,
        tolerated_days=10.0,
    )
    return replace(line, **changes)  # type: ignore[arg-type]


def visits_of(
    dues: list[Due], keeper: Keeper | None = None, *, days: int = 100, weekly: float = 1e9
) -> list[Visit]:
    plan: Plan = a_plan(keeper=keeper or a_keeper(), horizon_days=days)
    there = presence(plan)
    able: dict[str, Doers] = {
        due.line.task_id: doers(plan, a_catalogue(), presence=there, task_id=due.line.task_id) for due in dues
    }
    return plan_visits(dues, doers=able, presence=there, weekly_minutes=weekly)


def test_a_chore_alone_is_done_on_its_due_day() -> None:
    assert visits_of([Due(line=a_line(), day=30)]) == [Visit(day=30, by="keeper")]


def test_chores_of_one_group_share_a_day_within_reach() -> None:
    found = visits_of([Due(line=a_line("one"), day=30), Due(line=a_line("two", "test_full"), day=36)])
    assert found[0].day == found[1].day
    assert 31 <= (found[0].day or 0) <= 35


def test_chores_of_different_groups_come_on_one_day_where_it_costs_nothing() -> None:
    other = a_line("two", "sand_clean", setup_group="siphon")
    found = visits_of([Due(line=a_line("one"), day=30), Due(line=other, day=33)])
    assert found[0].day == found[1].day


def test_a_chore_between_two_set_ups_joins_the_nearer() -> None:
    early, between, late = (a_line(name) for name in ("early", "between", "late"))
    elsewhere = a_line("elsewhere", "sand_clean", setup_group="siphon", pinned=True)
    dues = [
        Due(line=early, day=10),
        Due(line=between, day=18),
        Due(line=late, day=25),
        Due(line=elsewhere, day=22),
    ]
    assert [visit.day for visit in visits_of(dues)] == [13, 22, 22, 22]


def test_chores_too_far_apart_are_not_moved_together() -> None:
    found = visits_of([Due(line=a_line("one"), day=30), Due(line=a_line("two"), day=50)])
    assert [visit.day for visit in found] == [30, 50]


def test_a_named_weekday_is_kept_and_others_come_to_it() -> None:
    named = a_line("named", pinned=True, interval_d=7.0)
    found = visits_of([Due(line=a_line("free"), day=30), Due(line=named, day=33)])
    assert [visit.day for visit in found] == [33, 33]


def test_a_named_weekday_moves_to_the_nearest_day_when_it_is_closed() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 2, 4), date(2027, 2, 5)),))  # days 31 and 32
    named = a_line(pinned=True)
    assert visits_of([Due(line=named, day=31)], keeper)[0].day == 30
    assert visits_of([Due(line=named, day=32)], keeper)[0].day == 33


def test_it_slips_to_the_first_day_back() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 31), date(2027, 2, 12)),))  # days 27 to 39
    assert visits_of([Due(line=a_line(interval_d=8.0), day=30)], keeper)[0].day == 40


def test_it_comes_earlier_when_the_gap_until_the_next_chance_is_bearable() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 31), date(2027, 2, 13)),))  # days 27 to 40
    weekly = a_line(interval_d=8.0)
    assert visits_of([Due(line=weekly, day=30)], keeper)[0].day == 26
    tight = replace(weekly, tolerated_days=6.0)
    assert visits_of([Due(line=tight, day=30)], keeper)[0].day is None


def test_nobody_is_there_when_it_can_slip_no_further() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 20), date(2027, 2, 28)),))
    found = visits_of([Due(line=a_line(), day=30)], keeper)
    assert found == [Visit(day=None)]


def test_what_can_wait_until_after_the_horizon_is_not_missed() -> None:
    keeper = a_keeper(presence=windows(*WORKDAYS))
    found = visits_of([Due(line=a_line(interval_d=3.0), day=12)], keeper, days=14)
    assert found[0].day is None
    assert found[0].past_end


def test_what_the_keeper_drops_before_it_can_be_done_is_not_missed() -> None:
    closed = (closed_on(date(2027, 1, 25), date(2027, 2, 10)),)
    keeper = a_keeper(closed=closed, stops_after={"test_quick": 1.0})
    assert visits_of([Due(line=a_line(interval_d=8.0), day=28)], keeper)[0].past_end


def test_a_helper_does_what_they_can_while_the_keeper_is_away() -> None:
    helper = a_helper(tasks=("test_quick",), weekdays=(4,))
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 25), date(2027, 2, 12)),), helpers=(helper,))
    found = visits_of([Due(line=a_line(), day=30), Due(line=a_line("two", "sand_clean"), day=30)], keeper)
    assert found[0] == Visit(day=32, by="grandfather")
    assert found[1] == Visit(day=40, by="keeper")


def test_a_helper_does_what_the_keeper_refuses() -> None:
    keeper = a_keeper(refuses=("test_quick",), helpers=(a_helper(tasks=("test_quick",), weekdays=(4,)),))
    assert visits_of([Due(line=a_line(), day=32)], keeper) == [Visit(day=32, by="grandfather")]


def test_a_helper_gives_no_more_than_their_minutes() -> None:
    helper = a_helper(tasks=("test_quick",), weekdays=(4,), minutes_per_visit=15.0)
    keeper = a_keeper(refuses=("test_quick",), helpers=(helper,))
    found = visits_of([Due(line=a_line("one"), day=32), Due(line=a_line("two"), day=32)], keeper)
    assert [visit.day for visit in found] == [32, 39]


def test_a_device_needs_nobody() -> None:
    keeper = a_keeper(presence=())
    assert visits_of([Due(line=a_line(device="awc"), day=3)], keeper) == [Visit(day=3, by="awc")]


def test_two_of_a_kind_on_one_day_are_done_once() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 5), date(2027, 1, 11)),))  # days 1 to 7
    daily = a_line(interval_d=2.0)
    found = visits_of([Due(line=daily, day=day) for day in (2, 4, 6, 8, 10)], keeper)
    assert [visit.day for visit in found] == [8, 8, 8, 8, 10]
    assert [visit.merged_into for visit in found] == [1, 2, 3, None, None]


def test_a_week_that_is_full_sends_a_visit_to_the_next() -> None:
    full = Due(line=a_line("full", "sand_clean", setup_group="siphon", pinned=True), day=28)  # a Monday
    free = Due(line=a_line("free"), day=34)  # the Sunday after; it may come from 29 to 39
    assert visits_of([full, free], weekly=100.0)[1].day == 34
    assert visits_of([full, free], weekly=14.0)[1].day == 35


def test_a_full_week_is_no_reason_for_a_visit_more() -> None:
    full = Due(line=a_line("full", "sand_clean", setup_group="siphon", pinned=True), day=34)
    free = Due(line=a_line("free"), day=34)
    assert [visit.day for visit in visits_of([full, free], weekly=14.0)] == [34, 34]


def test_of_several_visits_a_chore_goes_to_the_one_whose_week_has_room() -> None:
    full = a_line("full", "sand_clean", setup_group="siphon", pinned=True)
    bench = [a_line(name, pinned=True) for name in ("early", "late")]
    dues = [Due(line=full, day=34), Due(line=bench[0], day=33), Due(line=bench[1], day=36)]
    free = Due(line=a_line("free"), day=34)
    assert visits_of([*dues, free], weekly=100.0)[3].day == 33
    assert visits_of([*dues, free], weekly=30.0)[3].day == 36


def test_one_visit_carries_the_chores_of_different_groups() -> None:
    # by hand: three groups with windows 25-35, 31-41 and 34-44 have 34 and 35 in common
    lines = [
        a_line(name, task, setup_group=name)
        for name, task in (("a", "sand_clean"), ("b", "test_full"), ("c", "test_quick"))
    ]
    dues = [Due(line=line, day=day) for line, day in zip(lines, (30, 36, 39), strict=True)]
    found = {visit.day for visit in visits_of(dues)}
    assert len(found) == 1
    assert found <= {34, 35}


def test_work_that_stands_anyway_draws_work_to_its_day() -> None:
    fed = Due(line=a_line("fed", "feed_target", setup_group="food"), day=33, done_on=33)
    free = Due(line=a_line("free"), day=30)
    assert visits_of([fed, free])[1].day == 33


def test_a_helpers_minutes_count_what_was_settled_before() -> None:
    helper = a_helper(tasks=("test_quick",), weekdays=(4,), minutes_per_visit=25.0)
    keeper = a_keeper(refuses=("test_quick",), helpers=(helper,))
    settled = Due(line=a_line("settled"), day=32, done_on=32)
    found = visits_of([Due(line=a_line("one"), day=32), Due(line=a_line("two"), day=32), settled], keeper)
    assert [visit.day for visit in found] == [32, 39, 32], "10 minutes are taken, 13 fit, 26 do not"


def test_a_helpers_minutes_go_to_what_can_wait_least() -> None:
    helper = a_helper(tasks=("test_quick",), weekdays=(4,), minutes_per_visit=15.0)
    keeper = a_keeper(refuses=("test_quick",), helpers=(helper,))
    patient, urgent = a_line("patient"), a_line("urgent", tolerated_days=2.0)
    found = visits_of([Due(line=patient, day=32), Due(line=urgent, day=32)], keeper)
    assert [visit.day for visit in found] == [39, 32]


def test_work_that_the_hours_of_a_day_do_not_hold_goes_to_other_days_of_its_window() -> None:
    # by hand: three times 10 minutes and a set-up of 3 do not go into half an hour; two and a set-up do
    short = tuple(PresenceWindow(weekday=day, from_hour=12.0, to_hour=12.5) for day in range(7))
    lines = [a_line(name) for name in ("a", "b", "c")]
    days = [
        visit.day for visit in visits_of([Due(line=line, day=30) for line in lines], a_keeper(presence=short))
    ]
    assert sorted(days.count(day) for day in set(days)) == [1, 2]
    assert all(day is not None and 25 <= day <= 35 for day in days)


def test_work_that_fits_no_day_stays_where_it_is() -> None:
    short = tuple(PresenceWindow(weekday=day, from_hour=12.0, to_hour=12.1) for day in range(7))
    found = visits_of([Due(line=a_line(name), day=30) for name in ("a", "b")], a_keeper(presence=short))
    assert [visit.day for visit in found] == [30, 30]
