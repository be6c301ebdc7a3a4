"""Tanks that nobody should keep: books close, nothing is negative, and no tank whose
animals all die is said to hold. Our own rule, no outside source."""

from __future__ import annotations

import numpy as np
import pytest

from backreef.judgement.judge import judge_plan
from backreef.judgement.verdict import Forecast
from tests.unit.aquarium.plans import catalogue, plan_of

HEAD = "start_on = 2027-01-04\n[tank]\n"
CLOWNS = '[[animals]]\nid = "fish"\nspecies = "ocellaris_clown"\n'
MEAL = '[[meals]]\nid = "meal"\nfood = "pellet_small"\ntimes = ["12:00"]\n'
ALL_WATER = '[[upkeep]]\nid = "all"\ntask = "wc_do"\nshare = "100 %"\nevery = "7 days"\n'
NO_WATER = '[[upkeep]]\nid = "none"\ntask = "wc_do"\nshare = "0 %"\nevery = "7 days"\n'

EXTREMES = {
    "five litres": ('display = "5 L"\n[[animals]]\nid = "snail"\nspecies = "cerith"\n', 0.4),
    "fifty cubic metres": (f'display = "50000 L"\n{CLOWNS}count = 400\n{MEAL}enough_for = "growth"\n', 0.4),
    "far too many": (f'display = "100 L"\n{CLOWNS}count = 100\n{MEAL}amount = "20 g"\n', 0.4),
    "no food": (f'display = "100 L"\n{CLOWNS}count = 2\n', 0.4),
    "no light": (f'display = "100 L"\nlight_hours = "0 h"\n{CLOWNS}count = 2\n{MEAL}amount = "0.1 g"\n', 0.4),
    "all water every week": (f'display = "100 L"\n{CLOWNS}\n{MEAL}amount = "0.1 g"\n{ALL_WATER}', 0.4),
    "no water changed": (f'display = "100 L"\n{CLOWNS}\n{MEAL}amount = "0.1 g"\n{NO_WATER}', 0.4),
    "a hundred times the food": (f'display = "100 L"\n{CLOWNS}\n{MEAL}amount = "10 g"\n', 0.4),
    "nobody": ('display = "100 L"\n', 0.4),
    "ten years": (f'display = "100 L"\n{CLOWNS}count = 2\n{MEAL}amount = "0.1 g"\n', 10.0),
}
IN_TEN_YEARS = {
    "five litres": ("mouths", "starves"),
    "fifty cubic metres": ("water", "Phosphate"),
    "far too many": ("water", "Ammonia"),
    "no food": ("mouths", "starves"),
    "no light": ("mouths", "starves"),
    "all water every week": ("hands", "minutes"),
    "no water changed": ("water", "Phosphate"),
    "a hundred times the food": ("water", "Ammonia"),
    "nobody": ("", ""),
    "ten years": ("water", "Phosphate"),
}
"""A balance that breaks within ten years, and a word of why: clownfish do not find a meal in the dark, and
nothing but changed water takes phosphate out of these tanks."""
LETHAL = ("far too many", "no food", "a hundred times the food")


def forecast(name: str, *, longer: float = 0.0) -> Forecast:
    body, years = EXTREMES[name]
    members = 1 if years > 1 and not longer else 8
    years = max(years, longer)
    plan = plan_of(f'{HEAD}{body}[goals]\nhorizon = "{years} years"\n')
    return judge_plan(plan, catalogue(), members=members, remedies="none")


def in_order(found: Forecast) -> None:
    """Books close, everything is a number, nothing is negative."""
    assert found.conservation_residual < 1e-8
    for series, band in found.series.items():
        values = np.concatenate([band.p05, band.p50, band.p95])
        assert np.isfinite(values).all(), series
        assert (values >= 0).all(), series


@pytest.mark.parametrize("name", EXTREMES)
def test_it_conserves_and_says_something_sensible(name: str) -> None:
    found = forecast(name)
    in_order(found)
    if name in LETHAL:
        assert not found.holds
        assert found.first_break is not None
    if name == "nobody":
        assert found.holds


def test_a_tank_whose_fish_all_die_in_the_first_days_breaks_in_the_water() -> None:
    found = forecast("far too many")
    water = next(balance for balance in found.balances if balance.name == "water")
    assert not water.holds
    assert all(animal.count_end_p50 == 0 for animal in found.animals)
    assert "ammonia" in water.cause.lower() or "oxygen" in water.cause.lower()


@pytest.mark.long(3)
@pytest.mark.parametrize("name", EXTREMES)
def test_in_ten_years_it_conserves_and_says_what_breaks_first(name: str) -> None:
    found = forecast(name, longer=10.0)
    in_order(found)
    balance, word = IN_TEN_YEARS[name]
    assert found.holds == (not balance)
    broken = [(one.name, one.cause) for one in found.balances if not one.holds]
    assert not balance or any(name == balance and word in cause for name, cause in broken), broken
