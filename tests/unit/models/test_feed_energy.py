import pytest

from backreef.models.body_values import body_numbers
from backreef.models.feed_energy import (
    digested_fractions,
    digestible_energy_kj_per_g,
    energy_per_g,
    gross_energy_factors,
    nitrogen_frac_of_protein,
)

NUMBERS = body_numbers()
GROSS = gross_energy_factors(NUMBERS)


def test_a_gram_of_one_thing_holds_that_thing_s_energy() -> None:
    assert energy_per_g(1.0, 0.0, 0.0, factors=GROSS) == 23.6
    assert energy_per_g(0.0, 1.0, 0.0, factors=GROSS) == 39.5
    assert energy_per_g(0.0, 0.0, 1.0, factors=GROSS) == 17.2


def test_what_is_digested_is_less_than_what_is_there() -> None:
    whole = energy_per_g(0.48, 0.12, 0.18, factors=GROSS)
    digested = digestible_energy_kj_per_g(
        0.48, 0.12, 0.18, factors=GROSS, digested_frac=digested_fractions(NUMBERS)
    )
    # The share for a whole dry feed that the `day` group holds is 0.85 (0.72 to 0.90).
    assert digested / whole == pytest.approx(NUMBERS["day.digestible_energy_frac"], abs=0.04)


def test_crude_protein_of_feed_is_a_sixteenth_nitrogen_per_hundred() -> None:
    feed = NUMBERS["protein_per_nitrogen.feed_ratio"]
    assert nitrogen_frac_of_protein(0.50, protein_per_nitrogen_ratio=feed) == pytest.approx(0.08)


def test_seaweed_protein_holds_more_nitrogen() -> None:
    seaweed = NUMBERS["protein_per_nitrogen.seaweed_ratio"]
    assert nitrogen_frac_of_protein(0.30, protein_per_nitrogen_ratio=seaweed) > 0.30 / 6.25
