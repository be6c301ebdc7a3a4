"""What a broken plan teaches, each lesson by hand: bounds that move, more food, choices that end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import pytest

from backreef.judgement.verdict import Finding, Forecast
from backreef.planning.choices import Choice
from backreef.planning.facts import Facts
from backreef.planning.lessons import Learner, _causes
from backreef.planning.plans import Picked
from backreef.planning.problem import problem_of
from backreef.planning.responses import CORALS, Limit
from tests.forecast_world import a_breaking_forecast
from tests.planning_parts import ON, a_coming, a_picked, a_proposal, a_solution, near
from tests.planning_world import (
    NITRATE,
    a_choice,
    a_response,
    a_short_plan,
    measured_base,
    some_facts,
    the_catalogue,
)

HIGH_NITRATE = f"water.{NITRATE.name}.harm"
GOBY_STARVES = "mouths.proposed_neon_goby.harm"
OXYGEN = Limit(series="oxygen", label="oxygen", unit="mg/L", upper=False, bound=4.0, act=6.0, days=1)


def a_learner(facts: Facts | None = None, **changes: Any) -> Learner:
    learner = Learner(problem=problem_of(a_short_plan(), the_catalogue()), facts=facts or some_facts())
    return replace(learner, **changes)


def finding(finding_id: str, **changes: Any) -> Finding:
    balance: Any = finding_id.partition(".")[0]
    template = a_breaking_forecast().findings[0]
    made = replace(template, id=finding_id, balance=balance, breaks=True, share_of_members=1.0, value=None)
    return replace(made, **changes)


def forecast(*findings: Finding) -> Forecast:
    return replace(a_breaking_forecast(), findings=findings)


def causes(*findings: Finding) -> list[str]:
    return [one.id for one in _causes(forecast(*findings))]


def learn(learner: Learner, picked: Picked, *ids: str) -> None:
    learner.learn(forecast(*(finding(one) for one in ids)), picked)


# --- which findings are lessons ---


def test_what_hits_half_as_many_members_as_the_gravest_is_a_lesson_and_less_is_not() -> None:
    gravest = finding(HIGH_NITRATE, share_of_members=0.5)
    half = finding("hands.minutes.harm", share_of_members=0.25)
    fewer = replace(half, share_of_members=0.24)
    assert causes(gravest, half) == [HIGH_NITRATE, "hands.minutes.harm"]
    assert causes(gravest, fewer) == [HIGH_NITRATE]


def test_what_does_not_break_is_a_lesson_only_where_nothing_does() -> None:
    near = finding("hands.minutes.harm", breaks=False)
    assert causes(finding(HIGH_NITRATE), near) == [HIGH_NITRATE]
    assert causes(near) == ["hands.minutes.harm"]
    assert causes(finding("water.x.act"), near) == ["hands.minutes.harm"], "a warning is no harm"
    assert causes(finding("hands.missed.acclimate")) == ["hands.missed.acclimate"]


def test_where_somebody_starved_the_ammonia_of_the_dead_is_no_cause() -> None:
    ammonia, other = finding("water.ammonia_gas.high.harm"), finding(HIGH_NITRATE)
    hungry = finding(GOBY_STARVES, breaks=False)
    assert causes(ammonia, hungry, other) == [GOBY_STARVES, HIGH_NITRATE]
    assert causes(ammonia, other) == [ammonia.id, HIGH_NITRATE]
    assert causes(other, hungry) == [HIGH_NITRATE], "nobody's ammonia: what broke is the cause"


# --- lessons of the water ---


def test_a_bound_is_missed_by_what_it_was_missed_by_and_a_twentieth_and_then_a_tenth() -> None:
    # 40 of 50 mg/L were counted, the bounds lie 25 apart: 10 missing and 1.25 beyond, then 10 and 2.5
    learner = a_learner()
    learn(learner, a_picked(), HIGH_NITRATE)
    assert learner.facts.shifts == {NITRATE.name: near(11.25)}
    learn(learner, a_picked(), HIGH_NITRATE)
    assert learner.facts.shifts == {NITRATE.name: near(11.25 + 12.5)}
    assert learner.missed == {NITRATE.name: 2}
    assert learner.facts.cuts == ()


def test_what_was_counted_beyond_its_bound_is_moved_by_the_twentieth_alone() -> None:
    learner = a_learner()
    learn(learner, a_picked(levels={NITRATE.name: 60.0}), HIGH_NITRATE)
    assert learner.facts.shifts == {NITRATE.name: near(1.25)}


def test_a_lower_bound_moves_the_other_way() -> None:
    # 5 was counted where 4 is the bound and 6 the act bound: 1 missing and 0.1 beyond, downwards
    low = measured_base().water[NITRATE.name] * 0.5
    facts = some_facts(
        limits=(OXYGEN,),
        base=replace(measured_base(), water={OXYGEN.name: low}),
        responses={"neon_goby": replace(a_response(), water={OXYGEN.name: -0.1})},
        food_response=replace(a_response(), water={OXYGEN.name: -0.1}),
    )
    learner = a_learner(facts)
    learn(learner, a_picked(levels={OXYGEN.name: 5.0}), f"water.{OXYGEN.name}.harm")
    assert learner.facts.shifts == {OXYGEN.name: near(-1.1)}


def test_what_no_choice_moves_ends_the_choice() -> None:
    solved = a_solution({"some:neon_goby": 1.0, "taken:as_planned": 1.0})
    learner = a_learner()
    learn(learner, a_picked(solved=solved), "water.salinity_psu.high.harm")
    (cut,) = learner.facts.cuts
    assert cut.terms == {"some:neon_goby": -1.0, "taken:as_planned": -1.0}
    assert (cut.rule, cut.about, cut.low) == ("not_again", "0", -1.0)


def with_lamp(*, nitrate: float) -> tuple[Facts, Choice]:
    lamp = a_choice("lamp")
    facts = some_facts(
        choices=(lamp,), responses={**some_facts().responses, "lamp": a_response(nitrate=nitrate)}
    )
    return facts, lamp


@pytest.mark.parametrize(
    ("counted", "nitrate", "cut"), [(37.0, -5.0, True), (38.0, -5.0, False), (37.0, 0.0, False)]
)
def test_a_plan_far_from_its_bound_shows_an_interplay_of_what_the_water_feels(
    counted: float, nitrate: float, cut: bool
) -> None:
    # half of the 25 between the bounds is 12.5: 13 off is far, 12 is not
    facts, lamp = with_lamp(nitrate=nitrate)
    learner = a_learner(facts)
    learn(learner, a_picked(choices=(lamp,), levels={NITRATE.name: counted}), HIGH_NITRATE)
    assert [(row.terms, row.high) for row in learner.facts.cuts] == (
        [({"taken:lamp": 1.0}, 0.0)] if cut else []
    )
    assert (NITRATE.name in learner.facts.shifts) is not cut


def test_what_was_put_off_is_measured_before_the_water_teaches() -> None:
    later = replace(some_facts(), later=(a_choice("lamp"),))

    def measure(facts: Facts) -> Facts:
        return replace(facts, later=(), money=7.0)

    learner = a_learner(later, measure=measure, sure=later)
    learn(learner, a_picked(), HIGH_NITRATE)
    assert (learner.facts.later, learner.facts.money) == ((), 7.0)
    assert learner.sure is not None
    assert learner.sure.money == 7.0
    unsure = a_learner(later, measure=measure)
    unsure.complete()
    assert (unsure.facts.money, unsure.sure) == (7.0, None)
    nothing = a_learner(measure=measure)
    nothing.complete()
    assert nothing.facts.money is None, "nothing was put off"
    unable = a_learner(later)
    unable.complete()
    assert unable.facts.later, "nobody can measure it"


# --- lessons of hunger ---


def test_more_food_is_counted_for_each_mouth_a_quarter_at_a_time_and_three_times() -> None:
    # 1 g is offered, 0.1 + 0.1 g are eaten: a ration of a fifth is as much as they need. At 0.4 of the ample
    # ration they were hungry, so twice their need, and a quarter more, is counted
    facts = some_facts(base=replace(measured_base(), eaten_g_per_d={"gramma": 0.1}))
    learner = a_learner(facts)
    starved = a_picked(a_coming(), ration_ratio=0.4)
    learn(learner, starved, "mouths.gramma.harm")
    assert learner.facts.hunger_ratio == near(0.4 * 1.0 / 0.2 * 1.25)
    learn(learner, starved, "mouths.gramma.harm")
    assert learner.facts.hunger_ratio == near(2.5 * 1.25)
    learn(learner, starved, "mouths.gramma.harm")
    assert learner.facts.cuts == ()
    learn(learner, starved, "mouths.gramma.harm")
    assert len(learner.facts.cuts) == 1, "a fourth time nothing is believed of food"


def test_food_is_counted_as_far_as_the_largest_ration_goes() -> None:
    # four steps of a twentieth are a fifth of the ample gram: once what the two eat, and no lesson after that
    facts = some_facts(base=replace(measured_base(), eaten_g_per_d={"gramma": 0.1}), most_steps=6)
    learner = a_learner(facts)
    learn(learner, a_picked(a_coming(), ration_ratio=0.3), "mouths.gramma.harm")
    assert learner.facts.hunger_ratio == near(1.5)
    learn(learner, a_picked(a_coming(), ration_ratio=0.3), "mouths.gramma.harm")
    assert (learner.facts.hunger_ratio, len(learner.facts.cuts)) == (near(1.5), 1)


def test_several_that_go_hungry_are_one_lesson() -> None:
    facts = some_facts(base=replace(measured_base(), eaten_g_per_d={"gramma": 0.1, "tang": 0.1}))
    learner = a_learner(facts)
    learn(learner, a_picked(a_coming(), ration_ratio=0.4), "mouths.gramma.harm", "mouths.tang.harm")
    assert learner.hungry == {"gramma": 1}


def test_meals_sized_to_the_animals_teach_nothing_of_food() -> None:
    learner = a_learner(some_facts(fed_by_need=True))
    learn(learner, a_picked(a_coming(), ration_ratio=0.4), GOBY_STARVES)
    assert (learner.facts.hunger_ratio, len(learner.facts.cuts)) == (1.0, 1)


def test_who_lives_from_what_food_grows_is_fed_by_more_for_all() -> None:
    # 0.6 of the ample ration and a quarter more are 0.75: fifteen steps of a twentieth
    facts = some_facts(base=replace(measured_base(), eaten_g_per_d={"urchin": 0.0}))
    learner = a_learner(facts)
    learn(learner, a_picked(ration_ratio=0.6), "mouths.urchin.harm")
    assert (learner.facts.least_steps, learner.facts.hunger_ratio) == (15, 1.0)
    bounded = a_learner(replace(facts, most_steps=12))
    learn(bounded, a_picked(ration_ratio=0.6), "mouths.urchin.harm")
    assert bounded.facts.least_steps == 12
    learn(bounded, a_picked(ration_ratio=0.6), "mouths.urchin.harm")
    assert (bounded.facts.least_steps, len(bounded.facts.cuts)) == (12, 1), "no more can be given"


def test_more_food_goes_half_of_the_way_to_the_leanest_plan_that_holds() -> None:
    # a plan holds at the ample ration, this one starved at 0.4: 0.7, fourteen steps, and not 0.5
    facts = some_facts(base=replace(measured_base(), eaten_g_per_d={"urchin": 0.0}))
    rich = a_proposal(a_picked(ration_ratio=1.2))
    learner = a_learner(facts, proposals=[rich, a_proposal(a_picked(ration_ratio=1.0))])
    learn(learner, a_picked(ration_ratio=0.4), "mouths.urchin.harm")
    assert learner.facts.least_steps == 14


@pytest.mark.parametrize(
    ("held", "other", "most"),
    [((), "neon_goby", 2), ((3,), "neon_goby", 3), ((3,), "rival", 2), ((5,), "neon_goby", 2)],
)
def test_a_newcomer_that_no_food_reaches_comes_in_the_number_that_holds_or_half(
    held: Sequence[int], other: str, most: int
) -> None:
    facts = some_facts(responses={one: a_response(eaten=0.0) for one in ("neon_goby", "rival")})
    learner = a_learner(facts, proposals=[a_proposal(a_picked(a_coming(other, one))) for one in held])
    learn(learner, a_picked(a_coming("rival"), a_coming("neon_goby", 4)), GOBY_STARVES)
    (cut,) = learner.facts.cuts
    assert (cut.terms, cut.high) == ({"heads:neon_goby": 1.0}, float(most))


def test_what_takes_a_milligram_of_what_is_given_is_reached_by_food() -> None:
    facts = some_facts(responses={"neon_goby": a_response(eaten=0.001)})
    learner = a_learner(replace(facts, base=replace(facts.base, eaten_g_per_d={"urchin": 0.001})))
    learn(learner, a_picked(a_coming(), ration_ratio=0.4), GOBY_STARVES)
    assert (learner.facts.cuts, learner.facts.hunger_ratio > 1.0) == ((), True)
    learn(learner, a_picked(a_coming(), ration_ratio=0.9), "mouths.urchin.harm")
    assert learner.facts.least_steps == 1, "what it eats is counted for it alone"


@pytest.mark.parametrize(("grows", "taught"), [(0.5, True), (0.0, False)])
def test_corals_that_shrink_ask_for_food_where_food_helps_them(grows: float, taught: bool) -> None:
    corals = Limit(series=CORALS, label="corals", unit="", upper=False, bound=0.5, act=0.8, days=1)
    water = {corals.name: measured_base().water[NITRATE.name] * 0.06}
    facts = some_facts(
        limits=(corals,),
        base=replace(measured_base(), water=water),
        responses={"neon_goby": replace(a_response(), water={corals.name: 0.0})},
        food_response=replace(a_response(), water={corals.name: grows}),
    )
    learner = a_learner(facts)
    learn(learner, a_picked(ration_ratio=0.6, levels={corals.name: 0.6}), "mouths.corals.harm")
    assert (learner.facts.least_steps == 15) is taught
    assert (corals.name in learner.facts.shifts) is taught
    assert (len(learner.facts.cuts) == 1) is not taught


# --- lessons of hands and days ---


def minutes(value: float | None) -> Callable[[Learner, Picked], None]:
    return lambda learner, picked: learner.learn(forecast(finding("hands.minutes.harm", value=value)), picked)


@pytest.mark.parametrize(("told", "over"), [(None, 3.0), (62.0, 3.0), (70.0, 10.0)])
def test_minutes_move_by_what_is_missing_and_by_a_twentieth_at_least(told: float | None, over: float) -> None:
    learner = a_learner()  # of 60 minutes a twentieth is 3
    minutes(told)(learner, a_picked(minutes_per_month=50.0))
    assert learner.facts.shifts == {"quarter": near(over)}
    minutes(told)(learner, a_picked(minutes_per_month=50.0))
    assert learner.facts.shifts == {"quarter": near(2.0 * over)}


def test_a_plan_that_fills_its_minutes_moves_both_bounds() -> None:
    learner = a_learner()  # more than 57 of 60
    minutes(70.0)(learner, a_picked(minutes_per_month=57.5))
    minutes(70.0)(learner, a_picked(minutes_per_month=57.5))
    assert learner.facts.shifts == {"quarter": near(20.0), "minutes": near(6.0)}


def test_days_of_arrival_are_taken_apart_once_and_only_where_two_kinds_share_one() -> None:
    together = a_picked(a_coming("a"), a_coming("b"))
    apart = a_picked(a_coming("a"), a_coming("b", on=ON.replace(month=5)))
    learner = a_learner()
    learn(learner, apart, "hands.missed.acclimate")
    assert (learner.one_a_day, len(learner.facts.cuts)) == (False, 1)
    learn(learner, together, "hands.missed.acclimate")
    assert (learner.one_a_day, len(learner.facts.cuts)) == (True, 1)
    learn(learner, together, "hands.missed.acclimate")
    assert len(learner.facts.cuts) == 2


def test_what_nobody_knows_an_answer_to_ends_the_choice() -> None:
    learner = a_learner()
    learn(learner, a_picked(), "hands.missed.wc_do")
    assert [row.about for row in learner.facts.cuts] == ["0"]
