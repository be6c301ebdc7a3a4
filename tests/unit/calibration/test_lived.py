from __future__ import annotations

import numpy as np
import pytest

from backreef.calibration.deeds import Deeds, deeds_of
from backreef.calibration.evidence import course_of, rows_needed
from backreef.calibration.fit import lived_of, march_lived
from backreef.calibration.luck import LearnedDraws
from backreef.logbook.entries import Addition, Chore, Death, Entry, Feeding
from backreef.schedule.effects import WaterChange
from backreef.simulation.ensemble import Members
from backreef.simulation.lived import Lived, cut_short
from backreef.simulation.trajectories import rows_of_series
from tests.reconcile_world import SMALL, entry, small_plan
from tests.twins import LANES
from tests.unit.aquarium.plans import catalogue, plan_of

DAYS, KNOWN = 40, 20
NITRATE = "nitrate_mg_n_per_l"


def deeds(*entries: Entry) -> Deeds:
    return deeds_of(entries, small_plan(), catalogue(), last_day=KNOWN - 1)


def life(*entries: Entry) -> Lived:
    return lived_of(deeds(*entries), catalogue(), known_days=KNOWN, days=DAYS)


def marched(lived: Lived, draws: LearnedDraws | None = None) -> Members:
    layout = lived.prepared.layout
    rows = rows_needed(layout) | rows_of_series(lived.prepared)
    return march_lived(lived, draws or LearnedDraws(1, LANES), rows)


def nitrate(lived: Lived) -> np.ndarray:
    return course_of(NITRATE, lived.prepared.layout, marched(lived))


def heads(lived: Lived, animal: str) -> np.ndarray:
    members, slots = marched(lived), len(lived.prepared.cohorts)
    slot = next(s for s, cohort in enumerate(lived.prepared.cohorts) if cohort.entry.id == animal)
    address = lived.prepared.layout.slot_address
    return members.row(address(slot, "arrived", slots)) - members.row(address(slot, "lost", slots))


def test_a_march_cut_short_gives_the_same_days() -> None:
    lived = life()
    whole, short = nitrate(lived), nitrate(cut_short(lived, KNOWN))
    assert short.shape == (KNOWN, LANES)
    assert np.array_equal(whole[:KNOWN], short)


def test_the_same_deviates_give_the_same_days() -> None:
    lived, first = life(), LearnedDraws(1, LANES)
    before = marched(lived, first)
    again = marched(lived, LearnedDraws(99, LANES, first.learned))
    assert before.parameters == pytest.approx(again.parameters)


def test_who_died_is_known_and_nobody_else_does() -> None:
    count = heads(
        life(entry("d", 10.5, Death(count=2, name="snails", species="trochus", written=""))), "snails"
    )
    assert (count[:10] == 4).all()
    assert (count[10:KNOWN] == 2).all()


def test_double_food_leaves_more_nitrate() -> None:
    fed = [entry(f"f{day}", day + 0.75, Feeding(portion_ratio=3.0, written="")) for day in range(KNOWN)]
    assert (nitrate(life(*fed))[-1] > nitrate(life())[-1]).all()


def test_a_feeding_changes_the_meal_next_to_it_and_keeps_those_left_out() -> None:
    planned = lived_of(deeds(), catalogue(), known_days=KNOWN, days=DAYS).prepared.keeper
    nothing = deeds(entry("f", 3.75, Feeding(portion_ratio=0.0, written=""))).alter(planned)
    changed = [
        (one.day, two.food_g)
        for one, two in zip(planned.meals.occasions, nothing.meals.occasions, strict=True)
        if one.food_g != two.food_g
    ]
    assert changed == [(3, 0.0)]


def test_each_amount_of_a_day_is_a_feeding_of_its_own() -> None:
    planned = lived_of(deeds(), catalogue(), known_days=KNOWN, days=DAYS).prepared.keeper
    (meal,) = [one for one in planned.meals.occasions if one.day == 3]
    fed = [
        entry(f"f{hour}", 3 + hour / 24, Feeding(amount_g=0.1, food=food, written=""))
        for hour, food in ((9, None), (13, meal.food_id), (18, None))
    ]
    lived = deeds(*fed).alter(planned)
    assert [one.food_g for one in lived.meals.occasions if one.day == 3] == [0.1, 0.1, 0.1]
    assert {one.food_id for one in lived.meals.occasions} == {meal.food_id}


def test_animals_that_come_in_two_lots_are_all_there() -> None:
    coming = plan_of(
        SMALL + '[[animals]]\nid = "crew"\nspecies = "cerith"\ncount = 6\narrives_on = 2026-02-20\n'
    )
    came = [
        entry(f"a{day}", day, Addition(count=count, name="ceriths", animal="crew", written=""))
        for day, count in ((8.5, 2), (12.5, 3))
    ]
    died = entry("d", 15.5, Death(count=3, name="ceriths", animal="crew", written=""))
    found = deeds_of([*came, died], coming, catalogue(), last_day=KNOWN - 1)
    lots = [
        (one.count, (one.arrives_on - coming.start_on).days) for one in found.plan.animals if one.arrives_on
    ]
    assert lots == [(2, 8), (3, 12)]
    assert len(found.deaths) == 3


def test_a_logged_water_change_stands_for_the_planned_one() -> None:
    logged = entry("c", 15.5, Chore(task="wc_do", share_frac=0.3, written=""))
    done = [
        (chore.done_day, chore.effect)
        for chore in life(logged).prepared.keeper.chores
        if isinstance(chore.effect, WaterChange) and chore.done_day is not None
    ]
    assert (15, WaterChange(share_frac=0.3)) in done
    planned = [day for day, effect in done if effect != WaterChange(share_frac=0.3)]
    assert planned
    assert all(abs(day - 15) > 7 for day in planned)


def test_animals_that_came_are_there() -> None:
    came = entry("a", 8.5, Addition(count=3, name="snails", species="trochus", written=""))
    lived = life(came)
    assert [one.count for one in lived.prepared.plan.animals] == [2, 4, 3]
    assert (heads(lived, "trochus_0log")[9:KNOWN] == 3).all()


@pytest.mark.parametrize(
    ("what", "why"),
    [
        (Feeding(food="nori", amount_g=1.0, written=""), "the plan does not feed it"),
        (Death(count=1, name="eel", written=""), "no such animals"),
        (Addition(count=1, name="thing", written=""), "which species"),
        (Chore(task="no_such_task", written=""), "does not notice"),
    ],
)
def test_what_cannot_enter_is_said(what: Feeding | Death | Addition | Chore, why: str) -> None:
    assert why in deeds(entry("x", 5.5, what)).told[0].left_out
