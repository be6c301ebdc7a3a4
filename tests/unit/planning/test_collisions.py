"""What collides, on problems small enough to see it; and the frontier of the programme."""

from __future__ import annotations

import pytest

from backreef.planning.candidates import Quarrel, Refused, Shortlist
from backreef.planning.collisions import conflicts_of, minimal
from backreef.planning.outlook import forced, frontier
from backreef.planning.plans import Conflict
from backreef.planning.stock import Facts
from tests.planning_world import a_candidate, a_response, a_wish, measured_base, some_facts

NOBODY = Shortlist(candidates=(), quarrels=(), refused=())


def two(*, budget: float = 60.0, quarrel: bool = False) -> Facts:
    """Two animals of 20 minutes each, 14 of them for the day they come, beside 30 minutes of chores."""
    return some_facts(
        candidates=(a_candidate("goby"), a_candidate("rival")),
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
    return found


def test_two_that_fight_collide_with_each_other_and_with_nothing_else() -> None:
    found = conflict(two(budget=200.0, quarrel=True), "a goby")
    assert (found.wish, set(found.collides_with)) == (
        "a rival",
        {"the wish 'a goby'", "goby and rival fight"},
    )
    assert "give up 'a goby'" in found.ways_out
    assert "only one of goby and rival" in found.ways_out


def test_minutes_that_do_not_suffice_are_told_as_how_many_more() -> None:
    # one takes 30 + 20 = 50 minutes of 55 x 0.98 = 53.9, both take 30 + 14 + 2 x 6 = 56: one more would do
    found = conflict(two(budget=55.0), "a goby")
    assert set(found.collides_with) == {"the wish 'a goby'", "the 55 minutes a month"}
    assert set(found.ways_out) == {"give up 'a goby'", "1 more minutes a month"}


def test_a_budget_under_the_chores_themselves_collides_alone() -> None:
    found = conflicts_of(two(budget=40.0), NOBODY, frozenset(), 1)
    assert {one.collides_with for one in found} == {("the 40 minutes a month",)}
    assert {one.ways_out for one in found} == {("10 more minutes a month",)}


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
