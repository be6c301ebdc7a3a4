from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from backreef.simulation.block import Schedule
from backreef.simulation.events import OPERATIONS, EventProgram
from backreef.simulation.layout import FORCINGS, packaged_layout
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.system import begins_as, spin_up_days_of
from backreef.simulation.tables import system_number
from backreef.simulation.timeline import LONGEST_H, Instants
from tests.unit.aquarium.plans import catalogue, plan_of
from tests.unit.runs.world import DAYS, MEAL, PAIR, SHORT, TANK, a_plan, prepared

TESTED = """\
[[upkeep]]
id = "tests"
task = "test_quick"
every = "7 days"
[[upkeep]]
id = "change"
task = "wc_do"
share = "10 %"
every = "7 days"
when = "nitrate > 10 mg/L NO3"
"""
NEWCOMERS = '[[animals]]\nid = "newcomers"\nspecies = "trochus"\ncount = 3\narrives_on = 2027-01-14\n'
RESTING = MEAL + 'pump_pause = "15 min"\n'
REFUGIUM = '[[devices]]\nkind = "refugium"\non_at = "20:00"\nhours = "10 h"\n'


def lengths_h(ready: Prepared) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.asarray(ready.timeline.schedule.segments[:, 0] * 24.0)


def forcing(ready: Prepared, name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.asarray(ready.timeline.schedule.segments[:, 1 + FORCINGS.index(name)])


def operations(schedule: Schedule, segment: int) -> list[str]:
    since, until = schedule.event_from[segment : segment + 2]
    return [OPERATIONS[number] for number in schedule.operations[since:until]]


def starts_h(ready: Prepared) -> list[float]:
    """Hour since the beginning of the timeline at which each segment starts."""
    lengths = lengths_h(ready)
    return [float(hour) for hour in np.concatenate([[0.0], np.cumsum(lengths)[:-1]])]


def segment_at(ready: Prepared, day: int, hour: float) -> int:
    since = (day + ready.timeline.spin_up_days) * 24.0 + hour
    return int(np.argmin(np.abs(np.array(starts_h(ready)) - since)))


@pytest.mark.parametrize("kind", ["established", "live_rock"])
def test_it_covers_the_horizon_and_the_days_before_it(kind: str) -> None:
    ready = prepared(PAIR + MEAL, kind=kind)
    before = ready.timeline.spin_up_days
    assert before == spin_up_days_of(ready.plan)
    assert lengths_h(ready).sum() / 24 == pytest.approx(DAYS + before)


def test_only_an_established_tank_has_a_past() -> None:
    assert spin_up_days_of(a_plan(kind="established")) == int(system_number("spin_up_d")) > 0
    assert [spin_up_days_of(a_plan(kind=kind)) for kind in ("live_rock", "seeded", "dry_rock")] == [0, 0, 0]


@pytest.mark.parametrize(
    ("age_months", "days", "begun"),
    [(0.0, 0, "live_rock"), (2.0, 60, "live_rock"), (4.0, 120, "established"), (36.0, 120, "established")],
)
def test_a_young_tank_lives_no_longer_before_the_first_day_than_it_is_old(
    age_months: float, days: int, begun: str
) -> None:
    plan = a_plan(kind="established")
    start = replace(plan.tank.start, age_months=age_months)
    aged = replace(plan, tank=replace(plan.tank, start=start))
    assert (spin_up_days_of(aged), begins_as(aged)) == (days, begun)


def test_no_segment_is_longer_than_three_hours_or_shorter_than_nothing() -> None:
    lengths = lengths_h(prepared(PAIR + MEAL + TESTED))
    assert lengths.max() <= LONGEST_H + 1e-9
    assert lengths.min() > 0


def test_every_day_is_written_once_and_the_last_at_the_end() -> None:
    schedule = prepared(PAIR + MEAL).timeline.schedule
    written = [
        segment for segment in range(len(schedule.segments)) if "write_day" in operations(schedule, segment)
    ]
    assert len(written) == DAYS == schedule.days
    assert written[-1] == len(schedule.segments) - 1


def test_every_midnight_comes_before_the_day_is_written() -> None:
    ready = prepared(PAIR + MEAL)
    schedule = ready.timeline.schedule
    for day in (1, 20):
        opening = operations(schedule, segment_at(ready, day, 0.0))
        assert opening.index("midnight") < opening.index("write_day")
    assert "write_day" not in operations(schedule, segment_at(ready, 0, 0.0))


def test_a_meal_stands_at_its_hour() -> None:
    ready = prepared(PAIR + MEAL)
    for hour in (8.0, 18.0):
        at = segment_at(ready, 3, hour)
        assert starts_h(ready)[at] == pytest.approx(3 * 24 + hour)
        assert "add_drawn" in operations(ready.timeline.schedule, at)


def test_food_stays_from_the_overflow_while_the_pump_rests() -> None:
    ready = prepared(PAIR + RESTING)
    overflow = forcing(ready, "overflow")
    at = segment_at(ready, 3, 8.0)
    assert (overflow[at], overflow[at + 1]) == (0.0, 1.0)
    assert forcing(prepared(PAIR + MEAL), "overflow")[:-1].all()


def test_light_ramps_within_its_segments() -> None:
    ready = prepared(PAIR)
    shape, slope, length = (forcing(ready, "day_shape"), forcing(ready, "day_slope"), lengths_h(ready) / 24)
    day = slice(0, 8 * 5)
    ends = shape + slope * length
    for (end, start), gap in zip(zip(ends[day], shape[day][1:], strict=False), length[day], strict=False):
        assert gap > 0
        assert end == pytest.approx(start, abs=1e-6)
    assert shape.max() == pytest.approx(1.0)
    assert shape.min() == 0.0


def test_the_refugium_is_lit_for_its_hours() -> None:
    ready = prepared(PAIR + REFUGIUM)
    lit = float((forcing(ready, "refugium_shape") * lengths_h(ready)).sum())
    assert lit == pytest.approx(10.0 * DAYS)


def test_the_room_is_warmest_in_late_july_and_coldest_in_january() -> None:
    winter = forcing(prepared(PAIR), "room_season")[:-1]
    assert winter.max() < -0.9
    july = TANK.format(kind="live_rock").replace("2027-01-04", "2027-07-10")
    summer = forcing(prepare(plan_of(july + SHORT), catalogue()), "room_season")[:-1]
    assert summer.max() == pytest.approx(1.0, abs=1e-3)


def test_conditional_chores_are_noted_once_each_and_only_within_the_horizon() -> None:
    ready = prepared(PAIR + MEAL + TESTED, kind="established")
    wanted = [
        chore.id
        for chore in ready.keeper.chores
        if chore.condition is not None and chore.done_day is not None and chore.merged_into is None
    ]
    assert sorted(ready.timeline.noted) == sorted(wanted)
    assert ready.timeline.schedule.notes == len(wanted) > 0
    schedule = ready.timeline.schedule
    numbers = [
        int(extra)
        for kind, extra in zip(schedule.operations, schedule.extras, strict=True)
        if OPERATIONS[kind] == "note"
    ]
    assert sorted(numbers) == list(range(len(wanted)))


def test_a_day_before_the_first_lives_like_one_of_the_horizon() -> None:
    ready = prepared(PAIR + MEAL, kind="established")
    before = -1
    same_day = (before + ready.timeline.spin_up_days) % DAYS
    for day in (before, same_day):
        assert "add_drawn" in operations(ready.timeline.schedule, segment_at(ready, day, 8.0))
    meals = [key for key in ready.timeline.drawn if key[0] == "portion"]
    assert len(meals) == 2 * (DAYS + ready.timeline.spin_up_days)


def test_the_first_day_begins_the_books() -> None:
    ready = prepared(PAIR + MEAL, kind="established")
    schedule = ready.timeline.schedule
    layout = packaged_layout()
    at = segment_at(ready, 0, 0.0)
    since, until = schedule.event_from[at : at + 2]
    targets = set(schedule.targets[since:until].tolist())
    assert layout.address("feed_N") in targets
    earlier = schedule.targets[:since].tolist()
    assert schedule.operations[:since].tolist().count(OPERATIONS.index("set")) == 0 or (
        layout.address("B_N2") not in earlier
    )


def test_animals_come_at_the_midnight_of_their_day() -> None:
    ready = prepared(NEWCOMERS)
    bodies = [key for key in ready.timeline.drawn if key[0] == "body"]
    assert bodies == [("body", "newcomers", "structure"), ("body", "newcomers", "reserve")]
    assert "add_drawn" in operations(ready.timeline.schedule, segment_at(ready, 10, 0.0))
    assert "add_drawn" not in operations(ready.timeline.schedule, segment_at(ready, 9, 0.0))


def test_instants_within_a_minute_are_one_and_keep_their_order() -> None:
    done: list[str] = []
    instants = Instants()
    for hour, name in ((8.0, "first"), (8.01, "second"), (8.5, "later")):
        instants.add(hour, lambda _program, name=name: done.append(name))  # type: ignore[misc]
    assert list(instants.at) == [8.0, 8.5]
    for action in instants.at[8.0]:
        action(EventProgram())
    assert done == ["first", "second"]


def test_a_meal_in_the_minute_in_which_light_turns_off_is_given() -> None:
    """9:20 and ten and a half hours is not 19:50 to the last digit; 24:00 is no hour of the day."""
    lit = TANK.format(kind="live_rock") + 'light_on_at = "09:20"\nlight_hours = "10.5 h"\n'
    meal = MEAL.replace('"08:00", "18:00"', '"09:20", "19:50", "24:00"')
    ready = prepare(plan_of(lit + meal + SHORT), catalogue())
    fed = [key for key in ready.timeline.drawn if key[0] == "portion"]
    assert len(fed) == 3 * DAYS


def test_segments_follow_each_other_without_a_gap() -> None:
    starts = starts_h(prepared(PAIR + MEAL + TESTED))
    assert all(later > sooner for sooner, later in pairwise(starts))
