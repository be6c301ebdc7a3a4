"""Members that differ from the middle run in one number each, and what follows of a figure from them."""

from functools import cache

import numpy as np
import pytest

from backreef.judgement.course import Course, course_of
from backreef.judgement.elasticity import elasticities
from backreef.simulation.draws import Draws
from backreef.simulation.layout import LANES
from backreef.simulation.one_by_one import STEP_RATIO, OneByOne, moved_member, uncertain
from backreef.simulation.prepared import prepare
from backreef.simulation.tables import Range
from tests.unit.aquarium.plans import catalogue
from tests.unit.judgement.courses import FED, PAIR, SHORT, small_plan

NAMES = ("q_rk", "mu_F", "b_HB", "Imax_PC", "room_temperature", "ocellaris_clown weight_a", "K_CS", "mu_T")
NITRATE = "nitrate_mg_no3_per_l"


@cache
def moved() -> Course:
    prepared = prepare(small_plan(PAIR + FED, horizon=SHORT), catalogue())
    held = frozenset({prepared.layout.address("P_RK")})
    return course_of(prepared, OneByOne(NAMES), more_rows=held)


def test_each_number_is_moved_in_one_member_and_in_no_other() -> None:
    course = moved()
    for place, name in enumerate(NAMES[:4]):
        row = course.members.parameters[course.prepared.layout.parameter(name)]
        middle = row[0]
        found = np.flatnonzero(row != middle)
        assert found.tolist() == [moved_member(place)]
        assert row[found[0]] == pytest.approx(STEP_RATIO * middle, rel=1e-14)
    assert [moved_member(place) for place in (0, 6, 7)] == [1, 7, 9], "the first of each block is the middle"


def test_the_first_of_every_block_is_the_middle_run() -> None:
    course = moved()
    middle = course_of(course.prepared, Draws(1, 1, nominal=True)).series[NITRATE][-1, 0]
    assert course.series[NITRATE][-1, ::LANES] == pytest.approx(middle, rel=1e-4)


def test_a_stock_that_is_proportional_to_a_number_follows_it_one_to_one() -> None:
    course = moved()
    held = course.members.row(course.prepared.layout.address("P_RK"))[0]
    found = elasticities(held, {name: Range(value=1.0, low=0.5, high=2.0) for name in NAMES}, unit="mmol")
    assert found is not None
    slopes = {one.key: one.elasticity_ratio for one in found.found}
    assert slopes["q_rk"] == pytest.approx(1.0, abs=0.02), "what rock holds at first is its capacity's share"
    assert abs(slopes.get("mu_T", 0.0)) < 0.02


def test_powers_are_found_and_ends_follow_them() -> None:
    exponents = {f"n{place}": place - 4.0 for place in range(9)}
    figure = np.full(2 * LANES, 3.0)
    for place, exponent in enumerate(exponents.values()):
        figure[moved_member(place)] *= STEP_RATIO**exponent
    spans = {name: Range(value=2.0, low=1.0, high=0.0 if name == "n0" else 4.0) for name in exponents}
    found = elasticities(figure, spans, unit="g")
    assert found is not None
    assert (found.moved, found.middle) == (9, 3.0)
    assert {one.key: one.elasticity_ratio for one in found.found} == pytest.approx(
        {name: exponent for name, exponent in exponents.items() if exponent}
    )
    strongest = found.found[0]
    assert (strongest.key, strongest.high) == ("n0", None)
    assert strongest.low == pytest.approx(3.0 * 0.5**-4)


def test_a_figure_that_is_nought_at_the_middle_has_none() -> None:
    spans = {"one": Range(value=1.0, low=0.5, high=2.0)}
    assert elasticities(np.zeros(LANES), spans, unit="g") is None


def test_what_is_certain_is_not_among_the_numbers() -> None:
    numbers = uncertain(moved().prepared)
    assert set(NAMES) <= set(numbers)
    assert all(span.value and not span.low == span.value == span.high for span in numbers.values())
    assert not any(name.startswith("yellow_tang") for name in numbers), "no such fish lives here"
