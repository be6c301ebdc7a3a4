"""Why an animal comes, and why so many of it, in words."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from backreef.planning.reasons import animal_words


def words(*, count: int, wished: int | None, least: int, most: int) -> str:
    """What is said of newcomers that live in at least, and at most, so many."""
    species = SimpleNamespace(common_name="Chromis", social_rule="")
    one = SimpleNamespace(id="new", species=species, least_count=least, most_count=most, cautions=())
    wishes = () if wished is None else (SimpleNamespace(text="a shoal", least_count=wished),)
    response = SimpleNamespace(
        eaten_g_per_d=0.02, arrival_min=40.0, minutes_per_month=0.0, risk_share=0.0, water={}
    )
    coming: Any = SimpleNamespace(candidate=one, count=count, wishes=wishes)
    facts: Any = SimpleNamespace(responses={"new": response}, months=12.0)
    return animal_words(coming, facts)


@pytest.mark.parametrize(
    ("count", "wished", "least", "most", "why"),
    [
        (5, 5, 3, 9, "5, because the wish takes so many."),
        (3, 3, 3, 9, "3, because it lives in at least so many."),
        (3, None, 3, 9, "3, because it lives in at least so many."),
        (9, 5, 3, 9, "9, because more would not live in peace or find enough here."),
        (1, None, 1, 1, ""),
    ],
)
def test_a_number_has_its_true_reason(
    count: int, wished: int | None, least: int, most: int, why: str
) -> None:
    said = words(count=count, wished=wished, least=least, most=most)
    assert why in said
    assert said.count("because") == bool(why)


def test_what_several_take_is_told_of_all_of_them() -> None:
    assert "Together they take about 0.1 g" in words(count=5, wished=5, least=3, most=9)
    assert "It takes about 0.02 g" in words(count=1, wished=None, least=1, most=1)
