"""What is taken down of a marched plan, on made-up days of two members, and what two of them differ by."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from backreef.judgement.course import Course
from backreef.judgement.rules import rule
from backreef.judgement.water import water_bands
from backreef.models.mouths import BOTTOM, FOOD_POOLS
from backreef.planning import responses
from backreef.planning.responses import (
    CORALS,
    Limit,
    held_level,
    limits_of,
    measure_all,
    measured_of,
    response,
    with_animals,
)
from backreef.schedule.tables import workload
from backreef.simulation.tables import animal_number
from backreef.units import DAYS_PER_MONTH
from tests.planning_parts import near
from tests.planning_world import NITRATE, a_short_plan, measured_base, the_catalogue

PER_G = animal_number("food_carbon_mmol_per_g")
NO3 = NITRATE.series


def a_course(days: int = 120, **changes: Any) -> Course:
    """Two members: 1 and 2 minutes a day, 3 on the last 91; 0.6 g of one food, 0.3 g of it eaten a day."""
    minutes = np.ones((days, 2))
    minutes[:, 1] = 2.0
    minutes[-91:, 0] = 3.0
    food = SimpleNamespace(food=SimpleNamespace(id="pellet"), carbon_mmol_per_g=PER_G)
    meals = [SimpleNamespace(food_id="pellet", food_g=0.2) for _ in range(3 * days)]
    marched = SimpleNamespace(
        eaten_mmol={
            **{pool: np.zeros(2) for pool in (*FOOD_POOLS, BOTTOM)},
            "Q_1": np.array([0.2, 0.1]) * PER_G * days,
            BOTTOM: np.array([0.1, 0.2]) * PER_G * days,
            "A_F": np.array([9.0, 9.0]),
        },
        count=np.full((days, 2), 2.0),
    )
    task = next(one for one, group in workload().group_of.items() if group == responses.NEWCOMERS)
    whole = SimpleNamespace(
        prepared=SimpleNamespace(
            plan=a_short_plan(),
            catalogue=the_catalogue(),
            keeper=SimpleNamespace(days=days, meals=SimpleNamespace(occasions=meals)),
            foods=[food],
            cohorts=[SimpleNamespace(entry=SimpleNamespace(id="gramma"))],
        ),
        members=SimpleNamespace(count=2),
        series={"coral_area_m2": np.zeros((days, 2)), **{one: np.ones((days, 2)) for one in every_series()}},
        courses=[marched],
        work=SimpleNamespace(
            per_day=minutes, by_task={task: np.array([40.0, 60.0]), "wc_do": np.array([7.0, 7.0])}
        ),
        broken_on={"mouths": np.array([-1, 0]), "water": np.array([-1, -1])},
    )
    return cast("Course", SimpleNamespace(**{**vars(whole), **changes}))


def every_series() -> set[str]:
    return {one.series for one in limits_of(a_short_plan(), the_catalogue())}


def test_minutes_are_the_mean_of_the_members_and_those_of_the_busiest_quarter_the_worst() -> None:
    assert int(rule("quarter_d")) == 91
    found = measured_of(a_course())
    # 29 + 3 x 91 = 302 minutes of one and 240 of the other in 120 days; 3 a day in the quarter of the first
    assert found.minutes_per_month == near((302.0 + 240.0) / 2.0 / 120.0 * DAYS_PER_MONTH)
    assert found.quarter_min_per_month == near(3.0 * DAYS_PER_MONTH)
    assert found.slowest_per_day.tolist() == [1.0] * 29 + [3.0] * 91
    assert found.arrival_min == 50.0, "of the tasks of an arrival alone"
    short = measured_of(a_course(days=40))
    assert short.quarter_min_per_month == near(3.0 * DAYS_PER_MONTH)


def test_food_is_told_in_dry_grams_for_all_and_for_each_animal_on_a_day_of_its_life() -> None:
    found = measured_of(a_course())
    assert found.offered_g_per_d == near(0.6)
    assert found.eaten_by_all_g_per_d == near(0.3)
    assert found.eaten_g_per_d == {"gramma": near(0.15)}
    gone = a_course()
    gone.courses[0].count[:] = 0.0
    gone.courses[0].count[0, 0] = 0.5
    # less than a day of one animal is counted as one
    assert measured_of(gone).eaten_g_per_d["gramma"] == near(0.3 * 120.0)


def test_members_that_break_in_any_balance_from_the_first_day_on_are_counted() -> None:
    assert measured_of(a_course()).broken_share == 0.5
    nobody = a_course(broken_on={"mouths": np.array([-1, -1])})
    assert measured_of(nobody).broken_share == 0.0


def test_water_is_held_as_long_as_its_bound_says_for_every_bound_there_is() -> None:
    course = a_course()
    (limit,) = (one for one in limits_of(a_short_plan(), the_catalogue()) if one.name == NITRATE.name)
    course.series[NO3][: limit.days, 0] = 70.0
    course.series[NO3][: limit.days - 1, 1] = 70.0
    assert limit.days > 1
    assert measured_of(course).water[NITRATE.name].tolist() == [70.0, 1.0]
    bands = {one.series: one for one in water_bands(a_short_plan())}
    both = {(one.series, one.upper) for one in limits_of(a_short_plan(), the_catalogue())}
    assert both == {
        (name, upper)
        for name, band in bands.items()
        for upper, bound in ((True, band.harm_high), (False, band.harm_low))
        if bound is not None
    }
    for one in limits_of(a_short_plan(), the_catalogue()):
        band = bands[one.series]
        assert (one.bound, one.act) == (
            (band.harm_high, band.act_high) if one.upper else (band.harm_low, band.act_low)
        )
        assert one.days == max(1, int(band.harm_days))


def test_a_bound_of_no_days_is_held_on_one() -> None:
    band = next(one for one in water_bands(a_short_plan()) if one.series == NO3)
    one = responses._limit(replace(band, harm_days=0), upper=True)  # noqa: SLF001
    assert one is not None
    assert one.days == 1


@pytest.mark.parametrize(
    ("bound", "act", "span"),
    [(50.0, 25.0, 25.0), (4.0, 6.0, 2.0), (50.0, None, 50.0), (-3.0, -3.0, 3.0), (0.0, None, 1.0)],
)
def test_a_response_is_measured_against_the_way_between_two_bounds(
    bound: float, act: float | None, span: float
) -> None:
    one = replace(NITRATE, bound=bound, act=act)
    assert one.span == span
    assert (one.name, replace(one, upper=False).name) == (f"{NO3}.high", f"{NO3}.low")


def test_the_corals_have_the_bounds_of_their_rule() -> None:
    corals: Limit = responses._corals()  # noqa: SLF001
    assert (corals.bound, corals.act) == (rule("coral_harm_ratio"), rule("coral_thin_ratio"))
    assert (corals.days, corals.upper, corals.series) == (int(rule("coral_days")), False, CORALS)


def test_a_response_is_what_two_blocks_differ_by_for_one_of_those_that_were_tried() -> None:
    before = replace(measured_base(), arrival_min=5.0, broken_share=0.25, quarter_min_per_month=40.0)
    after = replace(
        before,
        water={NITRATE.name: np.array([10.0] * 4 + [14.0] * 4)},
        minutes_per_month=36.0,
        quarter_min_per_month=49.0,
        arrival_min=53.0,
        broken_share=0.5,
        eaten_g_per_d={"x": 0.07},
    )
    found = response(before, after, per=2.0, who="x")
    assert (found.water[NITRATE.name], found.minutes_per_month, found.quarter_min_per_month) == (
        1.0,
        3.0,
        4.5,
    )
    assert (found.arrival_min, found.eaten_g_per_d, found.risk_share) == (48.0, 0.07, 0.25)
    assert response(before, after).eaten_g_per_d == 0.0
    assert response(before, after).minutes_per_month == 6.0


def test_held_for_one_day_is_the_worst_of_all() -> None:
    values = np.array([[1.0, 2.0], [5.0, 0.0]])
    assert held_level(values, days=1, upper=True).tolist() == [5.0, 2.0]
    assert held_level(values, days=1, upper=False).tolist() == [1.0, 0.0]


def test_what_differs_in_work_alone_is_reckoned_from_the_first_march(monkeypatch: pytest.MonkeyPatch) -> None:
    marched: list[str] = []
    plans = {name: replace(a_short_plan(), name=name) for name in ("base", "chore", "lamp")}

    def course(prepared: Any, draws: Any) -> Any:
        assert draws.seed == 7
        marched.append(prepared)
        return prepared

    monkeypatch.setattr(responses, "prepare", lambda plan, _: plan.name)
    monkeypatch.setattr(responses, "course_of", course)
    monkeypatch.setattr(responses, "measured_of", lambda one: f"marched {one}")
    monkeypatch.setattr(responses, "reworked", lambda one, plan, _: f"{plan.name} of {one}")
    told: list[tuple[int, int]] = []
    found: Any = measure_all(
        plans, the_catalogue(), seed=7, tell=lambda *one: told.append(one), work_only=["chore"]
    )
    assert found == {"base": "marched base", "chore": "chore of base", "lamp": "marched lamp"}
    assert sorted(marched) == ["base", "lamp"]
    assert told == [(1, 3), (2, 3), (3, 3)]
    alone: Any = measure_all({"base": plans["base"]}, the_catalogue(), seed=7)
    assert alone == {"base": "marched base"}
    assert with_animals(plans["base"], ()).animals == plans["base"].animals
