"""Each rule of stage 1 on the smallest problem that shows it; what must come out is argued beside it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.planning.candidates import Quarrel
from backreef.planning.facts import Facts, heads, met, room, some, steps, taken
from backreef.planning.programme import Row, Solved, violated
from backreef.planning.responses import Limit
from backreef.planning.solver import solve
from backreef.planning.stock import RULES, stock_programme, wish_terms
from tests.planning_world import (
    NITRATE,
    a_candidate,
    a_choice,
    a_response,
    a_wish,
    best_by_trying_all,
    measured_base,
    several,
    some_facts,
)


def best(facts: Facts, **aim: float) -> Solved:
    terms = {name.replace("__", ":"): value for name, value in aim.items()} or wish_terms(facts)
    return solve(stock_programme(facts).aiming(terms))


def test_a_group_comes_whole_or_not_at_all() -> None:
    # it lives in three to five; as few heads as possible with one there are three, not one
    facts = some_facts(candidates=(a_candidate(least=3, most=5),))
    solved = best(facts, some__neon_goby=10.0, heads__neon_goby=-1.0)
    assert solved.count(heads("neon_goby")) == 3
    assert best(facts, heads__neon_goby=1.0).count(heads("neon_goby")) == 5


def test_of_two_that_quarrel_one_comes() -> None:
    # both wishes would count 1 + 2; as they quarrel, the heavier one alone is met
    facts = some_facts(
        candidates=(a_candidate(), a_candidate("rival")),
        quarrels=(Quarrel(first="neon_goby", second="rival", what="fight", rule="fights"),),
        wishes=(a_wish("goby", "neon_goby"), a_wish("other", "rival", weight=2.0)),
        responses={name: a_response(minutes=1.0) for name in ("neon_goby", "rival")},
    )
    solved = best(facts)
    assert (solved.count(some("neon_goby")), solved.count(some("rival")), solved.value) == (0, 1, 2.0)


def test_a_wish_for_a_pair_takes_two() -> None:
    facts = some_facts(wishes=(a_wish("pair", "neon_goby", least=2),))
    assert best(facts).count(heads("neon_goby")) >= 2
    alone = some_facts(candidates=(a_candidate(most=1),), wishes=(a_wish("pair", "neon_goby", least=2),))
    assert best(alone).value == 0.0


def test_a_wish_for_animals_together_takes_them_all() -> None:
    both = replace(a_wish("burrow", "neon_goby", "pistol"), together=True)
    goby, shrimp = a_candidate(), a_candidate("pistol")
    responses = {**some_facts().responses, "pistol": a_response(minutes=1.0)}
    facts = some_facts(candidates=(goby, shrimp), wishes=(both,), responses=responses)
    chosen = best(facts)
    assert (chosen.count(some("neon_goby")), chosen.count(some("pistol"))) == (1, 1)
    assert chosen.count(met("burrow")) == 1
    assert best(some_facts(candidates=(goby,), wishes=(both,))).count(met("burrow")) == 0
    enemies = Quarrel(first="neon_goby", second="pistol", what="fight", rule="fights")
    assert best(replace(facts, quarrels=(enemies,))).count(met("burrow")) == 0


def test_there_is_one_way_of_feeding_and_its_ration() -> None:
    ways = (a_choice("feeders", "feeding"), a_choice("by_hand", "feeding"))
    facts = some_facts(
        feedings=ways, responses={**some_facts().responses, "by_hand": a_response(minutes=-5.0)}
    )
    solved = best(facts, taken__by_hand=1.0)
    assert (solved.count(taken("by_hand")), solved.count(taken("feeders"))) == (1, 0)
    assert (solved.count(steps("feeders")), solved.count(steps("by_hand")) >= 1) == (0, True)


def test_a_way_of_feeding_that_starves_somebody_and_that_animal_exclude_each_other() -> None:
    ways = (a_choice("feeders", "feeding"), a_choice("by_hand", "feeding"))
    responses = {**some_facts().responses, "by_hand": a_response()}
    facts = some_facts(feedings=ways, responses=responses, unfit=frozenset({("by_hand", "neon_goby")}))
    assert best(facts).count(taken("feeders")) == 1
    never = replace(facts, unfit=frozenset({("by_hand", "")}))
    assert best(never, taken__by_hand=1.0).count(taken("by_hand")) == 0


def test_food_for_all_mouths_is_given() -> None:
    # kept animals take 0.1 g, each of four gobies 0.1 g: 0.5 g of the 1 g that 20 steps bring, so 10 steps
    facts = some_facts()
    solved = best(facts, heads__neon_goby=10.0, steps__as_planned=-1.0)
    assert (solved.count(heads("neon_goby")), solved.count(steps("as_planned"))) == (4, 10)
    half = replace(facts, eaten_frac=0.5)  # mouths get half of what is offered: twice as much is given
    assert best(half, heads__neon_goby=10.0, steps__as_planned=-1.0).count(steps("as_planned")) == 20
    hungry = replace(facts, hunger_ratio=2.0)
    solved = best(hungry, heads__neon_goby=10.0, steps__as_planned=-1.0)
    assert solved.count(steps("as_planned")) == 20


def test_meals_sized_to_the_animals_ask_for_no_ration() -> None:
    # ten steps would be needed for four gobies (above); here the meals grow with them
    facts = some_facts(fed_by_need=True, least_steps=1, most_steps=1)
    assert best(facts, heads__neon_goby=1.0).count(heads("neon_goby")) == 4
    assert best(replace(facts, fed_by_need=False), heads__neon_goby=1.0).status == "infeasible"


def test_nitrate_bounds_what_is_fed_and_who_comes() -> None:
    # 45 of 50 with the ample ration of 20 steps; a step less is 0.5 less, a goby 3 more and 2 steps of food;
    # with g gobies 2 + 2g steps are the least, so 45 - 10 + 0.5 (2 + 2g) + 3g <= 50 allows 3 (48), not 4 (52)
    facts = some_facts(
        base=measured_base(nitrate=45.0),
        responses={"neon_goby": a_response(nitrate=3.0, minutes=1.0, eaten=0.1)},
    )
    assert best(facts, heads__neon_goby=1.0).count(heads("neon_goby")) == 3
    exported = replace(
        facts,
        choices=(a_choice("water_change"),),
        responses={**facts.responses, "water_change": a_response(nitrate=-5.0, minutes=10.0)},
    )
    solved = best(exported, heads__neon_goby=1.0)
    assert (solved.count(heads("neon_goby")), solved.count(taken("water_change"))) == (4, 1)


def test_a_lower_bound_is_kept_from_below() -> None:
    oxygen = Limit(series="oxygen", label="oxygen", unit="mg/L", upper=False, bound=4.0, act=5.0, days=1)
    base = replace(measured_base(), water={oxygen.name: measured_base().water[NITRATE.name] * 0.5})
    goby = replace(a_response(), water={oxygen.name: -0.4})
    facts = some_facts(
        limits=(oxygen,),
        base=base,
        responses={"neon_goby": goby},
        food_response=replace(a_response(), water={oxygen.name: 0.0}),
    )
    # 5.0 with nobody new, 0.4 less for each: two leave 4.2, three would leave 3.8
    assert best(facts, heads__neon_goby=1.0).count(heads("neon_goby")) == 2


def test_a_lesson_moves_the_bound() -> None:
    facts = some_facts(base=measured_base(nitrate=45.0), shifts={NITRATE.name: 20.0})
    assert best(facts, heads__neon_goby=1.0).status == "infeasible"


def test_minutes_bound_the_kinds_and_not_the_heads() -> None:
    # 30 of 60 x 0.98 minutes; each kind takes at least 0.3 x 20 = 6, the first day 0.7 x 20 = 14 more:
    # 30 + 14 + 6 n fits 58.8 for n = 2 (56), not for 3 (62)
    names = ("one", "two", "three")
    facts = some_facts(
        candidates=tuple(a_candidate(name) for name in names),
        wishes=tuple(a_wish(name, name) for name in names),
        responses={name: a_response(minutes=20.0) for name in names},
    )
    assert best(facts).value == 2.0
    more = replace(facts, budget_min_per_month=70.0)
    assert best(more).value == 3.0


def test_the_margin_is_the_least_of_all_balances_and_ends_at_ease() -> None:
    # nitrate 10 - 10 + 0.5 x steps lies far under its act bound of 25, and food is ample: both are at ease.
    # a quarter of the 60 minutes, 15, is ease: with 51 taken 9 are left, 0.6 of it
    solved = best(some_facts(base=measured_base(minutes=51.0)), margin=1.0)
    assert solved.value == pytest.approx(0.6)
    assert solved.count(some("neon_goby")) == 0
    # 30 taken leave twice of what ease asks for, which is no wider margin
    assert best(some_facts(), margin=1.0).value == pytest.approx(1.0)


def test_food_is_at_ease_with_a_quarter_of_the_ample_ration_to_spare() -> None:
    # the ample ration brings 1.0 g, ease is 0.25 g; 0.1 g is eaten, so 0.35 g, seven steps, are at ease
    left = [
        best(some_facts(least_steps=count, most_steps=count), margin=1.0).chosen[room("food")]
        for count in (2, 4, 7, 9)
    ]
    assert left == pytest.approx([0.0, 0.4, 1.0, 1.0])


def test_of_two_ways_to_change_water_one_is_taken() -> None:
    by_hand, by_pump = (replace(a_choice(name), group="water change") for name in ("by_hand", "by_pump"))
    facts = some_facts(
        choices=(by_hand, by_pump),
        responses={**some_facts().responses, "by_hand": a_response(), "by_pump": a_response()},
    )
    solved = best(facts, taken__by_hand=1.0, taken__by_pump=1.0)
    assert solved.value == 1.0


def test_every_rule_says_in_a_sentence_what_it_asks() -> None:
    assert all(rule.__doc__ and rule.__doc__.strip().endswith(".") for rule in RULES)


def test_what_was_cut_does_not_come_back() -> None:
    cut = Row(rule="not_again", about="0", terms={some("neon_goby"): 1.0}, high=0.0)
    assert best(some_facts(cuts=(cut,))).count(met("goby")) == 0


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("count", [1, 2, 3, 4, 6])
def test_trying_all_plans_finds_nothing_better(count: int, seed: int) -> None:
    facts = several(count, seed=seed)
    programme = stock_programme(facts).aiming(wish_terms(facts))
    solved = solve(programme)
    assert solved.value == pytest.approx(best_by_trying_all(facts, programme), abs=1e-6)
    assert violated(programme, solved.chosen) == []


@pytest.mark.parametrize("seed", range(6))
def test_more_minutes_never_give_a_worse_best_plan(seed: int) -> None:
    values = [best(several(6, seed=seed, budget=budget)).value for budget in (52.0, 56.0, 60.0, 70.0, 90.0)]
    assert values == sorted(values)
