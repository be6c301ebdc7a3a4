import pytest

from backreef.aquarium.series import all_series
from backreef.logbook.kits import all_kits, kit_trust
from backreef.logbook.vocabulary import all_words
from backreef.units import ion_per_element_ratio


def test_every_quantity_has_a_kit() -> None:
    assert {one.series for one in all_kits()} == {one.series for one in all_series()}


def test_every_kit_can_be_written_and_every_word_for_a_kit_is_a_kit() -> None:
    assert {one.kit for one in all_kits()} == {one.means for one in all_words() if one.kind == "kit"}


def test_every_kit_is_wrong_by_something() -> None:
    for one in all_kits():
        assert one.resolution > 0
        assert one.absolute_error > 0 or one.relative_error_frac > 0
        assert one.error_at(0.0) > 0


def test_its_errors_are_in_the_unit_of_the_series() -> None:
    card = kit_trust("nitrate_mg_n_per_l", "colour_card")
    assert card is not None
    assert card.resolution == pytest.approx(5 / ion_per_element_ratio("NO3", "N"))
    thermometer = kit_trust("temperature_c", "thermometer")
    assert thermometer is not None
    assert thermometer.absolute_error == 0.5


def test_it_knows_nothing_of_a_kit_that_is_not_for_the_quantity() -> None:
    assert kit_trust("nitrate_mg_n_per_l", "thermometer") is None
    assert kit_trust("nitrate_mg_n_per_l", None) == kit_trust("nitrate_mg_n_per_l", "colour_card")
