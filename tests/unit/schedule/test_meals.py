from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from backreef.aquarium.plan import Meal, Plan
from backreef.schedule.meals import MealBook, dry_food_g_per_d, meal_book, meal_occasions
from backreef.schedule.occasions import MissingRation
from backreef.schedule.presence import presence
from tests.unit.schedule.world import (
    MONDAY,
    a_catalogue,
    a_helper,
    a_keeper,
    a_meal,
    a_plan,
    an_upkeep,
    closed_on,
    every,
    windows,
    with_device,
)


def book(plan: Plan) -> MealBook:
    return meal_book(plan, a_catalogue(), presence=presence(plan))


def given(plan: Plan) -> list[tuple[int, float]]:
    return [(meal.day, meal.hour) for meal in book(plan).occasions if meal.food_g > 0]


def fed_by(kind: str = "feeder_drum_mains", meal: Meal | None = None, **numbers: float) -> Plan:
    plan = a_plan(meals=(replace(meal or a_meal(), by="feeder"),), horizon_days=60)
    return with_device(plan, "feeder", kind, numbers=numbers)


# --- by hand ---


def test_a_meal_by_hand_is_given_when_the_keeper_is_there() -> None:
    plan = a_plan(keeper=a_keeper(presence=windows(0, 2)), meals=(a_meal(),), horizon_days=8)
    assert given(plan) == [(0, 12.0), (2, 12.0), (7, 12.0)]
    assert {meal.who for meal in book(plan).occasions} == {"keeper"}


def test_a_meal_by_hand_moves_to_the_nearest_hour_of_presence() -> None:
    keeper = a_keeper(presence=windows(0, start=9.0, end=15.0))
    plan = a_plan(keeper=keeper, meals=(a_meal(times=(8.0, 12.0, 18.0)),), horizon_days=1)
    assert given(plan) == [(0, 9.0), (0, 12.0), (0, 15.0)]


def test_a_helper_who_says_when_they_come_gives_the_meals_near_their_stay() -> None:
    keeper = a_keeper(presence=(), helpers=(a_helper(at_hour=16.0, until_hour=18.0),))
    plan = a_plan(keeper=keeper, meals=(a_meal(times=(8.0, 13.0, 17.0)),), horizon_days=1)
    assert given(plan) == [(0, 16.0), (0, 17.0)]
    always = a_keeper(presence=(), helpers=(a_helper(),))
    assert given(replace(plan, keeper=always)) == [(0, 8.0), (0, 13.0), (0, 17.0)]


def test_a_meal_by_hand_is_left_out_when_its_hour_is_too_far_off() -> None:
    keeper = a_keeper(presence=windows(0, start=18.0, end=20.0))
    plan = a_plan(keeper=keeper, meals=(a_meal(times=(8.0, 19.0)),), horizon_days=1)
    assert given(plan) == [(0, 19.0)]
    assert [(left.entry_id, left.reason) for left in book(plan).left_out] == [
        ("pellets", "on some weekdays nobody is there near the hours of the meal")
    ]


def test_two_meals_that_move_to_one_hour_are_one_meal() -> None:
    keeper = a_keeper(presence=windows(0, start=10.0, end=11.0))
    plan = a_plan(keeper=keeper, meals=(a_meal(times=(8.0, 9.0)),), horizon_days=1)
    assert given(plan) == [(0, 10.0)]


def test_a_helper_feeds_while_the_keeper_is_away() -> None:
    keeper = a_keeper(
        closed=(closed_on(date(2027, 1, 6), date(2027, 1, 7)),), helpers=(a_helper(weekdays=(3,)),)
    )
    plan = a_plan(keeper=keeper, meals=(a_meal(),), horizon_days=5)
    assert [(meal.day, meal.who) for meal in book(plan).occasions] == [
        (0, "keeper"),
        (1, "keeper"),
        (3, "grandfather"),
        (4, "keeper"),
    ]


def test_a_helper_gives_the_meals_that_the_keeper_is_not_there_for_on_the_same_day() -> None:
    keeper = a_keeper(presence=windows(0, start=9.0, end=12.0), helpers=(a_helper(weekdays=(0, 1)),))
    plan = a_plan(keeper=keeper, meals=(a_meal(times=(10.0, 22.0)),), horizon_days=2)
    assert [(meal.day, meal.hour, meal.who) for meal in book(plan).occasions] == [
        (0, 10.0, "keeper"),
        (0, 22.0, "grandfather"),
        (1, 10.0, "grandfather"),
        (1, 22.0, "grandfather"),
    ]


def test_a_helper_who_does_something_else_does_not_feed() -> None:
    keeper = a_keeper(presence=(), helpers=(a_helper(tasks=("ato_refill",)),))
    assert given(a_plan(keeper=keeper, meals=(a_meal(),))) == []


def test_a_refused_meal_is_left_out_and_says_so() -> None:
    plan = a_plan(keeper=a_keeper(refuses=("feed_frozen",)), meals=(a_meal(food="mysid"),))
    assert given(plan) == []
    assert book(plan).left_out[0].reason == "the keeper refuses it"


def test_a_meal_ends_when_the_keeper_drops_it() -> None:
    plan = a_plan(keeper=a_keeper(stops_after={"feed_frozen": 2.0}), meals=(a_meal(food="mysid"),))
    assert max(meal.day for meal in book(plan).occasions) == (date(2027, 3, 3) - MONDAY).days
    assert book(plan).left_out[0].from_day == (date(2027, 3, 4) - MONDAY).days


def test_a_meal_keeps_to_its_weekdays() -> None:
    assert given(a_plan(meals=(a_meal(weekdays=(5,)),), horizon_days=14)) == [(5, 12.0), (12, 12.0)]


# --- rations ---


def test_enough_for_somebody_is_asked_of_the_one_who_knows() -> None:
    plan = a_plan(meals=(a_meal(grams_as_fed=None, enough_for="growth", times=(9.0, 15.0)),), horizon_days=3)
    meals = meal_occasions(plan, a_catalogue(), presence=presence(plan), ration_g=lambda _, day: 0.1 + day)
    assert [meal.grams_as_fed for meal in meals] == [0.1, 0.1, 1.1, 1.1, 2.1, 2.1]


def test_enough_for_somebody_without_one_who_knows_is_an_error() -> None:
    plan = a_plan(meals=(a_meal(grams_as_fed=None, enough_for="growth"),))
    with pytest.raises(MissingRation, match="pellets"):
        book(plan)


def test_dry_food_leaves_out_the_water() -> None:
    plan = a_plan(meals=(a_meal(), a_meal("frozen", food="mysid", grams_as_fed=2.0)), horizon_days=2)
    dry = dry_food_g_per_d(book(plan), a_catalogue(), days=2)
    assert dry == pytest.approx([0.5 * 0.9 + 2.0 * 0.2] * 2)


# --- by feeder ---


def test_a_feeder_feeds_whether_anybody_is_there_or_not() -> None:
    plan = replace(fed_by(), keeper=a_keeper(presence=windows(0)))
    assert len(given(plan)) == 60


def test_a_feeder_meal_for_days_of_presence_keeps_to_them() -> None:
    plan = replace(fed_by(meal=a_meal(only_when_present=True)), keeper=a_keeper(presence=windows(0)))
    assert {day % 7 for day, _ in given(plan)} == {0}


def test_a_hopper_is_refilled_before_it_is_empty_or_stale() -> None:
    made = book(fed_by(hopper_g=5.0))
    assert [refill.done_day for refill in made.refills] == [10, 20, 30, 40, 50]
    assert all(refill.due_day == refill.done_day for refill in made.refills)
    stale = book(fed_by(hopper_g=500.0))
    assert [refill.done_day for refill in stale.refills] == [21, 42]


def test_an_empty_hopper_gives_nothing_and_says_so() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 11), date(2027, 1, 24)),))
    made = book(replace(fed_by(hopper_g=5.0), keeper=keeper))
    dry = [meal for meal in made.occasions if meal.note == "the hopper is empty"]
    assert [meal.day for meal in dry] == [16, 17, 18, 19, 20]
    assert {meal.food_g for meal in dry} == {0.0}
    assert [(refill.due_day, refill.done_day) for refill in made.refills][:3] == [
        (6, 6),
        (16, None),
        (21, 21),
    ]


def test_a_late_refill_within_what_it_can_slip_is_not_missed() -> None:
    keeper = a_keeper(closed=(closed_on(date(2027, 1, 11), date(2027, 1, 21)),))
    made = book(replace(fed_by(hopper_g=5.0), keeper=keeper))
    assert [(refill.due_day, refill.done_day) for refill in made.refills][:2] == [(6, 6), (16, 18)]


def test_two_meals_share_one_hopper() -> None:
    plan = a_plan(
        meals=(a_meal("one", by="feeder"), a_meal("two", by="feeder", times=(15.0,))), horizon_days=30
    )
    made = book(with_device(plan, "feeder", "feeder_drum_mains", numbers={"hopper_g": 10.0}))
    assert [refill.done_day for refill in made.refills] == [10, 20]


def test_a_feeder_with_cells_is_empty_after_its_last_cell() -> None:
    plan = replace(fed_by("feeder_disc"), keeper=a_keeper(presence=()))
    assert len(given(plan)) == 14
    more = replace(fed_by("feeder_disc", cells_count=28.0), keeper=a_keeper(presence=()))
    assert len(given(more)) == 28


def test_a_stated_rhythm_of_refills_is_kept() -> None:
    plan = replace(fed_by(hopper_g=5.0), upkeep=(an_upkeep("feeder_refill", every(20)),))
    made = book(plan)
    assert made.refills == ()
    assert [day for day in range(60) if day not in {meal.day for meal in made.occasions if meal.food_g}] == [
        *range(10, 20),
        *range(30, 40),
        *range(50, 60),
    ]


def test_a_meal_smaller_than_the_smallest_portion_is_one_portion() -> None:
    made = book(fed_by(meal=a_meal(grams_as_fed=0.01)))
    assert made.occasions[0].food_g == 0.05
    assert "smallest portion" in made.occasions[0].note


def test_portions_are_counted() -> None:
    assert book(fed_by(portion_g=0.1)).occasions[0].portions == 5
    assert book(fed_by()).occasions[0].portions == 1


def test_a_feeder_stops_at_its_portions_of_a_day() -> None:
    hours = tuple(float(hour) for hour in range(6, 20))
    made = book(fed_by(meal=a_meal(grams_as_fed=0.1, times=hours)))
    first_day = [meal for meal in made.occasions if meal.day == 0]
    assert [meal.food_g for meal in first_day] == [0.1] * 12 + [0.0] * 2
    assert "portions of the day" in first_day[-1].note


def test_traits_say_what_a_simulation_draws_from() -> None:
    traits = book(fed_by()).feeders["feeder"]
    assert traits.hopper_g == 20.0
    assert traits.cells_count is None
    levels = traits.drift_ratio(np.linspace(0.0, 1.0, 3001))
    assert np.all(np.diff(levels) >= 0)
    assert levels.mean() == pytest.approx(1.0, abs=1e-3)
    # The first third of a filling gives 10 to 40 % more than the last (common practice, no source).
    assert 1.1 <= levels[2000:].mean() / levels[:1001].mean() <= 1.4


def test_several_feeders_of_one_entry_hold_more() -> None:
    plan = a_plan(meals=(a_meal(by="feeder"),))
    twice = book(with_device(plan, "feeder", "feeder_drum_mains", count=2))
    assert twice.feeders["feeder"].hopper_g == 40.0


def test_pumps_rest_where_the_meal_says_so() -> None:
    plan = a_plan(meals=(a_meal(pump_pause_min=10.0),), horizon_days=1)
    assert book(plan).occasions[0].pump_paused


def test_meals_stand_in_order_of_day_and_hour() -> None:
    plan = a_plan(meals=(a_meal("late", times=(17.0,)), a_meal("early", times=(9.0,))), horizon_days=3)
    order = [(meal.day, meal.hour) for meal in book(plan).occasions]
    assert order == sorted(order)
