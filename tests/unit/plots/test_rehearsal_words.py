from types import SimpleNamespace
from typing import cast

import pytest

from backreef.judgement.rehearsal import Chance, Mishap, Outcome
from backreef.plots.rehearsal_words import chance_ends, water_words, without_help_words


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0.01, 0.2, "somewhere between 1.0 % and 20 %"),
        (0.0001, 0.004, "somewhere between under 0.1 % and 0.4 %"),
        (0.0001, 0.0004, "under 0.1 % at most"),
    ],
)
def test_a_chance_lies_between_two_words_or_has_one(low: float, high: float, words: str) -> None:
    assert chance_ends(Chance(low=low, value=None, high=high)) == words


@pytest.mark.parametrize(
    ("hours", "heads", "helps", "words"),
    [
        (13.0, 0.01, (), "Hardly an animal is lost by it, so nothing was tried against it."),
        (13.0, 2.0, (), "Nothing that can be tried against it spares an animal."),
        (13.0, 2.0, ("somebody looks in",), ""),
        (None, 0.0, (), ""),
    ],
)
def test_it_says_why_nothing_is_named_that_helps(
    hours: float | None, heads: float, helps: tuple[str, ...], words: str
) -> None:
    outcome = SimpleNamespace(hours_to_risk=hours, harm_heads=heads)
    assert without_help_words(cast("Mishap", SimpleNamespace(mitigations=helps, outcome=outcome))) == words


@pytest.mark.parametrize(("ammonia", "shown"), [(0.0123, "0.012 mg/L N"), (249.311, "249 mg/L N")])
def test_ammonia_is_not_told_sharper_than_it_is_known(ammonia: float, shown: str) -> None:
    sides = ("oxygen_mg_per_l.low", "temperature_c.low", "temperature_c.high", "salinity_psu.low")
    extremes = dict.fromkeys((*sides, "salinity_psu.high"), 1.0) | {
        "ammonia_unionised_mg_n_per_l.high": ammonia
    }
    assert f"up to {shown}," in water_words(cast("Outcome", SimpleNamespace(extremes=extremes)))
