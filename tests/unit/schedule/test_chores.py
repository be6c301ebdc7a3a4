from dataclasses import replace
from datetime import date

import pytest

from backreef.aquarium.plan import Condition, PresenceWindow
from backreef.schedule.effects import (
    Dose,
    GlassClean,
    MediaChange,
    Other,
    Siphon,
    Test,
    TopOffRefill,
    WaterChange,
    effect_of,
)
from backreef.schedule.upkeep import UnknownTask
from tests.unit.schedule.world import (
    MONDAY,
    a_catalogue,
    a_helper,
    a_keeper,
    a_meal,
    a_plan,
    a_tank,
    a_task,
    an_upkeep,
    chores_of,
    closed_on,
    days_of,
    every,
    monthly,
    schedule_of,
    val,
    weekly,
    windows,
    with_device,
)

NITRATE_HIGH = Condition(series="nitrate_mg_n_per_l", comparison=">", value=4.5, text="nitrate > 20 mg/L NO3")


def test_a_stated_chore_comes_in_its_rhythm() -> None:
    plan = a_plan(upkeep=(an_upkeep("sand_clean", every(30)),), horizon_days=100)
    assert days_of(schedule_of(plan), "sand_clean") == [30, 60, 90]


def test_its_id_is_made_of_entry_task_and_date() -> None:
    plan = a_plan(upkeep=(an_upkeep("sand_clean", every(30), id="bed"),), horizon_days=40)
    assert [chore.id for chore in chores_of(schedule_of(plan), "sand_clean")] == ["bed.sand_clean.2027-02-03"]


def test_ids_are_unique_and_stable() -> None:
    plan = a_plan(
        upkeep=(an_upkeep("wc_do", every(14)), an_upkeep("sand_clean", every(21))),
        meals=(a_meal(times=(9.0, 12.0, 17.0)),),
    )
    ids = [chore.id for chore in schedule_of(plan).chores]
    assert len(set(ids)) == len(ids)
    assert ids == [chore.id for chore in schedule_of(plan).chores]


def test_a_water_change_brings_the_making_of_water() -> None:
    plan = a_plan(upkeep=(an_upkeep("wc_do", monthly(1), share_frac=0.1),), horizon_days=50)
    schedule = schedule_of(plan)
    assert days_of(schedule, "wc_mix") == days_of(schedule, "wc_do") == [1, 29]
    change = chores_of(schedule, "wc_do")[0]
    assert change.effect == WaterChange(share_frac=0.1)
    # 30 litres at 0.25 min and 10, and at 0.1 min and 8 for making them (common practice, no source).
    assert change.minutes == pytest.approx(17.5)
    assert chores_of(schedule, "wc_mix")[0].minutes == pytest.approx(11.0)
    # The set-up of 8 minutes for changing covers the 5 for making.
    assert change.setup_minutes + chores_of(schedule, "wc_mix")[0].setup_minutes == 8.0


def test_a_stated_making_of_water_is_not_brought_twice() -> None:
    plan = a_plan(upkeep=(an_upkeep("wc_do", every(30)), an_upkeep("wc_mix", every(60))), horizon_days=100)
    assert len(chores_of(schedule_of(plan), "wc_mix")) == 1


def test_a_water_change_by_device_takes_nobody() -> None:
    plan = a_plan(
        keeper=a_keeper(presence=()),
        upkeep=(an_upkeep("wc_do", every(1), by="changer", share_frac=0.005),),
        horizon_days=10,
    )
    schedule = schedule_of(plan)
    assert days_of(schedule, "wc_do") == list(range(1, 10))
    assert {chore.by for chore in chores_of(schedule, "wc_do")} == {"changer"}
    assert schedule.ledger.per_day.sum() == 0
    assert chores_of(schedule, "wc_mix") == []


def test_the_keepers_own_minutes_stand_before_the_catalogues() -> None:
    plan = a_plan(upkeep=(an_upkeep("wc_do", every(30), minutes=25.0),), horizon_days=40)
    (change,) = chores_of(schedule_of(plan), "wc_do")
    assert (change.minutes_low, change.minutes_typ, change.minutes_high) == pytest.approx((20.0, 25.0, 30.0))
    assert change.setup_minutes == 0.0
    assert chores_of(schedule_of(plan), "wc_mix") == []


def test_a_condition_stays_with_its_chore() -> None:
    plan = a_plan(upkeep=(an_upkeep("wc_do", every(30), when=NITRATE_HIGH),), horizon_days=40)
    schedule = schedule_of(plan)
    assert {chore.condition for chore in chores_of(schedule, "wc_do")} == {NITRATE_HIGH}
    assert {chore.condition for chore in chores_of(schedule, "wc_mix")} == {NITRATE_HIGH}


def test_a_chore_without_a_condition_carries_the_set_up() -> None:
    plan = a_plan(
        upkeep=(
            an_upkeep("wc_do", every(30), when=NITRATE_HIGH, minutes=None),
            an_upkeep("sand_clean", every(30)),
        ),
        horizon_days=40,
    )
    schedule = schedule_of(plan)
    (sand,), (change,), (mix,) = (chores_of(schedule, task) for task in ("sand_clean", "wc_do", "wc_mix"))
    assert (sand.setup_minutes, change.setup_minutes, mix.setup_minutes) == (5.0, 3.0, 0.0)


def test_a_lid_costs_its_extra() -> None:
    plan = a_plan(upkeep=(an_upkeep("wc_do", every(30), share_frac=0.1),), horizon_days=40)
    covered = replace(plan, tank=a_tank(lid="mesh"))
    (bare,), (lidded,) = (chores_of(schedule_of(each), "wc_do") for each in (plan, covered))
    assert lidded.minutes - bare.minutes == pytest.approx(2.0)


@pytest.mark.parametrize(("display_l", "factor"), [(60, 0.6), (30, 0.6), (150, 0.8), (300, 1.0), (525, 1.5)])
def test_work_in_the_tank_goes_with_its_size(display_l: float, factor: float) -> None:
    plan = a_plan(
        tank=a_tank(display_gross_l=display_l), upkeep=(an_upkeep("glass_inner", every(30)),), horizon_days=40
    )
    assert chores_of(schedule_of(plan), "glass_inner")[0].minutes == pytest.approx(5.0 * factor)


def test_outer_glass_goes_with_its_area() -> None:
    plan = a_plan(upkeep=(an_upkeep("glass_outer", every(30)),), horizon_days=40)
    assert chores_of(schedule_of(plan), "glass_outer")[0].minutes == pytest.approx(1.2 * 5.0)


def test_a_refused_task_is_left_out_and_says_so() -> None:
    plan = a_plan(keeper=a_keeper(refuses=("sand_clean",)), upkeep=(an_upkeep("sand_clean", every(30)),))
    schedule = schedule_of(plan)
    assert chores_of(schedule, "sand_clean") == []
    assert [(left.task_id, left.reason) for left in schedule.left_out] == [
        ("sand_clean", "the keeper refuses it")
    ]


def test_a_task_is_dropped_after_its_months() -> None:
    plan = a_plan(
        keeper=a_keeper(stops_after={"sand_clean": 6.0}), upkeep=(an_upkeep("sand_clean", every(30)),)
    )
    schedule = schedule_of(plan)
    assert days_of(schedule, "sand_clean") == [30, 60, 90, 120, 150, 180]
    assert schedule.left_out[0].from_day == (date(2027, 7, 4) - MONDAY).days == 181


def test_a_rhythm_for_days_of_presence_misses_nothing() -> None:
    rhythm = replace(weekly(0, 3), only_when_present=True)
    keeper = a_keeper(presence=windows(0), closed=(closed_on(date(2027, 1, 11), date(2027, 1, 31)),))
    plan = a_plan(keeper=keeper, upkeep=(an_upkeep("rock_blow", rhythm),), horizon_days=35)
    assert days_of(schedule_of(plan), "rock_blow") == [0, 28]


def test_a_chore_where_nobody_is_has_no_day() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 11), date(2027, 2, 28)),))
    plan = a_plan(keeper=keeper, upkeep=(an_upkeep("rock_blow", every(14)),), horizon_days=100)
    missed = [chore for chore in chores_of(schedule_of(plan), "rock_blow") if chore.done_day is None]
    assert [chore.due_day for chore in missed] == [14, 28, 42]
    assert {chore.by for chore in missed} == {""}


def test_a_chore_done_by_the_next_takes_no_minutes_and_has_no_effect() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 6), date(2027, 1, 13)),))
    plan = a_plan(keeper=keeper, upkeep=(an_upkeep("glass_inner", every(2)),), horizon_days=20)
    chores = chores_of(schedule_of(plan), "glass_inner")
    merged = [chore for chore in chores if chore.merged_into is not None]
    assert merged
    ids = {chore.id: chore for chore in chores}
    for chore in merged:
        assert (chore.minutes, chore.setup_minutes, chore.effect) == (0.0, 0.0, Other())
        assert ids[chore.merged_into or ""].done_day == chore.done_day
    assert len(chores) == 9


def test_work_that_needs_nobody_is_done_when_due() -> None:
    plan = a_plan(keeper=a_keeper(presence=windows(0)), upkeep=(an_upkeep("log", every(3)),), horizon_days=10)
    assert days_of(schedule_of(plan), "log") == [3, 6, 9]


def test_it_is_done_at_the_hour_asked_for_if_the_keeper_is_there() -> None:
    for asked, done in ((10.5, 10.5), (22.0, 8.0), (None, 8.0)):
        plan = a_plan(upkeep=(an_upkeep("rock_blow", every(14), at_hour=asked),), horizon_days=20)
        assert chores_of(schedule_of(plan), "rock_blow")[0].hour == done


def test_frozen_food_is_made_ready_anew_at_each_hour() -> None:
    meals = (
        a_meal("one", food="mysid", times=(9.0, 17.0)),
        a_meal("two", food="mysid", times=(9.0,)),
    )
    schedule = schedule_of(a_plan(meals=meals, horizon_days=1))
    assert sum(chore.setup_minutes for chore in chores_of(schedule, "feed_frozen")) == 2.0


def test_a_meal_by_hand_is_a_chore_of_its_hour() -> None:
    schedule = schedule_of(a_plan(meals=(a_meal(times=(9.25,)),), horizon_days=1))
    (chore,) = chores_of(schedule, "feed_dry_hand")
    assert (chore.id, chore.hour, chore.by) == ("pellets.feed_dry_hand.2027-01-04.0915", 9.25, "keeper")


def test_a_task_that_nobody_knows_is_an_error() -> None:
    with pytest.raises(UnknownTask, match="polish_the_cat"):
        schedule_of(a_plan(upkeep=(an_upkeep("polish_the_cat", every(7)),)))


# --- effects ---


def test_effects_take_the_plans_amounts_before_the_tables() -> None:
    plan = a_plan()
    assert effect_of("wc_do", plan=plan) == WaterChange(share_frac=0.125)
    litres = an_upkeep("wc_do", every(7), amount_l=30.0)
    assert effect_of("wc_do", plan=plan, upkeep=litres) == WaterChange(share_frac=0.1)
    grams = an_upkeep("gfo_change", every(7), amount_g=12.0)
    medium = effect_of("gfo_change", plan=plan, upkeep=grams)
    assert medium == MediaChange(kind="iron_oxide", medium_g=12.0, share_frac=1.0)
    # A quarter dose is 10 to 20 g per 100 L (common practice, no source).
    assert effect_of("gfo_change", plan=plan) == MediaChange(kind="iron_oxide", medium_g=45.0, share_frac=1.0)
    assert effect_of("glass_inner", plan=plan) == GlassClean(share_frac=0.9)


def test_sand_is_cleaned_a_patch_at_a_time() -> None:
    assert effect_of("sand_clean", plan=a_plan()) == Siphon(where="sand", share_frac=0.5)
    bare = a_plan(tank=a_tank(sand_area_m2=0.0))
    assert effect_of("sand_clean", plan=bare) == Siphon(where="sand", share_frac=0.3)


def test_a_dose_has_its_amount_or_none() -> None:
    pods = an_upkeep("pod_top_up", every(7), amount_l=0.5)
    assert effect_of("pod_top_up", plan=a_plan(), upkeep=pods) == Dose(kind="pods", value=0.5, unit="L")
    assert effect_of("pod_top_up", plan=a_plan()) == Dose(kind="pods", value=None, unit="")


def test_a_test_says_what_it_measures() -> None:
    measured = effect_of("test_quick", plan=a_plan())
    assert isinstance(measured, Test)
    assert NITRATE_HIGH.series in measured.series


def test_a_task_of_no_account_to_the_water_has_no_effect() -> None:
    assert effect_of("headcount", plan=a_plan()) == Other()


def test_a_stated_top_off_makes_up_what_evaporated() -> None:
    plan = a_plan(upkeep=(an_upkeep("ato_refill", every(5)),), devices=(), horizon_days=8)
    (refill,) = chores_of(schedule_of(plan), "ato_refill")
    assert refill.effect == TopOffRefill(water_l=15.0, device=None)


def test_a_stated_top_off_fills_the_box_there_is() -> None:
    plan = with_device(
        a_plan(upkeep=(an_upkeep("ato_refill", every(5)),), devices=(), horizon_days=8),
        "box",
        "ato",
        numbers={"reservoir_l": 20.0},
    )
    (refill,) = chores_of(schedule_of(plan), "ato_refill")
    assert refill.effect == TopOffRefill(water_l=20.0, device="box")


def test_a_longer_set_up_is_spent_once() -> None:
    longer = a_task("test_lab", setup_minutes=val(7))
    plan = a_plan(
        upkeep=(an_upkeep("test_quick", every(30)), an_upkeep("test_lab", every(30))), horizon_days=40
    )
    schedule = schedule_of(plan, a_catalogue(longer))
    chores = [*chores_of(schedule, "test_quick"), *chores_of(schedule, "test_lab")]
    assert sum(chore.setup_minutes for chore in chores) == 7.0


@pytest.mark.parametrize("hours", [(), windows(4, start=9.0, end=12.0)])
def test_a_helper_works_at_the_hour_at_which_they_come(hours: tuple[PresenceWindow, ...]) -> None:
    helper = a_helper(tasks=("test_quick",), weekdays=(4,), at_hour=17.0)
    keeper = a_keeper(presence=hours, refuses=("test_quick",), helpers=(helper,))
    plan = a_plan(keeper=keeper, upkeep=(an_upkeep("test_quick", weekly(4)),), horizon_days=30)
    found = [chore.hour for chore in chores_of(schedule_of(plan), "test_quick")]
    assert set(found) == {17.0}
