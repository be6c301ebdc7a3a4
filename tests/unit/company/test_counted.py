from __future__ import annotations

import pytest

from backreef.company.counted import counted_deaths, counted_of, graver, kept_of
from backreef.company.hazards import Rate, rate_that_loses
from backreef.units import DAYS_PER_YEAR
from tests.unit.aquarium.plans import catalogue
from tests.unit.company.test_survival import LATER, of, of_cause, tank

KINDS = {species.kind for species in catalogue().species.values()}
MILD = Rate(value_per_y=0.1, low_per_y=0.05, high_per_y=0.2)


def test_every_row_names_species_or_kinds_that_there_are_and_a_share() -> None:
    for row in counted_deaths():
        assert row.species or row.kinds
        assert row.species <= catalogue().species.keys()
        assert row.kinds <= KINDS
        shares = [one for one in (row.low_frac, row.lost_frac, row.high_frac) if one is not None]
        assert shares
        assert shares == sorted(shares)
        assert all(0 <= one < 1 for one in shares)
        assert not row.kept or (row.lost_frac is not None and row.days is not None)


def test_where_a_trial_lost_more_than_practice_says_the_trial_is_used() -> None:
    # Watson and others 2018: 35 % of these snails died within 53 days, all of another kind lived.
    rate = graver(MILD, "tegula_cool").value_per_y
    assert 1 - 2.718281828 ** (-rate * 53 / DAYS_PER_YEAR) == pytest.approx(0.35)
    assert graver(MILD, "turbo_tropical") == MILD
    assert graver(MILD, "yellow_tang") == MILD, "what was lost in the trade is not what a keeper loses"
    harsh = Rate(value_per_y=99.0, low_per_y=50.0, high_per_y=200.0)
    assert graver(harsh, "tegula_cool") == harsh


def test_settling_in_uses_it() -> None:
    found = of_cause(tank(of("tegula_cool", LATER)), "settling in")["tegula_cool"].rate.value_per_y
    assert found > rate_that_loses("settling_delicate_frac", days=56).value_per_y


def test_the_share_is_told_in_words() -> None:
    row = kept_of("tegula_cool")
    assert row is not None
    assert row.text == "35 % (25 to 50) lost in 53 days"
    journey = next(each for each in counted_deaths() if each.id == "fish_journey")
    assert journey.text == "2 to 73 % lost"
    assert {each.id for each in counted_of(catalogue().species["yellow_tang"])} > {
        "tang_caught",
        "fish_journey",
    }
