"""How blocks of members become facts: with made-up blocks, so that every number can be followed by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from backreef.aquarium.plan import Plan
from backreef.planning import gather
from backreef.planning.arrivals import months_of
from backreef.planning.candidates import Candidate, Shortlist
from backreef.planning.choices import AT_NEED, Choice, a_device, choices_of
from backreef.planning.facts import Facts
from backreef.planning.gather import BASE, CROWD, LEAN, Later, arrival_day, facts_of, fed
from backreef.planning.numbers import number
from backreef.planning.problem import Problem, problem_of
from backreef.planning.responses import Limit, Measured
from backreef.schedule.tables import workload
from tests.planning_parts import near
from tests.planning_world import (
    NITRATE,
    a_choice,
    a_short_plan,
    a_wish,
    measured_base,
    some_facts,
    the_catalogue,
)

Blocks = dict[str, Plan]
GOBY = "neon_goby"


def a_problem(plan: Plan | None = None, *pins: str, **changes: Any) -> Problem:
    return replace(problem_of(plan or a_short_plan(), the_catalogue(), pinned=pins), **changes)


def listed(*species: str, least: int = 1, asked: str = "") -> Shortlist:
    found = tuple(
        Candidate(species=the_catalogue().species[one], least_count=least, most_count=6, cautions=())
        for one in species
    )
    return Shortlist(candidates=found, quarrels=(), refused=(), asked_only=frozenset({asked} - {""}))


def nitrate(level: float) -> dict[str, np.ndarray[Any, np.dtype[np.float64]]]:
    return dict.fromkeys((NITRATE.name,), np.full(8, level))


@pytest.fixture
def marched(monkeypatch: pytest.MonkeyPatch) -> Iterator[Blocks]:
    """What was asked to be marched: the base eats 0.1 g of 1 g and holds 10 mg/L in 30 minutes a month.

    A block with one thing more takes a minute and 2 mg/L more, and a newcomer of it eats 0.05 g.
    """
    asked: Blocks = {}

    def march(plans: Mapping[str, Plan], *_: object, **options: Any) -> dict[str, Measured]:
        asked.update(plans)
        found = {}
        for name in plans:
            more = 0.0 if name == BASE else 2.0
            one = measured_base(nitrate=10.0 + more, minutes=30.0 + more)
            eats = 0.4 if name == CROWD else 0.1
            found[name] = replace(
                one, eaten_g_per_d={f"new_{name}": 0.05}, eaten_by_all_g_per_d=eats, offered_g_per_d=1.0
            )
            options["tell"](len(found), len(plans))
        found_lean = found.get(LEAN)
        if found_lean is not None:
            found[LEAN] = replace(found_lean, water=nitrate(3.5))
        return found

    monkeypatch.setattr(gather, "measure_all", march)
    monkeypatch.setattr(gather, "limits_of", lambda *_: (NITRATE,))
    return iter([asked])


def gathered(marched: Iterator[Blocks], problem: Problem, found: Shortlist) -> tuple[Facts, Blocks]:
    told: list[tuple[str, int, int]] = []
    facts = facts_of(problem, (a_wish("goby", GOBY),), found, lambda *one: told.append(one))
    assert {phrase for phrase, *_ in told} <= {"what each choice does", "what mouths get"}
    assert told[0] == ("what each choice does", 1, told[0][2])
    return facts, next(marched)


def test_a_group_is_marched_whole_and_told_by_the_head(marched: Iterator[Blocks]) -> None:
    problem = a_problem()
    facts, blocks = gathered(marched, problem, listed(GOBY, least=2))
    added = [one for one in blocks[GOBY].animals if one.id == f"new_{GOBY}"]
    assert [(one.count, one.arrives_on) for one in added] == [(2, arrival_day(problem.kept))]
    told = facts.responses[GOBY]
    assert (told.water[NITRATE.name], told.minutes_per_month) == (1.0, 1.0), "half of what two do"
    assert told.eaten_g_per_d == 0.05


def test_what_the_whole_ration_does_follows_from_what_is_missing_of_it(marched: Iterator[Blocks]) -> None:
    # at 0.35 of the ration nitrate is 6.5 lower: of the whole ration 6.5 / 0.65
    facts, blocks = gathered(marched, a_problem(), listed(GOBY))
    assert facts.food_response.water[NITRATE.name] == near(10.0)
    assert blocks[LEAN].meals[0].grams_as_fed == near(number("lean_ratio") * 0.3)


def test_what_mouths_get_is_tried_with_all_that_are_wished_for_and_just_their_food(
    marched: Iterator[Blocks],
) -> None:
    # 0.1 g for who is there and twice 0.05 g for the pair: 0.2 of the gram that is offered; 0.4 g of 1 g is
    # eaten in that block
    facts, blocks = gathered(marched, a_problem(), listed(GOBY, "firefish", least=2, asked="firefish"))
    crowd = blocks[CROWD]
    assert [one.id for one in crowd.animals] == ["gramma", f"new_{GOBY}"]
    assert crowd.meals[0].grams_as_fed == near(0.2 * 0.3)
    assert facts.eaten_frac == near(0.4)
    assert facts.asked_only == {"firefish"}


def test_where_nobody_may_come_all_food_is_eaten(marched: Iterator[Blocks]) -> None:
    facts, blocks = gathered(marched, a_problem(), listed())
    assert (facts.eaten_frac, CROWD in blocks) == (1.0, False)


def test_the_ration_may_grow_by_half_or_as_far_as_all_would_need_it(marched: Iterator[Blocks]) -> None:
    # 20 steps are the ample ration: 30 are half as much again. All need 0.1 + 4 x 0.05 of 1 g x 0.4: 0.75,
    # a quarter more 0.9375, 18.75 steps, fewer than 30
    facts, _ = gathered(marched, a_problem(), listed(GOBY, least=4))
    assert facts.most_steps == 30
    # 0.1 + 12 x 0.05 = 0.7 of 0.4 g: 1.75, with a quarter more 2.1875, 43.75 steps
    many = replace(listed(GOBY).candidates[0], least_count=12)
    assert gathered_again(many).most_steps == 44


def gathered_again(one: Candidate) -> Facts:
    found = Shortlist(candidates=(one,), quarrels=(), refused=())
    return facts_of(a_problem(), (), found, None)


@pytest.mark.parametrize(("smallest_g", "least"), [(0.3, 20), (0.29, 20), (0.15, 10), (0.001, 1)])
def test_the_least_ration_is_what_the_feeder_can_give(
    marched: Iterator[Blocks], smallest_g: float, least: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gather, "least_ratio", lambda *_: smallest_g / 0.3)
    assert gathered(marched, a_problem(), listed())[0].least_steps == least


@pytest.mark.parametrize("pins", [("pellets",), ()])
def test_a_meal_that_is_pinned_or_sized_to_the_animals_stays_as_it_is(
    marched: Iterator[Blocks], pins: tuple[str, ...]
) -> None:
    plan = a_short_plan()
    if not pins:
        (meal,) = plan.meals
        plan = replace(plan, meals=(replace(meal, grams_as_fed=None, enough_for="growth"),))
    facts, _ = gathered(marched, a_problem(plan, *pins), listed())
    assert (facts.least_steps, facts.most_steps) == (20, 20)
    assert facts.fed_by_need == (not pins)


def test_keeper_and_prices_are_carried_over(marched: Iterator[Blocks]) -> None:
    plan = a_short_plan(minutes=77)
    plan = replace(plan, keeper=replace(plan.keeper, money=12.0))
    facts, _ = gathered(marched, a_problem(plan, prices={GOBY: 3.0}), listed(GOBY))
    assert (facts.budget_min_per_month, facts.money, facts.prices) == (77.0, 12.0, {GOBY: 3.0})
    assert facts.further_frac == workload().numbers["further_newcomers_frac"].value
    assert (facts.fed_by_need, facts.base.minutes_per_month) == (False, 30.0)


def test_choices_at_need_are_put_off_and_the_others_marched(marched: Iterator[Blocks]) -> None:
    facts, blocks = gathered(marched, a_problem(), listed())
    assert {one.id for one in facts.later} == {
        one.id for one in choices_of(fed(a_problem())[0], frozenset()) if one.id in AT_NEED
    }
    assert facts.later
    assert {one.id for one in facts.choices} <= set(blocks)
    assert not {one.id for one in facts.later} & set(blocks)


@pytest.mark.parametrize(
    ("water", "minutes", "answers"),
    [
        (0.05, 0.0, True),
        (0.049, 0.0, False),
        (-0.05, 0.0, True),
        (0.0, 0.5, True),
        (0.0, -0.5, True),
        (0.0, 0.49, False),
    ],
)
def test_a_choice_that_nothing_answers_to_is_left_out(water: float, minutes: float, answers: bool) -> None:
    # a five hundredth of the 25 mg/L between the bounds is 0.05 mg/L; half a minute a month is worth it too
    lamp = a_choice("lamp")
    changed = measured_base(nitrate=10.0 + water, minutes=30.0 + minutes)
    later = Later(problem=a_problem(), progress=None, known={"lamp": changed})
    facts = replace(some_facts(), later=(lamp,))
    found = later(facts)
    assert found.later == ()
    assert ([one.id for one in found.choices], "lamp" in found.responses) == (["lamp"] * answers, answers)
    assert GOBY in found.responses


def test_what_was_put_off_is_marched_once_for_all_searches(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[list[str]] = []
    told: list[str] = []

    def march(plans: Mapping[str, Plan], *_: object, tell: Callable[[int, int], None], **__: object) -> Any:
        asked.append(list(plans))
        tell(1, 1)
        return {name: measured_base(nitrate=5.0) for name in plans}

    monkeypatch.setattr(gather, "measure_all", march)
    later = Later(problem=a_problem(), progress=lambda phrase, *_: told.append(phrase))
    facts = replace(some_facts(), later=(a_choice("lamp"),))
    assert later(facts).responses["lamp"].water[NITRATE.name] == -5.0
    assert [one.id for one in later(facts).choices] == ["lamp"]
    assert (asked, told) == ([["lamp"]], ["what more export does"])


def test_a_way_of_feeding_that_the_rules_refuse_for_somebody_is_unfit(
    marched: Iterator[Blocks], monkeypatch: pytest.MonkeyPatch
) -> None:
    (meal,) = a_short_plan().meals
    by_hand = replace(a_short_plan(), meals=(replace(meal, by="hand", only_when_present=True),))

    def serious(plan: Plan, _: object) -> set[str]:
        there = {one.species for one in plan.animals}
        feeder = any(one.id == "proposed_feeder" for one in plan.devices)
        return {"always"} | ({"starves"} if feeder and GOBY in there else set())

    monkeypatch.setattr(gather, "_serious", serious)
    facts, blocks = gathered(marched, a_problem(by_hand), listed(GOBY, "trochus"))
    assert facts.unfit == {("feeder", GOBY)}
    assert [one.id for one in facts.feedings] == ["as_planned", "feeder"]
    assert "feeder" in facts.responses
    assert any(one.id == "proposed_feeder" for one in blocks["feeder"].devices)

    monkeypatch.setattr(
        gather, "_serious", lambda plan, _: {"kept"} if "proposed_feeder" in str(plan.devices) else set()
    )
    assert facts_of(a_problem(by_hand), (), listed(GOBY), None).unfit == {("feeder", "")}


def test_a_way_of_feeding_that_moves_a_pinned_meal_is_none(marched: Iterator[Blocks]) -> None:
    (meal,) = a_short_plan().meals
    by_hand = replace(a_short_plan(), meals=(replace(meal, by="hand", only_when_present=True),))
    base, ways = fed(a_problem(by_hand, "pellets"))
    assert base.meals == by_hand.meals
    assert [one.id for one in ways] == ["as_planned"]
    assert [one.id for one in fed(a_problem(by_hand))[1]] == ["as_planned", "feeder"]


def test_a_tank_that_is_old_enough_in_its_last_month_lets_an_animal_in() -> None:
    plan, catalogue = a_short_plan(), the_catalogue()
    goby = catalogue.species[GOBY]
    last = months_of(plan)[-1].on
    age = 12.0 + (last - plan.start_on).days / 30.4375
    for least, there in ((age - 0.001, True), (age + 0.001, False)):
        old = replace(goby, min_tank_age_months=replace(goby.min_tank_age_months, value=least))  # type: ignore[arg-type]
        found = gather.listed(
            plan, replace(catalogue, species={**catalogue.species, GOBY: old}), (a_wish("goby", GOBY),)
        )
        assert any(one.id == GOBY for one in found.candidates) is there
        told = [one for one in found.refused if one.species_id == GOBY]
        assert [way.words for one in told for way in one.ways_in] == (
            [] if there else ["wait 1 month longer before you plan it"]
        )
        assert all("1 month older" in one.why for one in told)


def test_only_who_is_named_is_told_what_would_let_it_in() -> None:
    # a firefish jumps, and this tank stands open
    plan = a_short_plan()
    plan = replace(plan, tank=replace(plan.tank, lid="open"))
    wish = a_wish("fire", "firefish", least=2)
    for named in (True, False):
        found = gather.listed(plan, the_catalogue(), (replace(wish, named=named),))
        (refused,) = (one for one in found.refused if one.species_id == "firefish")
        ways = [way for way in refused.ways_in if way.words == "a lid of glass"]
        assert len(ways) == named
        for way in ways:
            assert way.plan is not None
            assert way.plan.animals[-1].count == 2, "as many as the wish takes"


def test_nobody_comes_before_the_first_month_or_else_on_the_first_day() -> None:
    assert arrival_day(a_short_plan()) == months_of(a_short_plan())[0].on
    plan = a_short_plan()
    refuses = replace(plan.keeper, refuses=("acclimate",))
    assert arrival_day(replace(plan, keeper=refuses)) == date(2027, 1, 4)


def test_work_that_the_water_does_not_feel_is_not_marched() -> None:
    plan = a_short_plan()

    def without_change(old: Plan) -> Plan:
        return replace(old, upkeep=())

    def with_lamp(old: Plan) -> Plan:
        return replace(old, devices=(*old.devices, a_device("lamp", "light_led", {})))

    choices: list[Choice] = [
        replace(a_choice("oftener:x", "oftener"), change=with_lamp),
        replace(a_choice("lamp"), change=with_lamp),
        replace(a_choice("rarer:wc_do", "rarer"), change=without_change),
        a_choice("nothing", "rarer"),
    ]
    assert gather._work_only(plan, tuple(choices)) == ["oftener:x", "nothing"]  # noqa: SLF001


def test_a_quantity_without_a_bound_answers_to_nothing() -> None:
    ph = Limit(series="ph", label="pH", unit="", upper=False, bound=7.6, act=7.8, days=1)
    assert not gather._answers(  # noqa: SLF001
        replace(some_facts().food_response, water={NITRATE.name: 9.0, ph.name: 0.0}, minutes_per_month=0.0),
        (ph,),
    )
