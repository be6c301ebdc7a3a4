from __future__ import annotations

import pytest

from backreef.reports.assumption_groups import group_of, grouped
from tests.forecast_world import a_breaking_forecast, a_minimal_forecast


@pytest.mark.parametrize(
    ("key", "title"),
    [
        ("tank.rock_kg", "What the plan leaves open"),
        ("animals[11].length_cm", "What the plan leaves open"),
        ("band.ph_total", "What counts as act and as harm"),
        ("species.trochus.takes", "Animals"),
        ("food.pellet_small.grain", "Foods and devices"),
        ("task.return_check.work", "Work and presence"),
        ("model.bacteria.v_crypt", "Water, algae and bacteria"),
        ("something_new", "Water, algae and bacteria"),
    ],
)
def test_it_finds_the_group_of_an_assumption(key: str, title: str) -> None:
    assert group_of(key) == title


def test_it_loses_no_assumption_and_shows_the_weakest_first() -> None:
    forecast = a_breaking_forecast()
    groups = grouped(forecast)
    assert sorted(a.key for _, members in groups for a in members) == sorted(
        a.key for a in forecast.assumptions
    )
    order = ("default", "memory", "practice", "calc", "published")
    for _, members in groups:
        ranks = [order.index(a.status) for a in members]
        assert ranks == sorted(ranks)


def test_it_has_no_empty_group() -> None:
    assert grouped(a_minimal_forecast()) == []
