"""What stands in a proposed plan file beside each line."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from backreef.aquarium.dump import dump_plan
from backreef.judgement.verdict import Forecast
from backreef.planning.choices import Choice
from backreef.planning.facts import Facts
from backreef.planning.reasons import (
    plan_file,
)
from backreef.planning.writing import as_comment, commented, entry_id, water_gate, with_newcomers
from tests.forecast_world import a_holding_forecast
from tests.planning_parts import ON, a_coming, a_picked, a_proposal
from tests.planning_world import (
    a_candidate,
    a_choice,
    a_response,
    a_short_plan,
    a_wish,
    some_facts,
    the_catalogue,
)
from tests.unit.planning.loop_parts import real
from tests.unit.planning.test_words import PLAIN, found


def a_changed_plan(
    facts: Facts, picked: Any, change: Choice | None = None, forecast: Forecast | None = None
) -> str:
    plan = with_newcomers(a_short_plan(), picked.coming, the_catalogue())
    plan = plan if change is None else change.applied(plan)
    proposal = a_proposal(picked, plan=plan, text=dump_plan(plan), forecast=forecast or a_holding_forecast())
    return plan_file(proposal, found(proposal, facts=facts))


def comment_of(text: str, line_id: str) -> str:
    lines = text.split("\n")
    place = lines.index(f'id = "{line_id}"') - 1
    first = place
    while lines[first - 1].startswith("#"):
        first -= 1
    return " ".join(line.removeprefix("# ") for line in lines[first:place])


def test_each_line_that_was_chosen_has_its_reason_and_the_others_none() -> None:
    half = replace(a_short_plan().upkeep[0], share_frac=0.06)
    change = Choice(
        id="half", kind="export", words="half of it", change=lambda one: replace(one, upkeep=(half,))
    )
    other = a_choice("other")
    facts = some_facts(responses={one: a_response(minutes=-3.0) for one in ("half", "neon_goby", "other")})
    picked = a_picked(
        a_coming("neon_goby", 1, candidate=a_candidate(**PLAIN)),
        choices=(change, other, a_choice("unknown", "feeding")),
        ration_ratio=0.8,
        wishes=(a_wish("a goby", "neon_goby"),),
    )
    facts = replace(facts, responses={**facts.responses, "unknown": a_response()})
    text = a_changed_plan(facts, picked, change)
    assert comment_of(text, "proposed_neon_goby").startswith("1 × Goby, not wished for")
    assert comment_of(text, "gramma") == ""
    assert (
        comment_of(text, "wc_do") == "Proposed: half of it: 3 minutes a month less; nitrate hardly changes."
    )
    assert comment_of(text, "pellets").startswith(
        "Fed: as_planned, 0.6 g a day in all, which is 80% of the ration"
    )
    assert comment_of(text, "feeder") == ""
    heading = text.partition("\n\n")[0].replace("\n# ", " ")
    assert "Wish 'a goby' (weight 2): met." in heading
    assert "Wish 'a star' (weight 1): not counted, as it names no animal" in heading
    assert "Wish 'a snail' (weight 1): not met." in heading
    assert "Changed: half of it" in heading
    assert "each comes only when its gate is open" in heading
    assert "Bought" not in heading
    rich = a_changed_plan(replace(facts, money=9.0, prices={"neon_goby": 4.0}), picked)
    assert "Bought for 4 of 9" in rich


def test_a_feeder_that_no_choice_speaks_of_is_told_by_its_portions() -> None:
    feeder = a_short_plan().devices[0]
    change = Choice(
        id="x", kind="device", words="x", change=lambda one: replace(one, devices=(replace(feeder, count=2),))
    )
    for ratio, said in ((0.8, "as_planned, in portions of 80% of what they were"), (1.0, "as_planned")):
        text = a_changed_plan(some_facts(), a_picked(ration_ratio=ratio), change)
        assert comment_of(text, "feeder") == f"Proposed: {said}."


def test_meals_sized_to_the_animals_are_told_so() -> None:
    by_need = Choice(
        id="x",
        kind="feeding",
        words="x",
        change=lambda one: replace(
            one,
            meals=(
                replace(one.meals[0], grams_as_fed=None, enough_for="growth"),
                replace(one.meals[0], id="b"),
            ),
        ),
    )
    text = a_changed_plan(some_facts(), a_picked(), by_need)
    assert comment_of(text, "pellets") == "Fed: as_planned, sized to the animals as the plan says."
    assert plan_file(a_proposal(a_picked(), text="as it is"), found()) == "as it is"


def test_newcomers_have_ids_of_their_own_a_gate_and_a_reason() -> None:
    plan = a_short_plan()
    taken = replace(plan.animals[0], id="proposed_neon_goby")
    plan = replace(plan, animals=(*plan.animals, taken, replace(taken, id="proposed_neon_goby_2")))
    assert entry_id("neon_goby", plan) == "proposed_neon_goby_3"
    assert entry_id("trochus", plan) == "proposed_trochus"
    goby = a_coming("neon_goby", 2, a_wish("one"), a_wish("two"), candidate=real("neon_goby"))
    snail = a_coming("trochus", 1, candidate=real("trochus"))
    made = with_newcomers(a_short_plan(), (goby, snail), the_catalogue()).animals[1:]
    gate = water_gate(a_short_plan())
    assert gate.count(" < ") == 2
    assert gate.lower().startswith("nitrate < ")
    assert [(one.count, one.arrives_on, one.gate) for one in made] == [
        (2, ON, gate),
        (1, ON, f"{gate} and film algae visible"),
    ]
    assert made[0].why == "for the wish: one; two"
    assert made[1].why == f"for the tank: {the_catalogue().species['trochus'].low_upkeep_reason}"


def test_comments_are_wrapped_and_keep_their_paragraphs() -> None:
    words = as_comment("one\n\n" + "word " * 40)
    lines = words.split("\n")
    assert lines[:2] == ["# one", "#"]
    assert all(len(line) <= 100 for line in lines)
    assert max(len(line) for line in lines) > 90
    assert lines[-1] == ""
    text = commented('[[animals]]\nid = "a"\n\n[[meals]]\nid = "b"\n', {"a": "why"}, "head")
    assert text == '# head\n\n# why\n[[animals]]\nid = "a"\n\n[[meals]]\nid = "b"\n'
