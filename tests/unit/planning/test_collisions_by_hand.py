"""Ways out of what collides, each counted by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from backreef.planning.candidates import NOBODY, Quarrel, Refused, Shortlist
from backreef.planning.collisions import (
    NEAREST,
    Demand,
    bare,
    collision,
    conflicts_of,
    is_minimal,
    limit_demands,
    minimal,
    more_minutes_words,
)
from backreef.planning.facts import PINNED, Facts, heads, met, some
from backreef.planning.plans import Conflict
from backreef.planning.programme import Programme, Row, Variable
from backreef.planning.responses import Limit
from backreef.planning.ways import WayOut
from tests.planning_world import (
    a_candidate,
    a_choice,
    a_response,
    a_wish,
    measured_base,
    some_facts,
)

GOBY = "neon_goby"


def conflict(facts: Facts, *kept: str) -> Conflict:
    (found,) = conflicts_of(facts, NOBODY, frozenset(kept), 1)
    return found


def words(found: Conflict) -> list[str]:
    return [way.words for way in found.ways_out]


# --- minutes ---


def busy(**changes: Any) -> Facts:
    """A goby of 20 minutes a month beside 30 minutes of chores, 40 given."""
    return some_facts(
        responses={GOBY: replace(a_response(), minutes_per_month=20.0)},
        budget_min_per_month=40.0,
        **changes,
    )


@pytest.mark.parametrize(
    ("changes", "more"),
    [
        ({}, 10.0),
        ({"shifts": {"minutes": 2.5}}, 13.0),  # 52.5 less 40, up to a whole minute
        ({"base": replace(measured_base(minutes=30.0), quarter_min_per_month=57.0)}, 17.0),
        (
            {
                "base": replace(measured_base(minutes=30.0), quarter_min_per_month=49.0),
                "shifts": {"quarter": 9.0},
            },
            18.0,
        ),
    ],
)
def test_more_minutes_are_those_of_the_month_or_of_the_busiest_quarter(changes: Any, more: float) -> None:
    found = conflict(busy(**changes))
    (way,) = found.ways_out
    assert (way.words, way.budget_min_per_month) == (f"{more:.0f} more minutes a month", 40.0 + more)
    assert way.rows[0].about == "goby"
    assert found.collides_with == ("the 40 minutes a month",)


def test_a_minute_more_is_the_least_that_is_asked_for() -> None:
    # 39.5 of 40 minutes are within what is given, but a fiftieth has to stay free
    facts = replace(busy(), responses={GOBY: replace(a_response(), minutes_per_month=9.5)})
    assert words(conflict(facts)) == ["1 more minute a month"]
    assert more_minutes_words(12.4) == "12 more minutes a month"


def test_the_quarter_of_a_choice_that_is_needed_is_in_its_minutes() -> None:
    # the goby brings 45 mg/L to the 10 of the tank, and only the lamp takes 20 away: it wants 28 in a quarter
    facts = some_facts(
        responses={GOBY: a_response(nitrate=45.0), "lamp": a_response(nitrate=-20.0)},
        choices=(a_choice("lamp"),),
        food_response=a_response(),
        budget_min_per_month=35.0,
    )
    lamp = replace(a_response(nitrate=-20.0), quarter_min_per_month=28.0)
    facts = replace(facts, responses={**facts.responses, "lamp": lamp})
    found = conflict(facts)
    assert "23 more minutes a month" in words(found)  # 30 + 28 - 35


# --- money ---


def test_more_money_is_what_is_missing_with_all_that_comes_in_any_case() -> None:
    # 12 are spent in any case and two gobies cost 18.5 each: 49 of 30
    facts = some_facts(wishes=(a_wish("pair", GOBY, least=2),), money=30.0, prices={GOBY: 18.5, PINNED: 12.0})
    found = conflict(facts)
    assert found.collides_with == ("the 30 that may be spent",)
    assert words(found)[0] == "19 more to spend"
    assert not found.ways_out[0].simulable


# --- the other limits ---


def demands_of(facts: Facts) -> dict[str, WayOut | None]:
    programme = Programme(variables=(), rows=())
    return {
        one.words: one.way_out(programme) for one in limit_demands(facts, 1) if "minutes" not in one.words
    }


def test_every_limit_has_its_words_and_a_way_out_where_there_is_one() -> None:
    oxygen = Limit(series="oxygen", label="oxygen", unit="mg/L", upper=False, bound=4.5, act=6.0, days=1)
    base = measured_base()
    facts = some_facts(
        candidates=(a_candidate(GOBY, common_name="Goby"), a_candidate("rival", common_name="Rival")),
        quarrels=(Quarrel(first=GOBY, second="rival", what="they fight", rule="fights"),),
        responses={
            one: replace(a_response(), water={**a_response(nitrate=1.0).water, oxygen.name: -0.5})
            for one in (GOBY, "rival")
        },
        limits=(*some_facts().limits, oxygen),
        base=replace(base, water={**base.water, oxygen.name: base.water["nitrate_mg_no3_per_l.high"] * 0.6}),
        food_response=replace(a_response(), water={**a_response().water, oxygen.name: 0.0}),
        feedings=(a_choice("as_planned", "feeding"),),
        unfit=frozenset({("as_planned", "rival")}),
        cuts=(Row(rule="not_again", about="0", terms={some(GOBY): 1.0}, high=1.0),),
    )
    ways = demands_of(facts)
    assert set(ways) == {
        "they fight",
        "how the animals are fed",
        "the largest ration that was looked at",
        "nitrate at most 50 mg/L NO3",
        "oxygen at least 4.5 mg/L",
        "what the simulation or the rules refused",
    }
    told = {words: way.words for words, way in ways.items() if way is not None}
    assert told == {
        "they fight": "only one of Goby and Rival",
        "how the animals are fed": "a feeder that gives when nobody is there",
    }
    assert not any(way.simulable for way in ways.values() if way is not None)
    (minutes,) = (one for one in limit_demands(facts, 1) if "minutes" in one.words)
    assert [row.about for row in minutes.rows] == ["month", "quarter"]


def test_a_programme_without_its_limits_keeps_what_words_mean() -> None:
    wanted = Row(rule="wanted", about="goby", terms={met("goby"): 1.0}, low=1.0)
    facts = some_facts(cuts=(Row(rule="not_again", about="0", terms={}),), money=1.0)
    rules = {row.rule for row in bare(facts, (wanted,)).rows}
    assert rules == {
        "group_least",
        "group_most",
        "wish",
        "wish_number",
        "feeding",
        "ration_least",
        "ration_most",
        "first_day",
        "wanted",
    }


# --- sets that collide ---


def at_most(name: str, high: float) -> Demand:
    row = Row(rule=name, about=name, terms={"a": 1.0}, high=high)
    return Demand(words=name, rows=(row,), way_out=lambda _: None)


WANTS_TWO = Programme(
    variables=(Variable(name="a", high=5.0),), rows=(Row(rule="x", about="x", terms={"a": 1.0}, low=2.0),)
)


def test_of_several_that_collide_the_first_that_can_go_goes() -> None:
    found = minimal(WANTS_TWO, (at_most("one", 1.0), at_most("none", 0.0), at_most("three", 3.0)), 1)
    assert [one.words for one in found] == ["none"]
    assert minimal(WANTS_TWO, (at_most("two", 2.0),), 1) == ()


def test_a_set_is_minimal_where_without_any_one_of_it_the_rest_can_be_had() -> None:
    one, none, three = at_most("one", 1.0), at_most("none", 0.0), at_most("three", 3.0)
    assert is_minimal(WANTS_TWO, (one,), 1)
    assert not is_minimal(WANTS_TWO, (one, none), 1)
    assert not is_minimal(WANTS_TWO, (three,), 1)
    assert not is_minimal(WANTS_TWO, (), 1)


def test_what_is_looked_for_in_vain_beside_all_others_is_looked_for_beside_the_set() -> None:
    asked: list[int] = []

    def way_out(programme: Programme) -> WayOut | None:
        asked.append(len(programme.rows))
        return WayOut(words="half") if len(asked) == 2 else None

    facts = some_facts()
    wanted = (Row(rule="wanted", about="goby", terms={heads(GOBY): 1.0}, low=4.0),)
    few = Row(rule="wanted", about="few", terms={heads(GOBY): 1.0}, high=3.0)
    blamed = Demand(words="few", rows=(few,), way_out=way_out)
    other = Demand(
        words="other",
        rows=(Row(rule="wanted", about="other", terms={heads(GOBY): 1.0}, low=0.0),),
        way_out=lambda _: None,
    )
    smallest, ways = collision(facts, wanted, (other, blamed), 1)
    assert smallest == (blamed,)
    assert asked[0] == asked[1] + 1, "first beside the other demand, then without it"
    assert [(way.words, [row.about for row in way.rows]) for way in ways] == [("half", ["goby"])]


def test_the_lightest_wish_is_blamed_first_and_given_up_for_this_one() -> None:
    # only one of three fits: 30 + 20 of 60 minutes
    names = ("light", "heavy", "wanted")
    facts = some_facts(
        candidates=tuple(a_candidate(name) for name in names),
        wishes=tuple(
            a_wish(name, name, weight=weight) for name, weight in zip(names, (1.0, 3.0, 2.0), strict=True)
        ),
        responses={name: replace(a_response(), minutes_per_month=12.0) for name in names},
        budget_min_per_month=60.0,
    )
    found = conflict(facts, "light", "heavy")
    assert found.collides_with == ("the wish 'heavy'", "the wish 'light'", "the 60 minutes a month")
    assert words(found) == ["give up 'heavy'", "give up 'light'", "6 more minutes a month"]
    rows = {way.words: {row.about for row in way.rows} for way in found.ways_out}
    assert rows["give up 'light'"] == {"wanted", "heavy"}
    assert found.proved


def test_a_wish_of_which_nobody_is_there_is_told_with_the_three_nearest_reasons() -> None:
    way = WayOut(words="a lid of glass")
    refused = tuple(
        Refused(species_id=one, what=one, why="so", rule="space", ways_in=(way,))
        for one in ("a", "b", "c", "d", "x")
    )
    shortlist = Shortlist(candidates=(), quarrels=(), refused=refused)
    facts = some_facts(wishes=(a_wish("tang", "b", "c", "d", "x"), a_wish("words")))
    (found,) = conflicts_of(facts, shortlist, frozenset(), 1)
    assert (NEAREST, found.collides_with) == (3, ("b: so", "c: so", "d: so"))
    assert found.ways_out == (way,), "each way is said once"
    too_few = some_facts(candidates=(a_candidate(most=2),), wishes=(a_wish("three", GOBY, least=3),))
    assert conflicts_of(too_few, NOBODY, frozenset(), 1)[0].collides_with == ()
    enough = replace(too_few, candidates=(a_candidate(most=3),), budget_min_per_month=20.0)
    assert conflicts_of(enough, NOBODY, frozenset(), 1)[0].collides_with == ("the 20 minutes a month",)


# --- fewer ---


def shoal(least: int, nitrate: float, *more: str) -> Facts:
    """The tank bears 40 mg/L more; a head brings so much."""
    names = (GOBY, *more)
    return some_facts(
        candidates=tuple(a_candidate(name, most=8, common_name=name) for name in names),
        wishes=(a_wish("shoal", *names, least=least),),
        responses={name: a_response(nitrate=nitrate * (1.0 if name == GOBY else 0.8)) for name in names},
        food_response=a_response(),
    )


def test_fewer_of_the_kind_of_which_most_would_fit_are_a_way_out() -> None:
    # 40 / 10 are four; of the other kind 40 / 8 are five
    assert "2 fewer than wished for: 4 × neon_goby" in words(conflict(shoal(6, 10.0)))
    found = conflict(shoal(6, 10.0, "rival"))
    assert "1 fewer than wished for: 5 × rival" in words(found)
    way = next(way for way in found.ways_out if "fewer" in way.words)
    wanted, there = way.rows[:2]
    assert (wanted.terms, wanted.low, wanted.high) == ({heads("rival"): 1.0}, 5.0, 5)
    assert (there.terms, there.low) == ({some("rival"): 1.0}, 1.0)


def test_of_one_or_none_there_are_no_fewer() -> None:
    assert not any("fewer" in one for one in words(conflict(shoal(1, 45.0))))
    assert not any("fewer" in one for one in words(conflict(shoal(3, 45.0))))
    assert any("1 fewer than wished for: 1 × " in one for one in words(conflict(shoal(2, 40.0))))
