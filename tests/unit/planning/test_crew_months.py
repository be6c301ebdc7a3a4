"""Grazers come when the tank feeds them: what a simulated plan says of its seasons decides the month."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from backreef.aquarium.load import load_plan_text
from backreef.aquarium.plan import Plan
from backreef.judgement.verdict import CrewSeason, CrewSize, Forecast
from backreef.planning.arrivals import months_of
from backreef.planning.crew_months import lean_months
from backreef.planning.loop import Loop
from backreef.planning.problem import Problem, problem_of
from tests.forecast_world import a_holding_forecast
from tests.planning_world import SHORT_PLAN, a_short_plan, a_wish, the_catalogue
from tests.unit.planning.loop_parts import a_problem, breaks, doors, real, the_facts

QUARTERS = (date(2027, 1, 4), date(2027, 4, 1), date(2027, 7, 1))
SNAILS = replace(the_facts(), candidates=(real("trochus"),), wishes=(a_wish("grazer", "trochus"),))


def fed(*lasting: int | None, animal_id: str = "proposed_trochus") -> Forecast:
    """A plan that holds, in which so many snails find enough for a year from each quarter on."""
    seasons = tuple(
        CrewSeason(
            first_on=first_on,
            last_on=first_on.replace(month=first_on.month + 2, day=28),
            held_count_p05=0.0,
            held_count_p50=1.0,
            held_count_p95=2.0,
            starving_share=0.0,
            lasting_count=count,
        )
        for first_on, count in zip(QUARTERS, lasting, strict=False)
    )
    size = CrewSize(
        animal_id=animal_id,
        common_name="Banded trochus snail",
        count=1,
        held_count_p05=0.0,
        held_count_p50=1.0,
        held_count_p95=2.0,
        starving_share_by_year=(0.0,),
        seasons=seasons,
    )
    return replace(a_holding_forecast(), crew_sizes=(size,))


def searched(*forecasts: Forecast, problem: Problem | None = None) -> tuple[Loop, list[Plan]]:
    """A search for the most wishes, whose plans get these forecasts one after the other."""
    asked: list[Plan] = []

    def judge(plan: Plan) -> Forecast:
        asked.append(plan)
        return forecasts[min(len(asked), len(forecasts)) - 1]

    loop = Loop(problem=problem or a_problem(), facts=SNAILS, doors=doors(judge))
    loop.run(("most_wishes",))
    return loop, asked


def arrives(loop: Loop) -> date:
    (plan,) = loop.proposals
    (snail,) = plan.picked.coming
    assert [one.arrives_on for one in plan.plan.animals if one.species == "trochus"] == [snail.on]
    return snail.on


def test_a_snail_comes_from_the_quarter_on_that_feeds_it() -> None:
    months = months_of(a_short_plan())
    at_once, asked = searched(fed(5, 1, 1))
    assert (arrives(at_once), len(asked)) == (months[0].on, 1)
    later, asked = searched(fed(5, 0, 1))
    assert arrives(later) >= QUARTERS[2] > months[0].on
    assert len(asked) == 2


def test_the_quarter_in_which_it_comes_says_nothing() -> None:
    loop, asked = searched(fed(0, 1, 1))
    assert (arrives(loop), len(asked)) == (months_of(a_short_plan())[0].on, 1)


@pytest.mark.parametrize("forecast", [fed(1, 0, 0), fed(0, None, None), fed(0, 0, 1, animal_id="snails")])
def test_where_no_quarter_is_known_to_feed_it_the_simulation_of_the_plan_counts(forecast: Forecast) -> None:
    loop, asked = searched(forecast)
    assert (arrives(loop), len(asked)) == (months_of(a_short_plan())[0].on, 1)
    picked = loop.proposals[0].picked
    assert lean_months(picked, forecast, months_of(a_short_plan())) == ()


def test_a_later_month_that_breaks_is_told_and_not_taken() -> None:
    text = SHORT_PLAN.format(minutes=90, days="Mon-Sun").replace('"6 months"', '"1 year"')
    problem = problem_of(load_plan_text(text, "plan.toml", the_catalogue()), the_catalogue())
    worse = breaks("water.nitrate_mg_no3_per_l.high.harm")
    loop, asked = searched(fed(5, 0, 1), worse, problem=problem)
    assert arrives(loop) == months_of(problem.kept)[0].on
    days = [one.arrives_on for plan in asked for one in plan.animals if one.species == "trochus"]
    first, *later = (day for day in days if day is not None)
    assert len({first, *later}) == 3, "each in a month of its own"
    assert min(later) >= QUARTERS[2]
    assert [one.why for one in loop.tries] == [worse.first_break_cause] * 2
    assert loop.facts == SNAILS, "what broke later teaches the search nothing"
