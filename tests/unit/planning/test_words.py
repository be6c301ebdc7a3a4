"""What is written beside a proposal, sentence by sentence."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from backreef.planning.facts import PINNED, Facts
from backreef.planning.plans import Proposal, Proposals, WhyNot
from backreef.planning.reasons import (
    animal_words,
    as_it_is_words,
    choice_words,
    money_words,
    reached_words,
    risk_words,
    rounds_words,
    verdict_words,
    why_not_words,
)
from backreef.planning.responses import Limit
from backreef.planning.ways import WayOut
from tests.forecast_world import a_breaking_forecast, a_holding_forecast
from tests.planning_parts import a_coming, a_picked, a_proposal, some_proposals
from tests.planning_world import (
    NITRATE,
    a_candidate,
    a_choice,
    a_response,
    a_wish,
    some_facts,
)

PLAIN: dict[str, Any] = {"social_rule": "", "common_name": "Goby"}
NITRITE = Limit(
    series="nitrite_mg_per_l", label="Nitrite", unit="mg/L", upper=True, bound=1.0, act=0.0, days=1
)


def told(number: int = 1, *wishes: Any, least: int = 1, most: int = 4, **response: Any) -> str:
    candidate = a_candidate(least=least, most=most, **PLAIN)
    facts = some_facts(responses={"neon_goby": replace(a_response(), **response)})
    return animal_words(a_coming("neon_goby", number, *wishes, candidate=candidate), facts)


def water(nitrate: float) -> dict[str, float]:
    return {NITRATE.name: nitrate}


def test_an_animal_is_told_with_whom_it_is_for() -> None:
    assert told().startswith("1 × Goby, not wished for: it helps the rest of the plan.")
    both = told(1, a_wish("a goby", "neon_goby"), a_wish("a fish", "neon_goby"))
    assert both.startswith("1 × Goby, for 'a goby' and 'a fish'.")


@pytest.mark.parametrize(
    ("number", "wished", "least", "most", "said"),
    [
        (3, 3, 1, 4, "3, because the wish takes so many."),
        (3, 3, 3, 4, "3, because it lives in at least so many."),
        (2, 1, 2, 4, "2, because it lives in at least so many."),
        (4, 1, 1, 4, "4, because more would not live in peace or find enough here."),
        (2, 1, 1, 4, ""),
        (1, 1, 1, 1, ""),
        (1, 1, 1, 4, ""),
    ],
)
def test_a_number_is_told_with_its_reason(number: int, wished: int, least: int, most: int, said: str) -> None:
    words = told(number, a_wish("w", "neon_goby", least=wished), least=least, most=most)
    assert ("because" in words) is bool(said)
    assert said in words


@pytest.mark.parametrize(
    ("number", "grams", "said"),
    [
        (1, 0.001, "It takes about 0.001 g of the food"),
        (1, 0.0009, "It takes next to nothing of the food"),
        (2, 0.0125, "Together they take about 0.025 g of the food"),
    ],
)
def test_what_it_eats_is_told_for_all_that_come(number: int, grams: float, said: str) -> None:
    assert said in told(number, eaten_g_per_d=grams)


@pytest.mark.parametrize(
    ("nitrate", "said"),
    [
        (0.0, "nitrate hardly changes"),
        (0.024, "nitrate hardly changes"),
        (0.025, "nitrate is 0.1 mg/L NO3 higher"),
        (-2.0, "nitrate is 4.0 mg/L NO3 lower"),
    ],
)
def test_what_two_do_to_nitrate_is_told(nitrate: float, said: str) -> None:
    assert f"at the same ration {said}" in told(2, water=water(nitrate))


@pytest.mark.parametrize(
    ("arrival", "said"),
    [
        (0.5, "the day of arrival takes about 0 minutes"),
        (0.49, "none of the keeper's"),
        (12.4, "about 12 minutes"),
    ],
)
def test_the_day_of_arrival_is_told_where_it_takes_time(arrival: float, said: str) -> None:
    assert said in told(arrival_min=arrival, minutes_per_month=0.0)


@pytest.mark.parametrize(
    ("care", "said"),
    [
        (0.51, ", and its care about 1 minute a month"),
        (0.49, ""),
        (4.0, ", and its care about 4 minutes a month"),
    ],
)
def test_care_is_what_is_left_of_the_minutes_of_a_group_after_its_arrival(care: float, said: str) -> None:
    # a pair: its arrival of 48 minutes is spread over the 24 months of the plan
    months = 730.0 / 30.4375
    words = told(2, least=2, minutes_per_month=(care + 48.0 / months + 1e-9) / 2.0, arrival_min=48.0)
    assert ("its care" in words) is bool(said)
    assert said in words


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, ""),
        (0.05, ""),
        (0.25, "; 2 more of 8 members tried break with it"),
        (-0.125, "; 1 fewer of 8 members tried break with it"),
    ],
)
def test_risk_is_told_by_the_member(share: float, said: str) -> None:
    assert risk_words(share) == said
    assert said in told(risk_share=share)


def test_customs_and_cautions_of_an_animal_are_told_last() -> None:
    candidate = a_candidate(common_name="Goby", social_rule="in pairs")
    assert animal_words(a_coming(candidate=candidate), some_facts()).endswith(" Kept: in pairs.")


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (0.5, "lamp: 0 minutes a month more"),
        (0.49, "lamp: hardly any time"),
        (-0.49, "lamp: hardly any time"),
        (-1.2, "lamp: 1 minute a month less"),
        (2.0, "lamp: 2 minutes a month more"),
    ],
)
def test_minutes_of_a_choice_are_told_where_they_are_felt(minutes: float, said: str) -> None:
    facts = some_facts(responses={"lamp": a_response(minutes=minutes)})
    assert choice_words(a_choice("lamp"), facts).startswith(f"{said}; nitrate hardly changes")


def test_care_that_is_taken_oftener_says_that_only_the_simulation_knows() -> None:
    facts = some_facts(responses={"more": a_response(minutes=3.0, nitrate=9.0)})
    words = choice_words(a_choice("more", "oftener"), facts)
    assert words == "more: 3 minutes a month more; what it does for the water is in the simulation alone"


@pytest.mark.parametrize(
    ("nitrite", "said"),
    [
        (0.05, "; nitrite at its highest is 0.05 mg/L higher"),
        (-0.05, "; nitrite at its highest is 0.05 mg/L lower"),
        (0.049, ""),
    ],
)
def test_what_a_choice_does_most_is_told_from_a_twentieth_of_the_way_between_its_bounds(
    nitrite: float, said: str
) -> None:
    response = replace(a_response(), water={NITRATE.name: 0.0, NITRITE.name: nitrite})
    facts = some_facts(limits=(NITRATE, NITRITE), responses={"lamp": response})
    assert choice_words(a_choice("lamp"), facts) == f"lamp: hardly any time; nitrate hardly changes{said}"
    assert choice_words(a_choice("lamp"), replace(facts, limits=())).endswith("hardly changes")


def test_nitrate_is_not_told_twice() -> None:
    facts = some_facts(responses={"lamp": a_response(nitrate=-9.0)})
    assert choice_words(a_choice("lamp"), facts) == "lamp: hardly any time; nitrate is 9.0 mg/L NO3 lower"


def test_why_somebody_is_not_there_is_told_with_costs_and_simulation() -> None:
    asked = WhyNot(species_id="x", name="Tang", what="not needed", costs=(), ways_in=(), share_holding=None)
    assert why_not_words(asked) == "Tang: not needed"
    full = replace(asked, costs=("+1.0 minutes", "1 wish less"), share_holding=0.75)
    assert why_not_words(full) == (
        "Tang: not needed; with it: +1.0 minutes, 1 wish less; "
        "simulated with it: holds in 75% of the members tried"
    )
    assert WayOut(words="a lid").told == "a lid (not simulated)"
    broken = WayOut(words="a lid", share_holding=0.5)
    assert broken.told == "a lid (simulated: does not hold, in 50% of the members tried)"


def found(*proposals: Proposal, facts: Facts | None = None, **changes: Any) -> Proposals:
    wishes = (a_wish("a goby", "neon_goby", weight=2.0), a_wish("a star"), a_wish("a snail", "trochus"))
    return some_proposals(*proposals, **{"wishes": wishes, "facts": facts, **changes})


def test_what_is_reached_is_told_by_the_aim() -> None:
    picked = a_picked(wishes=(a_wish("a goby", weight=2.0),), minutes_per_month=44.6, margin_share=0.25)
    one = a_proposal(picked, bound=2.5)
    assert reached_words(one, found()) == "wishes of weight 2 of 3; the programme's bound is 2.5"
    fewest = reached_words(replace(one, aim="fewest_minutes", bound=41.2), found())
    assert fewest.startswith(
        "45 minutes a month by the programme, whose bound is 41, with at least 50% of the wishes"
    )
    widest = reached_words(replace(one, aim="widest_margins", bound=0.5), found())
    assert widest.startswith("every balance keeps at least 25% of the way")
    assert widest.endswith(
        "with at least 66% of the wishes of the first plan by weight; the programme's bound is 50%"
    )


def test_what_is_bought_is_added_up() -> None:
    prices = {PINNED: 10.0, "as_planned": 5.0, "neon_goby": 20.0, "lamp": 90.0}
    picked = a_picked(a_coming("neon_goby", 2), choices=(a_choice("lamp"), a_choice("free")))
    facts = some_facts(money=200.0, prices=prices)
    assert money_words(a_proposal(picked), facts) == "Bought for 145 of 200, by the plan's own prices."
    assert money_words(a_proposal(picked), some_facts(prices=prices)) == ""


def test_rounds_and_verdict_are_told() -> None:
    assert (rounds_words(1), rounds_words(2)) == ("found in the first round", "found in round 2")
    forecast = replace(
        a_holding_forecast(), members=64, share_holding=0.953, share_low=0.87, share_high=0.98, seed=3
    )
    words = verdict_words(a_proposal(a_picked(), forecast=forecast))
    assert words.startswith("holds in 61 of 64 members (seed 3; 87% to 98%), ")
    broken = replace(a_breaking_forecast(), members=8, share_holding=0.5)
    assert verdict_words(a_proposal(a_picked(), forecast=broken)).startswith("breaks in 4 of 8 members")


def test_the_four_chores_that_take_most_are_named() -> None:
    broken = a_breaking_forecast()
    chores = [line for line in broken.minutes.by_chore if not line.look]
    assert len(chores) >= 4
    words = as_it_is_words(broken).split("most of them for: ")[1].split(". What")[0]
    minutes = [float(one) for one in re.findall(r"\((\d+)\)", words)]
    assert len(minutes) == 4
    assert minutes == sorted(minutes, reverse=True)


# --- the file ---
