"""Words of a proposal: what a choice does, who receives newcomers, where the minutes go."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from backreef.planning.reasons import animal_words, as_it_is_words, choice_words
from backreef.planning.responses import Limit
from backreef.planning.writing import Coming
from tests.forecast_world import a_breaking_forecast, a_holding_forecast
from tests.planning_world import NITRATE, a_candidate, a_choice, a_response, some_facts

PH = Limit(series="ph_total", label="pH, lowest of the day", unit="", upper=False, bound=7.6, act=7.8, days=3)


@pytest.mark.parametrize(
    ("ph", "minutes", "said"),
    [
        (0.001, 1.0, "lamp: 1 minute a month more; nitrate is 2.0 mg/L NO3 lower"),
        (0.1, 3.2, "lamp: 3 minutes a month more; nitrate is 2.0 mg/L NO3 lower; pH, lowest of the day at"),
        (-0.1, 0.1, "its lowest is 0.1 lower"),
    ],
)
def test_a_choice_is_told_with_what_it_does_most(ph: float, minutes: float, said: str) -> None:
    lamp = a_response(nitrate=-2.0, minutes=minutes)
    lamp = replace(lamp, water={**lamp.water, PH.name: ph})
    facts = some_facts(limits=(NITRATE, PH), responses={"lamp": lamp})
    words = choice_words(a_choice("lamp"), facts)
    assert said in words
    assert ("pH" in words) == (abs(ph) > 0.01)


def test_whose_minutes_the_arrival_takes_is_told() -> None:
    coming = Coming(candidate=a_candidate(), count=1, on=date(2027, 3, 2), wishes=())
    told = animal_words(coming, some_facts())
    assert "the day of arrival takes about 48 minutes if nobody else comes" in told
    helped = some_facts(responses={"neon_goby": a_response(eaten=0.1)})
    assert "its arrival takes none of the keeper's minutes" in animal_words(coming, helped)


def test_where_the_minutes_go_is_told_of_a_tank_that_asks_for_too_many() -> None:
    assert as_it_is_words(a_holding_forecast()) == "With the animals that stay and nobody new the plan holds."
    broken = a_breaking_forecast()
    words = as_it_is_words(broken)
    assert f"It takes {broken.minutes.per_month_p50:.0f} minutes a month on average" in words
    most = max(
        (line for line in broken.minutes.by_chore if not line.look),
        key=lambda line: line.minutes_per_month_p50,
    )
    assert f"most of them for: {most.name} ({most.minutes_per_month_p50:.0f})" in words
    calm = tuple(replace(one, holds=True) if one.name == "hands" else one for one in broken.balances)
    assert "It takes" not in as_it_is_words(replace(broken, balances=calm))
