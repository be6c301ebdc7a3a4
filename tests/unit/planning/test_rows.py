"""The rows of stage 1 as they stand before any solver: each coefficient worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from backreef.planning.candidates import Quarrel
from backreef.planning.facts import (
    ANYBODY,
    MARGIN,
    PINNED,
    Facts,
    heads,
    met,
    room,
    serves,
    some,
    steps,
    taken,
)
from backreef.planning.programme import Row
from backreef.planning.responses import Limit
from backreef.planning.stock import (
    FAR,
    ease_terms,
    level_of,
    margin_of,
    minutes_terms,
    money_terms,
    rooms_left,
    rooms_of,
    stock_programme,
    wish_terms,
)
from tests.planning_parts import near
from tests.planning_world import (
    NITRATE,
    a_candidate,
    a_choice,
    a_response,
    a_wish,
    measured_base,
    some_facts,
)

GOBY, FED = "neon_goby", "as_planned"
OXYGEN = Limit(series="oxygen", label="oxygen", unit="mg/L", upper=False, bound=4.0, act=6.0, days=1)
MONTHS = 730.0 / 30.4375


def rows(facts: Facts, rule: str) -> list[Row]:
    return [row for row in stock_programme(facts).rows if row.rule == rule]


def with_lamp(lamp: Any = None, **changes: Any) -> Facts:
    facts = some_facts(choices=(a_choice("lamp"),), **changes)
    return replace(
        facts, responses={**facts.responses, "lamp": lamp or a_response(nitrate=-3.0, minutes=4.0)}
    )


def test_a_level_is_that_of_the_worst_member_moved_by_what_was_learned() -> None:
    base = replace(
        measured_base(), water={NITRATE.name: np.array([8.0, 12.0]), OXYGEN.name: np.array([5.0, 7.0])}
    )
    dry = replace(a_response(), water={NITRATE.name: 10.0, OXYGEN.name: -1.0})
    facts = some_facts(
        base=base, food_response=dry, responses={GOBY: dry}, shifts={NITRATE.name: 3.0, OXYGEN.name: -0.5}
    )
    assert level_of(NITRATE, facts)[0] == 15.0
    assert level_of(OXYGEN, facts)[0] == 4.5


def test_water_is_moved_by_food_by_heads_and_by_choices() -> None:
    level, terms = level_of(NITRATE, with_lamp())
    assert level == 10.0
    assert terms == {taken(FED): -10.0, steps(FED): 0.5, taken("lamp"): -3.0, heads(GOBY): 1.0}
    (row,) = rows(with_lamp(), "water")
    assert (row.terms, row.high, row.low) == (terms, 40.0, -np.inf)


def test_another_way_of_feeding_has_a_response_of_its_own() -> None:
    ways = (a_choice(FED, "feeding"), a_choice("by_hand", "feeding"))
    facts = some_facts(feedings=ways)
    facts = replace(facts, responses={**facts.responses, "by_hand": a_response(nitrate=4.0, minutes=9.0)})
    _, terms = level_of(NITRATE, facts)
    assert (terms[taken("by_hand")], terms[steps("by_hand")]) == (-6.0, 0.5)
    assert minutes_terms(facts)[taken("by_hand")] == 9.0
    assert taken(FED) not in minutes_terms(facts)


@pytest.mark.parametrize(("felt", "rows_of_water"), [(0.05, 1), (0.049, 0), (-0.05, 1)])
def test_a_quantity_that_hardly_answers_has_no_row(felt: float, rows_of_water: int) -> None:
    # a five hundredth of the 25 mg/L between the two bounds is 0.05 mg/L
    facts = some_facts(responses={GOBY: a_response(nitrate=felt)}, food_response=a_response())
    assert len(rows(facts, "water")) == rows_of_water
    assert (NITRATE.name in rooms_of(facts)) == bool(rows_of_water)
    by_food = some_facts(responses={GOBY: a_response()}, food_response=a_response(nitrate=felt))
    assert len(rows(by_food, "water")) == rows_of_water


def test_minutes_of_a_month_leave_a_fiftieth_free_and_those_of_a_quarter_none() -> None:
    lamp = replace(a_response(minutes=4.0), quarter_min_per_month=6.0)
    base = replace(measured_base(minutes=30.0), quarter_min_per_month=35.0)
    month, quarter = rows(with_lamp(lamp, base=base, shifts={"minutes": 1.0, "quarter": 2.0}), "minutes")
    assert month.high == near(0.98 * 60.0 - 30.0 - 1.0)
    assert (quarter.terms, quarter.high) == ({taken("lamp"): 6.0}, 60.0 - 35.0 - 2.0)


def test_minutes_of_an_animal_are_those_of_its_group_and_the_first_day_counts_once() -> None:
    pair = replace(a_response(), minutes_per_month=3.0, arrival_min=48.0)
    alone = replace(a_response(), minutes_per_month=5.0, arrival_min=24.0)
    facts = some_facts(
        candidates=(a_candidate(GOBY, least=2), a_candidate("rival")), responses={GOBY: pair, "rival": alone}
    )
    assert facts.months == near(MONTHS)
    terms = minutes_terms(facts)
    assert terms[some(GOBY)] == near(2.0 * 3.0 - 0.7 * 48.0 / MONTHS)
    assert terms[some("rival")] == near(5.0 - 0.7 * 24.0 / MONTHS)
    assert terms[ANYBODY] == near(0.7 * 24.0 / MONTHS), "the shortest of the days may be the first"
    assert [(row.terms, row.low) for row in rows(facts, "first_day")] == [
        ({ANYBODY: 1.0, some(GOBY): -1.0}, 0.0),
        ({ANYBODY: 1.0, some("rival"): -1.0}, 0.0),
    ]


def test_money_is_for_heads_choices_and_what_comes_in_any_case() -> None:
    prices = {GOBY: 20.0, "lamp": 90.0, PINNED: 35.0, FED: 0.0}
    facts = with_lamp(money=200.0, prices=prices)
    (row,) = rows(facts, "money")
    assert (row.terms, row.high) == ({heads(GOBY): 20.0, taken("lamp"): 90.0}, 165.0)
    assert rows(with_lamp(prices=prices), "money") == []
    assert money_terms(replace(facts, prices={})) == {}


def test_food_that_reaches_mouths_is_what_they_eat_at_least() -> None:
    # a step is a twentieth of the gram, of which 0.8 reach mouths; each goby takes 0.1 g; half as much again
    (row,) = rows(some_facts(eaten_frac=0.8, hunger_ratio=1.5), "food")
    assert row.terms == {steps(FED): near(0.04), heads(GOBY): near(-0.15)}
    assert row.low == near(0.15)


def test_a_ration_lies_between_its_least_and_its_most_steps() -> None:
    ways = (a_choice(FED, "feeding"), a_choice("by_hand", "feeding"))
    facts = some_facts(
        feedings=ways, responses={**some_facts().responses, "by_hand": a_response()}, least_steps=3
    )
    (one,) = rows(facts, "feeding")
    assert (one.terms, one.low, one.high) == ({taken(FED): 1.0, taken("by_hand"): 1.0}, 1.0, 1.0)
    least, _ = rows(facts, "ration_least")
    assert (least.terms, least.low, least.high) == ({steps(FED): 1.0, taken(FED): -3.0}, 0.0, np.inf)
    most, _ = rows(facts, "ration_most")
    assert (most.terms, most.low, most.high) == ({steps(FED): 1.0, taken(FED): -40.0}, -np.inf, 0.0)


def test_groups_fights_and_wishes_are_rows_too() -> None:
    pair = Quarrel(first=GOBY, second="rival", what="fight", rule="fights")
    facts = some_facts(
        candidates=(a_candidate(GOBY, least=2, most=4), a_candidate("rival", most=1)),
        quarrels=(pair,),
        responses={one: a_response() for one in (GOBY, "rival")},
        wishes=(a_wish("pair", GOBY, "rival", least=2), a_wish("words")),
        asked_only=frozenset({"rival"}),
    )
    least, most = rows(facts, "group_least")[0], rows(facts, "group_most")[0]
    assert (least.terms, least.low) == ({heads(GOBY): 1.0, some(GOBY): -2.0}, 0.0)
    assert (most.terms, most.high) == ({heads(GOBY): 1.0, some(GOBY): -4.0}, 0.0)
    (peace,) = rows(facts, "peace")
    assert (peace.terms, peace.high) == ({some(GOBY): 1.0, some("rival"): 1.0}, 1.0)
    (wish,) = rows(facts, "wish")
    assert (wish.terms, wish.high) == ({met("pair"): 1.0, serves("pair", GOBY): -1.0}, 0.0)
    (number,) = rows(facts, "wish_number")
    assert (number.terms, number.high) == ({serves("pair", GOBY): 2.0, heads(GOBY): -1.0}, 0.0)
    (asked,) = rows(facts, "not_asked_for")
    assert (asked.about, asked.high) == ("rival", 0.0)
    assert wish_terms(facts) == {met("pair"): 1.0}
    names = {one.name: (one.low, one.high, one.whole) for one in stock_programme(facts).variables}
    assert (names[heads(GOBY)], names[some(GOBY)]) == ((0.0, 4.0, True), (0.0, 1.0, True))
    assert names[steps(FED)] == (0.0, 40.0, True)
    assert (names[MARGIN], names[room("food")]) == ((-FAR, 1.0, False), (-FAR, 1.0, False))
    assert (met("words") in names, serves("pair", "rival") in names) == (False, False)


def test_of_a_group_of_one_nothing_has_to_be_said() -> None:
    alone = replace(with_lamp(), choices=(replace(a_choice("lamp"), group="light"),))
    assert rows(alone, "one_of") == []
    two = tuple(replace(a_choice(name), group="light") for name in ("lamp", "more"))
    both = replace(alone, choices=two, responses={**alone.responses, "more": a_response()})
    (row,) = rows(both, "one_of")
    assert (row.about, row.terms, row.high) == ("light", {taken("lamp"): 1.0, taken("more"): 1.0}, 1.0)


def test_what_is_left_of_a_balance_is_measured_from_its_bound_to_where_it_is_at_ease() -> None:
    facts = with_lamp(base=measured_base(minutes=45.0), shifts={"minutes": 3.0})
    left, terms = rooms_of(facts)[NITRATE.name]
    assert left == near((50.0 - 10.0) / 25.0)
    assert (terms[heads(GOBY)], terms[taken("lamp")]) == (
        near(-1.0 / 25.0),
        near(3.0 / 25.0),
    )
    # a quarter of 60 minutes is ease; 12 are left
    left, terms = rooms_of(facts)["minutes"]
    assert left == near(12.0 / 15.0)
    assert terms[taken("lamp")] == near(-4.0 / 15.0)
    # a quarter of the ample gram, of which 0.8 reach mouths, is 0.2 g; the kept animals take twice 0.1 g
    left, terms = rooms_of(replace(facts, eaten_frac=0.8, hunger_ratio=2.0))["food"]
    assert left == near(-0.2 / 0.2)
    assert (terms[steps(FED)], terms[heads(GOBY)]) == (near(0.04 / 0.2), near(-0.2 / 0.2))
    assert "food" not in rooms_of(replace(facts, fed_by_need=True))


def test_what_is_left_of_a_lower_bound_grows_upwards() -> None:
    base = replace(measured_base(), water={OXYGEN.name: np.full(8, 5.0)})
    low = replace(a_response(), water={OXYGEN.name: -0.5})
    facts = some_facts(limits=(OXYGEN,), base=base, responses={GOBY: low}, food_response=low)
    left, terms = rooms_of(facts)[OXYGEN.name]
    assert (left, terms[heads(GOBY)]) == (near(0.5), near(-0.25))
    chosen = {heads(GOBY): 1.0, taken(FED): 1.0, steps(FED): 20.0}
    assert rooms_left(facts, chosen)[OXYGEN.name] == near(0.25)
    assert margin_of(facts, chosen) == near(0.25)
    assert margin_of(replace(facts, limits=()), {steps(FED): 20.0}) == 1.0, "more than ease is no wider"
    least, most = [row for row in rows(facts, "margin") if OXYGEN.name in row.about]
    assert (least.terms[room(OXYGEN.name)], least.terms[heads(GOBY)], least.high) == (1.0, 0.25, 0.5)
    assert (most.terms, most.high) == ({MARGIN: 1.0, room(OXYGEN.name): -1.0}, 0.0)


def test_a_tank_without_minutes_or_food_has_something_to_be_measured_against() -> None:
    facts = some_facts(budget_min_per_month=0.0, base=replace(measured_base(), offered_g_per_d=0.0))
    assert rooms_of(facts)["minutes"][0] == near(-30.0 / 0.25)
    assert rooms_of(facts)["food"][0] == near(-0.1 / (0.25 * 1e-3))


def test_balances_and_stretched_chores_count_alike_where_all_have_most_left() -> None:
    facts = replace(with_lamp(), choices=(a_choice("oftener:x", "oftener"), a_choice("lamp")))
    facts = replace(facts, responses={**facts.responses, "oftener:x": a_response()})
    names = [room(NITRATE.name), room("minutes"), room("food"), taken("oftener:x")]
    assert ease_terms(facts) == dict.fromkeys(names, 0.25)
