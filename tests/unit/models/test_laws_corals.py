"""What corals take of ammonium and of nitrate, by hand."""

from __future__ import annotations

import pytest

from backreef.models.laws_corals import coral_growth_on_ammonium, coral_growth_on_nitrate

WATER = {
    "rate": 0.5,
    "temperature": 0.9,
    "area": 3.0,
    "half_ammonium": 1.0,
    "half_nitrate": 2.0,
    "nitrate_worth": 0.5,
    "phosphate": 30.0,
    "half_phosphate": 0.01,
    "reserve": 4.0,
    "half_reserve": 1.0,
    "room": 0.7,
}
MOST = 0.5 * 0.9 * 3.0 * (4.0 / 5.0) * 0.7
"""Growth with nitrogen and phosphate to spare."""


def growths(ammonium: float, nitrate: float) -> tuple[float, float]:
    return (
        coral_growth_on_ammonium(ammonium=ammonium, nitrate=nitrate, **WATER),
        coral_growth_on_nitrate(ammonium=ammonium, nitrate=nitrate, **WATER),
    )


def test_both_sources_together_limit_growth_and_share_it_by_what_each_is_worth() -> None:
    on_ammonium, on_nitrate = growths(0.25, 0.5)  # a fifth, and half of a fifth
    assert on_ammonium / on_nitrate == pytest.approx(2.0)
    assert on_ammonium + on_nitrate == pytest.approx(0.3 * MOST, rel=0.02)


def test_a_second_source_never_takes_from_the_whole() -> None:
    alone, none = growths(0.25, 0.0)
    assert none == 0.0
    assert sum(growths(0.25, 0.5)) > 1.3 * alone


def test_without_any_nitrogen_nothing_grows() -> None:
    assert sum(growths(0.0, 0.0)) == pytest.approx(0.0, abs=1e-9)
