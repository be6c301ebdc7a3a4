from dataclasses import replace
from datetime import date

import pytest

from backreef.aquarium.plan import Plan
from backreef.schedule.build import Schedule
from backreef.schedule.effects import FeederRefill, TopOffRefill
from tests.unit.schedule.world import (
    MONDAY,
    WORKDAYS,
    a_helper,
    a_keeper,
    a_meal,
    a_plan,
    an_animal,
    an_upkeep,
    away_yearly,
    chores_of,
    closed_on,
    days_of,
    every,
    schedule_of,
    windows,
    with_device,
)


def bare(**changes: object) -> Plan:
    return replace(a_plan(devices=()), **changes)  # type: ignore[arg-type]


def test_somebody_looks_on_each_day_of_presence() -> None:
    schedule = schedule_of(a_plan(keeper=a_keeper(presence=windows(0, 3)), horizon_days=14))
    looks = chores_of(schedule, "headcount")
    assert [chore.done_day for chore in looks] == [0, 3, 7, 10]
    assert all(chore.look for chore in looks)
    assert schedule.ledger.per_day.sum() == 0
    assert schedule.ledger.looks_per_day.sum() == 8.0


def test_a_helper_looks_while_the_keeper_is_away() -> None:
    keeper = a_keeper(closed=(closed_on(MONDAY, date(2027, 1, 6)),), helpers=(a_helper(weekdays=(1,)),))
    looks = chores_of(schedule_of(a_plan(keeper=keeper, horizon_days=5)), "headcount")
    assert [(chore.done_day, chore.by) for chore in looks] == [
        (1, "grandfather"),
        (3, "keeper"),
        (4, "keeper"),
    ]


def test_food_is_looked_through_where_there_are_meals() -> None:
    assert chores_of(schedule_of(a_plan()), "food_stock") == []
    assert len(chores_of(schedule_of(a_plan(meals=(a_meal(),))), "food_stock")) == 12


# --- devices ---


def test_a_device_brings_its_own_upkeep() -> None:
    schedule = schedule_of(with_device(a_plan(horizon_days=61), "roller", "roller"))
    chores = chores_of(schedule, "device_upkeep")
    assert [(chore.done_day, chore.minutes, chore.entry_id) for chore in chores] == [
        (20, 6.0, "roller"),
        (40, 6.0, "roller"),
        (60, 6.0, "roller"),
    ]


def test_a_device_that_takes_over_a_task_replaces_it() -> None:
    with_socks = with_device(a_plan(), "socks", "sock")
    assert chores_of(schedule_of(with_socks), "sock_change")
    assert chores_of(schedule_of(with_device(with_socks, "roller", "roller")), "sock_change") == []


def test_the_plans_own_word_stands_before_what_it_implies() -> None:
    plan = replace(with_device(a_plan(), "socks", "sock"), upkeep=(an_upkeep("sock_change", every(7)),))
    assert {chore.entry_id for chore in chores_of(schedule_of(plan), "sock_change")} == {"sock_change"}


def test_implied_work_that_is_refused_is_left_out() -> None:
    plan = replace(with_device(a_plan(), "socks", "sock"), keeper=a_keeper(refuses=("sock_change",)))
    schedule = schedule_of(plan)
    assert chores_of(schedule, "sock_change") == []
    assert [(left.task_id, left.entry_id) for left in schedule.left_out] == [("sock_change", "socks")]


def test_minutes_go_with_the_number_of_pumps() -> None:
    one, four = (
        chores_of(schedule_of(with_device(a_plan(), "pumps", "stream_pump_dc", count=count)), "pump_descale")
        for count in (1, 4)
    )
    # 8 to 12 minutes a pump (common practice, no source).
    assert 8 <= one[0].minutes <= 12
    assert four[0].minutes == pytest.approx(4 * one[0].minutes)


def cups(ration_g: float) -> Schedule:
    return schedule_of(with_device(a_plan(meals=(a_meal(grams_as_fed=ration_g),)), "skimmer", "skimmer_sump"))


def test_the_cup_fills_with_what_is_fed() -> None:
    light, usual, heavy = (len(chores_of(cups(ration), "skimmer_cup")) for ration in (1.0, 3.3, 8.0))
    assert light < usual < heavy
    # A cup for each 10 to 30 g of food (common practice, no source).
    assert 10 <= 3.3 * 365 / usual <= 30


def test_nothing_fed_still_empties_the_cup_before_it_smells() -> None:
    schedule = schedule_of(with_device(a_plan(), "skimmer", "skimmer_sump"))
    assert len(chores_of(schedule, "skimmer_cup")) == 36


def test_a_hopper_refill_is_a_chore() -> None:
    plan = with_device(
        a_plan(meals=(a_meal(by="feeder"),), horizon_days=30),
        "feeder",
        "feeder_drum_mains",
        numbers={"hopper_g": 5.0},
    )
    refills = chores_of(schedule_of(plan), "feeder_refill")
    assert [chore.done_day for chore in refills] == [10, 20]
    assert {chore.effect for chore in refills} == {FeederRefill(device="feeder")}


def test_a_stated_refill_is_done_on_the_day_the_meals_reckon_with() -> None:
    plan = with_device(
        a_plan(
            keeper=a_keeper(presence=windows(*WORKDAYS)),
            meals=(a_meal(by="feeder"),),
            upkeep=(an_upkeep("feeder_refill", every(20)), an_upkeep("sand_clean", every(17))),
            horizon_days=100,
        ),
        "feeder",
        "feeder_drum_mains",
        numbers={"hopper_g": 30.0},
    )
    schedule = schedule_of(plan)
    full = {
        day
        for day, (before, after) in enumerate(
            zip(
                [1.0, *(meal.hopper_frac for meal in schedule.meals.occasions)],
                [meal.hopper_frac for meal in schedule.meals.occasions],
                strict=False,
            )
        )
        if after > before
    }
    assert set(days_of(schedule, "feeder_refill")) == full


def test_dosing_bottles_are_refilled_at_the_rate_they_dose() -> None:
    numbers = {"reservoir_l": 2.0, "dose_l_per_d": 0.2}
    known = with_device(a_plan(horizon_days=50), "doser", "doser", numbers=numbers)
    assert days_of(schedule_of(known), "dosing_refill") == [10, 20, 30, 40]
    untold = with_device(a_plan(horizon_days=50), "doser", "doser")
    assert days_of(schedule_of(untold), "dosing_refill") == [21, 42]


def test_batteries_are_changed_at_the_age_they_reach() -> None:
    plan = with_device(a_plan(), "feeder", "feeder_disc", count=2)
    chores = chores_of(schedule_of(plan), "feeder_battery")
    assert [chore.due_day for chore in chores] == [91, 183, 274]
    assert {chore.minutes for chore in chores} == {6.0}


def test_a_feeder_that_gives_no_meals_is_not_refilled() -> None:
    plan = with_device(a_plan(), "feeder", "feeder_drum_mains")
    assert chores_of(schedule_of(plan), "feeder_refill") == []


# --- top-off ---


def test_a_top_off_box_is_refilled_before_it_is_dry() -> None:
    plan = with_device(bare(horizon_days=30), "top_off", "ato", numbers={"reservoir_l": 15.0})
    refills = chores_of(schedule_of(plan), "ato_refill")
    assert [chore.done_day for chore in refills] == [5, 10, 15, 20, 25]
    assert {chore.effect for chore in refills} == {TopOffRefill(water_l=15.0, device="top_off")}


def test_a_top_off_box_of_unknown_size_lasts_as_such_boxes_do() -> None:
    refills = chores_of(schedule_of(with_device(bare(horizon_days=30), "top_off", "ato")), "ato_refill")
    assert [chore.done_day for chore in refills] == [10, 20]


def test_a_top_off_on_a_water_line_needs_nobody() -> None:
    assert chores_of(schedule_of(a_plan()), "ato_refill") == []


def test_without_a_top_off_somebody_pours() -> None:
    poured = chores_of(schedule_of(bare(horizon_days=11)), "ato_refill")
    assert [chore.done_day for chore in poured] == [2, 4, 6, 8, 10]
    assert {chore.effect for chore in poured} == {TopOffRefill(water_l=6.0, device=None)}
    assert {chore.minutes for chore in poured} == {2.0}


def test_what_the_tank_needs_begins_with_the_tank_and_not_with_its_animals() -> None:
    late = an_animal("ocellaris_clown", date(2027, 1, 12))
    plan = replace(bare(horizon_days=20), animals=(late,))
    assert chores_of(schedule_of(plan), "ato_refill")[0].done_day == 2


def test_a_box_that_runs_dry_where_nobody_is_is_missed_and_made_up() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 11), date(2027, 1, 24)),))
    plan = with_device(bare(keeper=keeper, horizon_days=30), "top_off", "ato", numbers={"reservoir_l": 15.0})
    refills = [(chore.due_day, chore.done_day) for chore in chores_of(schedule_of(plan), "ato_refill")]
    assert (11, None) in refills
    assert (21, 21) in refills


# --- animals ---


def test_each_arrival_is_an_hour_of_hands() -> None:
    plan = a_plan(animals=(an_animal("goby", date(2027, 3, 1)), an_animal("clown")), horizon_days=100)
    (chore,) = chores_of(schedule_of(plan), "acclimate")
    assert (chore.entry_id, chore.done_day, chore.minutes, chore.setup_minutes) == ("goby", 56, 50.0, 10.0)


def test_animals_that_come_together_overlap() -> None:
    on = date(2027, 3, 1)
    plan = a_plan(animals=(an_animal("goby", on), an_animal("blenny", on)))
    first, second = chores_of(schedule_of(plan), "acclimate")
    assert second.minutes < first.minutes
    assert first.setup_minutes + second.setup_minutes == 10.0


def test_animals_that_come_on_a_closed_day_find_nobody() -> None:
    keeper = a_keeper(presence=windows(*WORKDAYS))
    plan = a_plan(keeper=keeper, animals=(an_animal("goby", date(2027, 3, 7)),))
    assert days_of(schedule_of(plan), "acclimate") == [None]


def test_quarantine_is_daily_care_before_arrival() -> None:
    plan = with_device(a_plan(animals=(an_animal("goby", date(2027, 3, 1)),)), "hospital", "quarantine_tank")
    assert days_of(schedule_of(plan), "quarantine_day") == list(range(26, 56))


# --- absences ---


def test_a_long_absence_is_prepared_and_looked_after() -> None:
    keeper = a_keeper(closed=(away_yearly((7, 10), (7, 24)),))
    schedule = schedule_of(a_plan(keeper=keeper))
    first = (date(2027, 7, 10) - MONDAY).days
    assert days_of(schedule, "holiday_prep") == [first - 2]
    assert days_of(schedule, "return_check") == [first + 15]


@pytest.mark.parametrize(("last", "count"), [(date(2027, 2, 3), 0), (date(2027, 2, 4), 1)])
def test_three_days_away_are_no_absence_to_prepare(last: date, count: int) -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 2, 1), last),))
    schedule = schedule_of(a_plan(keeper=keeper))
    assert len(chores_of(schedule, "holiday_prep")) == len(chores_of(schedule, "return_check")) == count


def test_a_gap_that_comes_every_week_is_not_prepared() -> None:
    schedule = schedule_of(a_plan(keeper=a_keeper(presence=windows(0, 1))))
    assert chores_of(schedule, "holiday_prep") == []


def test_an_absence_at_either_end_of_the_horizon_is_half_looked_after() -> None:
    keeper = a_keeper(closed=(away_yearly((12, 28), (1, 10)),))
    schedule = schedule_of(a_plan(keeper=keeper))
    assert days_of(schedule, "return_check") == [7]
    assert days_of(schedule, "holiday_prep") == [(date(2027, 12, 26) - MONDAY).days]
