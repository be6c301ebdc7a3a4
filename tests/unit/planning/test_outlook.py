"""The frontier and what forcing an animal in costs, counted by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from backreef.planning import outlook
from backreef.planning.candidates import Quarrel
from backreef.planning.facts import ANYBODY, Facts, heads, some, steps, taken
from backreef.planning.outlook import forced, frontier, minutes_of, nitrate_of
from tests.planning_parts import a_solution, near
from tests.planning_world import a_candidate, a_choice, a_response, a_wish, measured_base, some_facts


def two(**changes: Any) -> Facts:
    """A goby (3 of 4 wishes by weight, 6 minutes) and a rival (1 of 4, 12 minutes), 730 days."""
    facts = some_facts(
        candidates=tuple(a_candidate(name, common_name=name) for name in ("goby", "rival")),
        wishes=(a_wish("a goby", "goby", weight=3.0), a_wish("a rival", "rival")),
        responses={
            "goby": a_response(nitrate=2.0, minutes=6.0),
            "rival": a_response(nitrate=0.5, minutes=12.0),
        },
        further_frac=1.0,
    )
    return replace(facts, **changes)


def test_each_point_has_more_of_the_wishes_for_the_fewest_minutes() -> None:
    # nobody: 30 minutes; the rival alone (1 of 4) takes 12, so for a quarter the goby, who takes 6, comes
    points = frontier(two(), 1)
    assert [round(one.wishes_share, 6) for one in points] == [0.0, 0.75, 1.0]
    assert [one.minutes_per_month for one in points] == near([30.0, 36.0, 48.0])
    assert [one.species for one in points] == [(), ("goby",), ("goby", "rival")]
    assert all(one.proved for one in points)


def test_a_point_is_fed_and_stocked_with_the_least_and_its_nitrate_told() -> None:
    # one step of food is 0.5 of the 10 mg/L that all twenty bring, which are in the base; a goby is 2 mg/L
    nobody, goby, both = frontier(two(base=measured_base(eaten=0.05)), 1)
    assert nobody.nitrate_mg_no3_per_l == near(10.0 - 10.0 + 0.5)
    assert goby.nitrate_mg_no3_per_l == near(0.5 + 2.0)
    assert both.nitrate_mg_no3_per_l == near(0.5 + 2.0 + 0.5)


def test_of_choices_of_the_same_minutes_the_one_with_more_wishes_is_shown() -> None:
    free = {name: a_response() for name in ("goby", "rival")}
    points = frontier(two(responses=free), 1)
    assert [(one.minutes_per_month, one.wishes_share) for one in points] == [(30.0, 1.0)]


def test_a_wish_that_cannot_be_measured_is_no_part_of_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    words = a_wish("the same in ten years")
    facts = two()
    assert [one.wishes_share for one in frontier(replace(facts, wishes=(*facts.wishes, words)), 1)][-1] == 1.0
    monkeypatch.setattr(outlook, "count", lambda _: 2)
    assert len(frontier(facts, 1)) == 2
    assert frontier(two(budget_min_per_month=20.0), 1) == ()


def test_minutes_are_those_of_the_chores_of_lessons_and_of_what_is_chosen() -> None:
    # two arrivals at once: the first 100 minutes, the second 0.3 of them; the months of 730 days are 24
    months = 730.0 / 30.4375
    facts = two(
        further_frac=0.3,
        choices=(a_choice("lamp"),),
        responses={
            "goby": replace(a_response(), minutes_per_month=5.0, arrival_min=100.0),
            "rival": replace(a_response(), minutes_per_month=6.0, arrival_min=200.0),
            "lamp": a_response(minutes=-4.0),
        },
        shifts={"minutes": 2.5},
    )
    chosen = {some("goby"): 1.0, some("rival"): 1.0, ANYBODY: 1.0, taken("lamp"): 1.0}
    nothing = dict.fromkeys((some("goby"), some("rival"), ANYBODY, taken("lamp")), 0.0)
    assert minutes_of(facts, a_solution(nothing)) == near(32.5)
    alone = 0.7 * 100.0 / months
    assert minutes_of(facts, a_solution(chosen)) == near(
        32.5 + (5.0 - 0.7 * 100.0 / months) + (6.0 - 0.7 * 200.0 / months) + alone - 4.0
    )
    assert minutes_of(facts, a_solution({**nothing, some("goby"): 1.0, ANYBODY: 1.0})) == near(37.5)


def test_nitrate_is_added_up_and_unknown_where_it_has_no_bound() -> None:
    chosen = {heads("goby"): 2.0, heads("rival"): 1.0, steps("as_planned"): 10.0, taken("as_planned"): 1.0}
    # 10 with the ample ration, half of its 10 less, and 2 x 2 + 0.5
    assert nitrate_of(two(), a_solution(chosen)) == near(10.0 - 5.0 + 4.5)
    assert math.isnan(nitrate_of(two(limits=()), a_solution(chosen)))


def quarrelling(**changes: Any) -> Facts:
    pair = Quarrel(first="goby", second="rival", what="they fight", rule="fights")
    return two(quarrels=(pair,), **changes)


def test_who_is_left_out_is_told_the_weight_of_the_wishes_that_it_costs() -> None:
    (rival,) = forced(quarrelling(), frozenset({"goby"}), 1)
    assert (rival.species_id, rival.rule) == ("rival", "forced")
    assert rival.what == "rival: it costs other wishes"
    assert rival.why == "with it wishes of weight 2 cannot be met", "three for the goby, one for the rival"


def test_who_would_fit_is_told_the_time_it_takes() -> None:
    facts = two(wishes=(a_wish("any", "goby", "rival"),))
    (rival,) = forced(facts, frozenset({"goby"}), 1)
    assert rival.what == "rival: not needed"
    assert rival.why == "what it is wished for is met by others; it would take 12.0 minutes a month more"
    pair = replace(
        facts, candidates=(facts.candidates[0], a_candidate("rival", least=2, common_name="rival"))
    )
    (rival,) = forced(pair, frozenset({"goby"}), 1)
    assert "it would take 24.0 minutes a month more" in rival.why


@pytest.mark.parametrize(("minutes", "said"), [(0.05, "0.1 minutes a month"), (0.049, "hardly any time")])
def test_a_few_seconds_are_hardly_any_time(minutes: float, said: str) -> None:
    responses = {"goby": a_response(), "rival": a_response(minutes=minutes)}
    facts = two(wishes=(a_wish("any", "goby", "rival"),), responses=responses)
    (rival,) = forced(facts, frozenset({"goby"}), 1)
    assert said in rival.why


def test_who_is_only_asked_about_or_chosen_is_not_told_of() -> None:
    assert list(forced(two(), frozenset({"goby", "rival"}), 1)) == []
    assert list(forced(two(asked_only=frozenset({"rival"})), frozenset({"goby"}), 1)) == []
    assert list(forced(two(budget_min_per_month=20.0), frozenset(), 1)) == [], "nobody at all can come"
