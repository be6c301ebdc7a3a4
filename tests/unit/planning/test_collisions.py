"""What collides, on problems small enough to see it; and the frontier of the programme."""

from __future__ import annotations

import pytest

from backreef.planning.candidates import NOBODY, Quarrel, Refused, Shortlist
from backreef.planning.collisions import conflicts_of, minimal
from backreef.planning.facts import Facts
from backreef.planning.outlook import forced, frontier
from backreef.planning.plans import Conflict
from backreef.planning.ways import WayOut
from tests.planning_world import a_candidate, a_response, a_wish, measured_base, some_facts


def two(*, budget: float = 60.0, quarrel: bool = False) -> Facts:
    """Two animals of 20 minutes each, 14 of them for the day they come, beside 30 minutes of chores."""
    return some_facts(
        candidates=tuple(a_candidate(name, common_name=name) for name in ("goby", "rival")),
        quarrels=(Quarrel(first="goby", second="rival", what="goby and rival fight", rule="fights"),)
        if quarrel
        else (),
        wishes=(a_wish("a goby", "goby", weight=2.0), a_wish("a rival", "rival")),
        responses={name: a_response(minutes=20.0) for name in ("goby", "rival")},
        base=measured_base(minutes=30.0),
        budget_min_per_month=budget,
    )


def conflict(facts: Facts, *met: str) -> Conflict:
    (found,) = conflicts_of(facts, NOBODY, frozenset(met), 1)
    assert found.proved
    return found


def words(found: Conflict) -> set[str]:
    return {way.words for way in found.ways_out}


def test_two_that_fight_collide_with_each_other_and_with_nothing_else() -> None:
    found = conflict(two(budget=200.0, quarrel=True), "a goby")
    assert (found.wish, set(found.collides_with)) == (
        "a rival",
        {"the wish 'a goby'", "goby and rival fight"},
    )
    assert words(found) == {"give up 'a goby'", "only one of goby and rival"}


def test_minutes_that_do_not_suffice_are_told_as_how_many_more() -> None:
    # one takes 30 + 20 = 50 minutes of 55 x 0.98 = 53.9, both take 30 + 14 + 2 x 6 = 56: one more would do
    found = conflict(two(budget=55.0), "a goby")
    assert set(found.collides_with) == {"the wish 'a goby'", "the 55 minutes a month"}
    assert words(found) == {"give up 'a goby'", "1 more minute a month"}


def test_a_budget_under_the_chores_themselves_collides_alone() -> None:
    found = conflicts_of(two(budget=40.0), NOBODY, frozenset(), 1)
    assert {one.collides_with for one in found} == {("the 40 minutes a month",)}
    assert [words(one) for one in found] == [{"10 more minutes a month"}] * 2


def test_the_set_is_minimal() -> None:
    facts = two(budget=55.0, quarrel=True)
    found = conflict(facts, "a goby")
    # either the fight or the minutes alone keeps both from coming: one of them is blamed, never both
    assert len(found.collides_with) == 2


def test_a_wish_that_nobody_may_fulfil_is_told_with_the_rules_own_words() -> None:
    refused = Refused(species_id="tang", what="the display is too small", why="needs 180 cm", rule="space")
    facts = some_facts(wishes=(a_wish("a tang", "tang"),))
    (found,) = conflicts_of(facts, Shortlist(candidates=(), quarrels=(), refused=(refused,)), frozenset(), 1)
    assert found.collides_with == ("the display is too small: needs 180 cm",)
    assert found.ways_out == ()


def test_fewer_than_wished_for_is_a_way_out_where_some_would_fit() -> None:
    # 10 - 10 + 0.5 steps + 10 a head, 50 at most; a goby eats two steps: with g of them and the food they and
    # the old ones need, 0.5 (2 + 2 g) + 10 g <= 50 allows 4, and the wish asks for six
    facts = some_facts(
        candidates=(a_candidate(most=8, common_name="goby"),),
        wishes=(a_wish("a shoal", "neon_goby", least=6),),
        responses={"neon_goby": a_response(nitrate=10.0, eaten=0.1)},
    )
    found = conflict(facts)
    assert "2 fewer than wished for: 4 × goby" in words(found)
    assert "nitrate at most 50 mg/L NO3" in found.collides_with


def test_an_animal_that_is_refused_is_told_with_what_would_let_it_in() -> None:
    way = WayOut(words="a lid of glass")
    refused = Refused(species_id="tang", what="jumps", why="no lid", rule="jumps", ways_in=(way,))
    facts = some_facts(wishes=(a_wish("a tang", "tang"),))
    (found,) = conflicts_of(facts, Shortlist(candidates=(), quarrels=(), refused=(refused,)), frozenset(), 1)
    assert found.ways_out == (way,)


def test_nothing_collides_where_all_is_possible() -> None:
    from backreef.planning.programme import Programme

    assert minimal(Programme(variables=(), rows=()), (), 1) == ()


def test_the_frontier_rises_and_ends_at_all_that_is_possible() -> None:
    points = frontier(two(budget=80.0), 1)
    shares = [point.wishes_share for point in points]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert all(point.proved and point.minutes_per_month <= 80.0 for point in points)
    assert points[0].minutes_per_month == pytest.approx(30.0)


def test_forcing_an_animal_in_tells_what_it_costs() -> None:
    (rival,) = forced(two(budget=55.0), frozenset({"goby"}), 1)
    assert rival.why == "with it wishes of weight 1 cannot be met"
    (none,) = forced(two(budget=45.0), frozenset({"goby"}), 1)
    assert none.why == "with it no choice keeps all limits of the programme"


@pytest.mark.parametrize(
    ("none_held", "words"),
    [
        (False, "what it is wished for is met by others"),
        (True, "of the stocks that were simulated none held"),
    ],
)
def test_where_no_plan_held_nobody_is_told_that_others_meet_the_wish(none_held: bool, words: str) -> None:
    (rival,) = forced(two(budget=80.0), frozenset({"goby"}), 1, none_held=none_held)
    assert words in rival.why
