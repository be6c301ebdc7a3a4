"""What each aim asks of the programme, and what a solution of it means, counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.company.findings import CheckFinding
from backreef.planning import loop as looping
from backreef.planning.arrivals import months_of
from backreef.planning.choices import Choice
from backreef.planning.choosing import ANY, FISH, LACKING, OTHER
from backreef.planning.facts import ANYBODY, MARGIN, Facts, heads, met, some, steps, taken
from backreef.planning.loop import Loop
from backreef.planning.plans import Proposal
from backreef.planning.programme import Row, Solved
from backreef.planning.stock import stock_programme
from backreef.planning.writing import entry_name
from tests.forecast_world import a_holding_forecast
from tests.planning_parts import a_coming, a_picked, a_proposal, a_solution, near
from tests.planning_world import NITRATE, a_choice, a_response, a_wish, measured_base
from tests.unit.planning.loop_parts import a_problem, breaks, doors, holds, real, the_facts

GOBY, SNAIL, SHRIMP, FED = "neon_goby", "trochus", "skunk_cleaner", "as_planned"
MONTHS = 730.0 / 30.4375


def a_loop(facts: Facts | None = None, *found: Proposal, **changes: Any) -> Loop:
    loop = Loop(problem=a_problem(), facts=facts or the_facts(), doors=doors(holds), proposals=list(found))
    return replace(loop, **changes)


def first_plan(*species: str, **changes: Any) -> Proposal:
    """A plan of most wishes with some animals, one of each kind, at the ample ration."""
    coming = tuple(a_coming(candidate=real(one)) for one in species)
    return a_proposal(a_picked(*coming, **changes))


def rows(loop: Loop, aim: Any, rule: str, distance: int = ANY) -> list[Row]:
    return [row for row in loop.programme(aim, distance).rows if row.rule == rule]


def chosen(loop: Loop, **changes: float) -> dict[str, float]:
    nothing = {one.name: 0.0 for one in stock_programme(loop.facts).variables}
    return {
        **nothing,
        taken(FED): 1.0,
        steps(FED): 20.0,
        **{_name(name): one for name, one in changes.items()},
    }


def _name(name: str) -> str:
    return name.replace("__", ":")


# --- aims ---


def test_ties_prefer_who_is_easier_to_keep_fewer_of_them_less_food_and_the_heavier_wishes() -> None:
    ties = a_loop().ties()
    trouble = {one.id: sum(one.trouble) for one in a_loop().facts.candidates}
    assert trouble[SHRIMP] != trouble[SNAIL]
    for one, much in trouble.items():
        assert ties[some(one)] == near(-1e-3 * (1.0 + much))
        assert ties[heads(one)] == near(-1e-4)
    assert ties[steps(FED)] == near(-1e-4)
    assert (ties[met("goby")], ties[met("grazer")]) == (near(2e-5), near(1e-5))


def test_words_that_name_nothing_are_no_tie() -> None:
    facts = the_facts(wishes=(a_wish("words"),))
    assert met("words") not in a_loop(facts).ties()


def test_the_first_aim_is_the_weight_of_the_wishes_and_the_second_the_minutes() -> None:
    loop = a_loop()
    aim = loop.programme("most_wishes").aim
    assert {name: aim[name] for name in map(met, ("goby", "grazer", "shrimp"))} == {
        met("goby"): 2.0,
        met("grazer"): 1.0,
        met("shrimp"): 1.0,
    }
    fewest = loop.programme("fewest_minutes").aim
    # 3 minutes less all but 0.3 of 72 minutes of arrival over 24 months, and the tie
    assert fewest[some(GOBY)] == near(-(3.0 - 0.7 * 72.0 / MONTHS) + loop.ties()[some(GOBY)])
    assert fewest[ANYBODY] == near(-0.7 * 48.0 / MONTHS)
    widest = loop.programme("widest_margins").aim
    assert widest[MARGIN] == 1.0
    assert widest[some(GOBY)] == near(10.0 * loop.ties()[some(GOBY)])


def test_the_other_aims_keep_a_part_of_the_wishes_of_the_first_plan() -> None:
    wishes = (a_wish("one", weight=2.0), a_wish("two", weight=4.0))
    loop = a_loop(None, a_proposal(a_picked(wishes=wishes)))
    (half,) = rows(loop, "fewest_minutes", "wishes_kept")
    (two_thirds,) = rows(loop, "widest_margins", "wishes_kept")
    assert (half.low, two_thirds.low) == (3.0, near(0.66 * 6.0))
    assert half.terms == {met("goby"): 2.0, met("grazer"): 1.0, met("shrimp"): 1.0}


def test_without_a_first_plan_the_lightest_wish_is_kept() -> None:
    other = a_proposal(a_picked(), aim="fewest_minutes")
    assert rows(a_loop(None, other), "widest_margins", "wishes_kept")[0].low == 1.0
    nothing = the_facts(wishes=(a_wish("words", weight=0.5),))
    assert rows(a_loop(nothing), "fewest_minutes", "wishes_kept")[0].low == 0.0


def test_another_plan_lacks_a_fish_or_somebody_or_has_others() -> None:
    loop = a_loop(None, first_plan(GOBY, SNAIL))
    (fish,) = rows(loop, "most_wishes", "lacks_somebody", FISH)
    assert (fish.terms, fish.high) == ({some(GOBY): 1.0}, 0.0)
    (anybody,) = rows(loop, "most_wishes", "lacks_somebody", LACKING)
    assert (anybody.terms, anybody.high) == ({some(GOBY): 1.0, some(SNAIL): 1.0}, 1.0)
    assert rows(loop, "most_wishes", "lacks_somebody", OTHER) == []
    (other,) = rows(loop, "most_wishes", "other", OTHER)
    assert (other.terms, other.low) == ({some(GOBY): -1.0, some(SNAIL): -1.0, some(SHRIMP): 1.0}, -1.0)
    assert rows(loop, "most_wishes", "other", ANY) == []
    without_fish = a_loop(None, first_plan(SNAIL))
    assert rows(without_fish, "most_wishes", "lacks_somebody", FISH)[0].terms == {some(SNAIL): 1.0}


def chores(*kinds: Any) -> Facts:
    choices = tuple(a_choice(f"{kind}:x", kind) for kind in kinds)
    facts = the_facts(choices=choices, base=replace(measured_base(minutes=30.0), quarter_min_per_month=40.0))
    oftener = replace(a_response(minutes=2.0), quarter_min_per_month=7.0)
    return replace(facts, responses={**facts.responses, **{one.id: oftener for one in choices}})


def test_where_margins_count_chores_become_no_rarer_and_oftener_only_in_what_a_quarter_has_left() -> None:
    facts = replace(chores("rarer", "oftener", "export"), shifts={"quarter": 5.0})
    never, quarter = rows(a_loop(facts), "widest_margins", "chores_stay")
    assert (never.terms, never.high) == ({taken("rarer:x"): 1.0}, 0.0)
    # 90 minutes less a twentieth, less 40 of the busiest quarter and 5 that were missed once
    assert (quarter.terms, quarter.high) == ({taken("oftener:x"): 7.0}, near(85.5 - 45.0))
    # three come on one day of the first plan: 72 minutes and 0.3 of 48 and 10, a third of it in a month
    apart = a_coming(candidate=real(SHRIMP), on=date(2027, 6, 2))
    together = [a_coming(candidate=real(one)) for one in (GOBY, SNAIL, "firefish")]
    quick = replace(facts.responses[SNAIL], arrival_min=10.0)
    facts = replace(facts, responses={**facts.responses, "firefish": quick})
    loop = a_loop(facts, a_proposal(a_picked(*together, apart)))
    _, quarter = rows(loop, "widest_margins", "chores_stay")
    assert quarter.high == near(40.5 - (72.0 + 0.3 * 58.0) / 3.0)
    full = replace(facts, budget_min_per_month=30.0)
    assert rows(a_loop(full), "widest_margins", "chores_stay")[1].high == 0.0
    assert rows(a_loop(facts), "fewest_minutes", "chores_stay") == []


@pytest.mark.parametrize(("ratio", "least", "high"), [(0.6, 1, 12.0), (0.6, 14, 14.0), (1.2, 1, 24.0)])
def test_where_margins_count_there_is_no_more_food_than_the_first_plan_has(
    ratio: float, least: int, high: float
) -> None:
    loop = a_loop(the_facts(least_steps=least), a_proposal(a_picked(ration_ratio=ratio)))
    (row,) = rows(loop, "widest_margins", "no_more_food")
    assert (row.terms, row.high) == ({steps(FED): 1.0}, high)
    assert rows(a_loop(), "widest_margins", "no_more_food") == []
    others = a_proposal(a_picked(ration_ratio=ratio), aim="fewest_minutes")
    assert rows(a_loop(None, others), "widest_margins", "no_more_food") == []


def test_of_equal_margins_the_choice_that_leaves_most_on_average_is_taken() -> None:
    # the lamp takes nitrate away that nobody needs away, and half a minute that is there: both margins stay
    # at 1, so by what is left on average nothing is gained; a chore oftener counts as something that is left
    lamp, oftener = a_choice("lamp"), a_choice("oftener:x", "oftener")
    facts = the_facts(choices=(lamp, oftener), base=measured_base(nitrate=2.0, minutes=20.0))
    facts = replace(facts, responses={**facts.responses, "lamp": a_response(), "oftener:x": a_response()})
    solved = a_loop(facts).solved("widest_margins")
    assert solved is not None
    assert solved.count(taken("oftener:x")) == 1
    assert (round(solved.chosen[MARGIN], 5), solved.status) == (1.0, "optimal")


def test_what_was_put_off_is_measured_only_if_it_could_make_a_better_plan() -> None:
    measured: list[int] = []

    def measure(facts: Facts) -> Facts:
        measured.append(1)
        return replace(facts, later=())

    def asked(aim: Any, facts: Facts) -> int:
        measured.clear()
        a_loop(replace(facts, later=(a_choice("more"),)), measure=measure).solved(aim)
        return len(measured)

    easy = the_facts(base=measured_base(nitrate=2.0, minutes=10.0))
    tight = the_facts(base=measured_base(nitrate=50.0, minutes=10.0), wishes=(a_wish("goby", GOBY, least=3),))
    impossible = the_facts(base=measured_base(nitrate=99.0))
    assert [asked("most_wishes", one) for one in (easy, impossible)] == [0, 1]
    assert [asked("fewest_minutes", one) for one in (easy, tight, impossible)] == [0, 0, 1]
    assert [asked("widest_margins", one) for one in (easy, tight, impossible)] == [0, 1, 1]
    few = the_facts(base=measured_base(nitrate=2.0, minutes=89.5))
    assert asked("most_wishes", few) == 1, "not all wishes are met"


# --- what a solution means ---


def test_the_bound_is_what_no_plan_betters() -> None:
    loop = a_loop()
    found = chosen(
        loop, met__goby=1.0, met__shrimp=1.0, some__neon_goby=1.0, some__skunk_cleaner=1.0, anybody=1.0
    )
    open_end = a_solution(found, value=3.0, bound=3.5)
    below = replace(open_end, bound=2.0)  # ties may hide the bound below what was found
    assert loop.weight(open_end) == 3.0
    assert (loop.bound("most_wishes", open_end), loop.bound("most_wishes", below)) == (3.5, 3.0)
    # 30 minutes, 3 of the goby, 2 of the shrimp, of whose two days one is shared
    minutes = 30.0 + 3.0 + 2.0 - 0.7 * (72.0 + 48.0) / MONTHS + 0.7 * 48.0 / MONTHS
    assert loop.bound("fewest_minutes", below) == near(minutes)
    assert loop.bound("fewest_minutes", open_end) == near(minutes - 0.5)
    moved = a_loop(the_facts(shifts={"minutes": 4.0}))
    assert moved.bound("fewest_minutes", below) == near(minutes + 4.0)


def test_the_bound_of_a_margin_is_open_while_something_is_to_be_measured() -> None:
    facts = the_facts(base=measured_base(minutes=78.75))  # half of the 22.5 minutes that are ease
    loop = a_loop(facts)
    solved = a_solution(chosen(loop), value=1.0, bound=1.2)
    assert loop.bound("widest_margins", solved) == near(0.5 + 0.2)
    assert loop.bound("widest_margins", replace(solved, bound=0.9)) == near(0.5)
    assert a_loop(replace(facts, later=(a_choice("more"),))).bound("widest_margins", solved) == 1.0


def a_solved_pair(loop: Loop) -> Solved:
    return a_solution(
        chosen(
            loop,
            some__neon_goby=1.0,
            heads__neon_goby=2.0,
            some__skunk_cleaner=1.0,
            heads__skunk_cleaner=1.0,
            anybody=1.0,
            met__goby=1.0,
            met__shrimp=1.0,
            steps__as_planned=15.0,
        )
    )


def test_a_solution_becomes_animals_in_their_months_food_and_minutes() -> None:
    facts = the_facts(wishes=(a_wish("goby", GOBY, weight=2.0), a_wish("shrimp", GOBY, SHRIMP)))
    loop = a_loop(facts)
    picked = loop.picked("most_wishes", a_solved_pair(loop))
    assert picked is not None
    first = months_of(loop.problem.kept)[0].on
    assert [(one.candidate.id, one.count, one.on) for one in picked.coming] == [
        (GOBY, 2, first),
        (SHRIMP, 1, first),
    ]
    assert [[wish.id for wish in one.wishes] for one in picked.coming] == [["goby", "shrimp"], ["shrimp"]]
    assert (picked.ration_ratio, picked.feeding.id, picked.choices) == (0.75, FED, ())
    assert [wish.id for wish in picked.wishes] == ["goby", "shrimp"]
    # 30 less 15 of the 20 steps of 0.5, two gobies of 1 and a shrimp of 0.5
    assert picked.levels == {NITRATE.name: near(30.0 - 10.0 + 7.5 + 2.5)}
    minutes = 30.0 + 3.0 + 2.0 - 0.7 * 72.0 / MONTHS
    assert picked.minutes_per_month == near(minutes)


def test_several_days_of_arrivals_take_more_minutes_than_stage_one_counts() -> None:
    loop = a_loop(one_a_day=True)
    picked = loop.picked("fewest_minutes", a_solved_pair(loop))
    assert picked is not None
    assert len({one.on for one in picked.coming}) == 2
    # one day more takes the 0.7 of the longest arrival that sharing a day would have saved
    assert picked.minutes_per_month == near(30.0 + 3.0 + 2.0 - 0.7 * 72.0 / MONTHS + 0.7 * 72.0 / MONTHS)


def test_where_no_month_is_left_nothing_is_picked() -> None:
    loop = a_loop(the_facts(base=measured_base(minutes=89.9)))
    assert loop.picked("most_wishes", a_solved_pair(loop)) is None
    nobody = loop.picked("most_wishes", a_solution(chosen(loop)))
    assert nobody is not None
    assert nobody.coming == ()


def test_months_hold_the_chores_of_their_thirty_days_and_what_was_chosen_and_learned() -> None:
    per_day = np.arange(730.0)
    facts = the_facts(
        base=replace(measured_base(eaten=0.3), slowest_per_day=per_day),
        choices=(a_choice("lamp"), a_choice("left")),
        shifts={"quarter": 6.0},
    )
    facts = replace(
        facts, responses={**facts.responses, "lamp": a_response(minutes=5.0), "left": a_response(minutes=9.0)}
    )
    loop = a_loop(facts, one_a_day=True, banned=[frozenset({(GOBY, 0)})])
    solved = replace(a_solved_pair(loop), chosen={**a_solved_pair(loop).chosen, taken("lamp"): 1.0})
    pair = tuple(one for one in facts.candidates if one.id in (GOBY, SHRIMP))
    timing = loop._timing("most_wishes", solved, pair)  # noqa: SLF001
    first = (months_of(loop.problem.kept)[0].on - date(2027, 1, 4)).days
    assert timing.month_min[0] == near(sum(range(first, first + 30)) + 5.0 + 6.0)
    assert len(timing.month_min) == len(timing.months)
    assert timing.eats_g_per_d == {GOBY: near(0.04), SHRIMP: near(0.01)}
    assert timing.arrival_min == {GOBY: 72.0, SHRIMP: 48.0}
    assert (timing.eaten_before_g_per_d, timing.day_months) == (0.3, 2.0)
    assert loop._timing("fewest_minutes", solved, pair).day_months == 9.0  # noqa: SLF001
    assert (timing.one_a_day, timing.banned) == (True, (frozenset({(GOBY, 0)}),))


def test_another_way_of_feeding_and_its_ration_are_in_the_plan() -> None:
    def no_meals(plan: Any) -> Any:
        return replace(plan, meals=())

    by_hand = Choice(id="by_hand", kind="feeding", words="by hand", change=no_meals)
    facts = the_facts(feedings=(a_choice(FED, "feeding"), by_hand))
    loop = a_loop(facts)
    assert loop.plan_of(a_picked(ration_ratio=0.5)).meals[0].grams_as_fed == near(0.15)
    assert loop.plan_of(a_picked(feeding=by_hand)).meals == ()
    lamp = Choice(id="lamp", kind="export", words="lamp", change=lambda plan: replace(plan, name="lit"))
    assert loop.plan_of(a_picked(choices=(lamp,))).name == "lit"


# --- what is told on the way ---


@pytest.mark.parametrize(
    ("aim", "hope"),
    [
        ("most_wishes", "3 of 4 wishes"),
        ("fewest_minutes", "31 minutes"),
        ("widest_margins", "a margin of 100%"),
    ],
)
def test_each_round_tells_what_is_hoped_for_and_what_holds_so_far(aim: Any, hope: str) -> None:
    told: list[str] = []
    facts = the_facts(base=measured_base(nitrate=2.0, minutes=30.6))
    loop = a_loop(facts, progress=lambda phrase, *_: told.append(phrase))
    solved = a_solution(chosen(loop, met__goby=1.0, met__shrimp=1.0))
    assert loop._so_far(aim, solved) == f", best none yet, bound {hope}"  # noqa: SLF001
    wishes = (a_wish("one", weight=2.0), a_wish("two", weight=0.5))
    loop.proposals += [a_proposal(a_picked()), a_proposal(a_picked(wishes=wishes))]
    assert loop._so_far(aim, solved) == f", best 2.5 of 4 wishes, bound {hope}"  # noqa: SLF001


def test_a_plan_that_holds_is_told_and_the_facts_it_was_found_with_are_kept() -> None:
    told: list[tuple[str, int, int]] = []
    loop = a_loop(progress=lambda *one: told.append(one))
    forecast = replace(a_holding_forecast(), members=64, share_holding=60.0 / 64.0)
    loop.hold(a_proposal(a_picked(), forecast=forecast))
    assert told == [("most of the wishes: a plan holds in 60 of 64 members", 1, 3)]
    sure = loop.sure
    assert sure is loop.facts
    loop.facts = replace(loop.facts, money=3.0)
    loop.hold(a_proposal(a_picked(), forecast=forecast))
    assert loop.sure is sure


def test_rounds_are_counted_and_end_where_nothing_more_can_be_tried() -> None:
    told: list[str] = []
    loop = a_loop(
        progress=lambda phrase, *_: told.append(phrase), doors=doors(lambda _: breaks("hands.x.harm"))
    )
    loop.run(("most_wishes",), rounds=2)
    assert [one.split(",")[0] for one in told] == [
        "most of the wishes: round 1",
        "most of the wishes: round 2",
    ]
    assert [one.aim for one in loop.tries] == ["most_wishes"] * 2
    assert "1 × " in loop.tries[0].what
    impossible = a_loop(the_facts(base=measured_base(nitrate=99.0)))
    impossible.run(("most_wishes",))
    assert (impossible.tries, impossible.proposals) == ([], [])


def test_a_search_of_its_own_leaves_the_lessons_of_the_other_alone() -> None:
    loop = a_loop(None, first_plan(GOBY))
    own = loop.apart()
    own.proposals.clear()
    own.banned.append(frozenset())
    own.hungry["x"] = own.missed["y"] = 1
    assert (len(loop.proposals), loop.banned, loop.hungry, loop.missed) == (1, [], {}, {})


# --- plans of smaller budgets ---


def seeded(reached: float, *, bound: float = 2.0, judge: Any = holds) -> Loop:
    """A search that begins with a plan that meets a wish of so much weight."""
    seed = a_proposal(a_picked(wishes=(a_wish("seed", weight=reached),)), bound=bound)
    loop = a_loop(doors=doors(judge), seeds=(seed, replace(seed, picked=a_picked())))
    loop.facts = replace(loop.facts, budget_min_per_month=70.0)
    return loop


@pytest.mark.parametrize(("here", "kept"), [(3.0, "seed"), (4.0, "mine"), (5.0, "mine")])
def test_a_plan_of_fewer_minutes_takes_the_place_of_one_that_meets_less(here: float, kept: str) -> None:
    loop = seeded(4.0)
    mine = a_proposal(a_picked(wishes=(a_wish("mine", weight=here),)))
    other = a_proposal(a_picked(), aim="fewest_minutes")
    loop.proposals += [mine, other]
    loop._seed()  # noqa: SLF001
    found = {wish.text for one in loop.proposals for wish in one.picked.wishes}
    assert found == {kept}
    assert other in loop.proposals
    assert len(loop.proposals) == 2


def test_a_plan_of_fewer_minutes_is_judged_with_these_and_its_bound_is_that_of_the_programme() -> None:
    asked: list[float] = []

    def judge(plan: Any) -> Any:
        asked.append(plan.keeper.minutes_per_month)
        return a_holding_forecast()

    loop = seeded(1.0, judge=judge)
    loop._seed()  # noqa: SLF001
    (found,) = loop.proposals
    assert (asked, found.rounds, found.plan.keeper.minutes_per_month) == ([70.0], 0, 70.0)
    assert (found.bound, loop.sure) == (4.0, loop.facts), "all wishes can be met by the programme"
    high = seeded(1.0, bound=9.0)
    high._seed()  # noqa: SLF001
    assert high.proposals[0].bound == 9.0
    impossible = seeded(3.0)
    impossible.facts = replace(impossible.facts, base=measured_base(nitrate=99.0))
    impossible._seed()  # noqa: SLF001
    assert impossible.proposals[0].bound == 3.0
    broken = seeded(1.0, judge=lambda _: breaks("hands.minutes.harm"))
    broken._seed()  # noqa: SLF001
    assert broken.proposals == []


def too_early() -> CheckFinding:
    return CheckFinding(
        id=f"order.{entry_name(SHRIMP)}",
        balance="mouths",
        weight="serious",
        who=SHRIMP,
        what="too early",
        why="so",
        source="calc",
        status="practice",
    )


def test_animals_that_come_too_early_together_come_on_other_days(monkeypatch: pytest.MonkeyPatch) -> None:
    months = months_of(a_problem().kept)

    def rules(plan: Plan, _: Catalogue) -> list[CheckFinding]:
        early = any(one.species == SHRIMP and one.arrives_on == months[0].on for one in plan.animals)
        return [too_early()] if early else []

    monkeypatch.setattr(looping, "check_plan", rules)
    loop = a_loop()
    loop.run(("most_wishes",), rounds=1)
    assert loop.banned == [{(SHRIMP, 0)}]
    (found,) = loop.proposals  # of the same animals: nobody is given up for days
    assert not loop.tries
    coming = {each.candidate.id: each.on for each in found.picked.coming}
    assert coming.keys() == {one.id for one in loop.facts.candidates}
    assert coming[SHRIMP] > months[0].on


def test_animals_that_are_too_early_in_every_month_are_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    def rules(plan: Plan, _: Catalogue) -> list[CheckFinding]:
        return [too_early()] if any(one.species == SHRIMP for one in plan.animals) else []

    monkeypatch.setattr(looping, "check_plan", rules)
    loop = a_loop()
    loop.run(("most_wishes",), rounds=2)
    assert loop.banned == [{(SHRIMP, month.number)} for month in months_of(a_problem().kept)]
    assert len(loop.tries) == 1
    assert "no month" in loop.tries[0].why
    (found,) = loop.proposals
    assert SHRIMP not in {each.candidate.id for each in found.picked.coming}
