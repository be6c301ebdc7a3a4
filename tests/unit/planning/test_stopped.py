"""A search that is stopped, finds nothing, or has a first plan only: what is given then."""

from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.aquarium.dump import dump_plan
from backreef.aquarium.plan import Plan
from backreef.judgement.verdict import Forecast
from backreef.planning import propose as proposing
from backreef.planning.facts import Facts
from backreef.planning.first import unmeasured
from backreef.planning.gather import listed
from backreef.planning.plans import AIMS
from backreef.planning.problem import Problem, problem_of
from backreef.planning.programme import violated
from backreef.planning.propose import propose
from backreef.planning.reasons import plan_file
from backreef.planning.stock import stock_programme
from backreef.planning.wishes import read_wishes
from backreef.reports.propose_text import first_words, propose_page
from backreef.usecases.propose import written
from tests.forecast_world import a_holding_forecast
from tests.planning_world import (
    NITRATE,
    a_response,
    a_short_plan,
    measured_base,
    the_catalogue,
)
from tests.unit.planning.loop_parts import breaks, doors, holds, whole


def test_an_interrupt_gives_the_best_so_far(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Plan] = []

    def judge(plan: Plan) -> Forecast:
        asked.append(plan)
        if len(asked) > 1:
            raise KeyboardInterrupt
        return a_holding_forecast()

    found = whole(judge, monkeypatch)
    assert (found.status, len(found.proposals)) == ("stopped", 1)


def test_where_nothing_holds_the_plan_as_it_is_is_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    found = whole(lambda _: breaks("water.salinity_psu.high.harm"), monkeypatch)
    assert found.status == "none"
    assert found.as_it_is is not None
    assert not found.as_it_is.holds


def test_a_search_that_was_stopped_early_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def judge(_: Plan) -> Forecast:
        raise KeyboardInterrupt

    found = whole(judge, monkeypatch)
    assert first_words(found) == "Test tank: stopped before a plan was found."


def a_patient_problem() -> Problem:
    return problem_of(a_short_plan(minutes=300), the_catalogue())


def test_the_first_plan_needs_no_response_and_is_judged_once(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def judge(plan: Plan) -> Forecast:
        asked.append(dump_plan(plan))
        return a_holding_forecast()

    told: list[str] = []
    problem = a_patient_problem()
    wishes = read_wishes(problem.kept, the_catalogue())
    found = listed(problem.kept, the_catalogue(), wishes)
    measured_facts = replace(
        unmeasured(problem, wishes, found),
        base=measured_base(minutes=20.0),
        limits=(NITRATE,),
        food_response=a_response(nitrate=5.0),
        responses={one.id: a_response(nitrate=0.5, minutes=1.0) for one in found.candidates},
    )
    monkeypatch.setattr(proposing, "facts_of", lambda *_: measured_facts)
    plans = propose(problem, doors=doors(judge), members=8, progress=lambda phrase, *_: told.append(phrase))
    first = plans.proposals[0]
    assert (first.aim, first.rounds, first.text) == ("most_wishes", 1, asked[0])
    assert [one.aim for one in plans.proposals] == list(AIMS)
    assert (first.reached, first.bound) == (3.0, 3.0)
    assert first.picked.ration_ratio == 1.0, "fed as the plan says"
    assert violated(stock_programme(measured_facts), first.picked.solved.chosen) == []
    assert len(asked) == len(set(asked))
    assert told[1].startswith("most of the wishes: a plan holds in ")


def test_an_interrupt_while_responses_are_taken_gives_the_first_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> Facts:
        raise KeyboardInterrupt

    monkeypatch.setattr(proposing, "facts_of", stop)
    found = propose(a_patient_problem(), doors=doors(holds), members=8)
    assert (found.status, len(found.proposals)) == ("stopped", 1)
    assert plan_file(found.proposals[0], found)
    assert propose_page(found, written(found), 80)
