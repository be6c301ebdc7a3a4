from __future__ import annotations

from datetime import date, timedelta

import pytest

from backreef.company.engine import setting_of
from backreef.company.findings import Resident, Setting
from backreef.company.growing import length_on_cm, when_longer, when_words
from backreef.models.growth import length_after_cm
from tests.unit.aquarium.plans import catalogue, with_tank


def one_of(lines: str) -> tuple[Resident, Setting]:
    setting = setting_of(with_tank(f"[[animals]]\n{lines}"), catalogue())
    return setting.residents[0], setting


TANG = 'species = "yellow_tang"\nlength = "6 cm"\narrives_on = 2027-03-01\n'


@pytest.mark.parametrize("days", [0, 30, 400, 4000])
def test_it_grows_as_the_models_do(days: int) -> None:
    tang, setting = one_of(TANG)
    species = catalogue().species["yellow_tang"]
    expected = length_after_cm(
        6.0,
        days=days,
        largest_cm=species.adult_length_cm.value,  # type: ignore[union-attr]
        kmax_per_y=species.growth_kmax_per_y.value,  # type: ignore[union-attr]
    )
    assert length_on_cm(tang, setting, date(2027, 3, 1) + timedelta(days=days)) == pytest.approx(expected)


def test_the_day_of_a_length_is_the_day_on_which_it_has_it() -> None:
    tang, setting = one_of(TANG)
    when = when_longer(tang, setting, 11.0)
    assert when is not None
    assert when.on is not None
    assert length_on_cm(tang, setting, when.on) == pytest.approx(11.0, abs=0.02)
    assert when.early_on is not None
    assert when.early_on < when.on
    assert when.late_on is None or when.late_on > when.on


def test_it_says_never_where_an_adult_stays_shorter() -> None:
    tang, setting = one_of(TANG)
    when = when_longer(tang, setting, 100.0)
    assert when is not None
    assert (when.on, when.early_on) == (None, None)
    assert when_words(when) == "perhaps never"


def test_an_animal_of_unknown_growth_counts_as_grown() -> None:
    snail, setting = one_of('species = "trochus"\n')
    assert when_longer(snail, setting, 9.0) is None
    adult = catalogue().species["trochus"].adult_length_cm.value  # type: ignore[union-attr]
    assert length_on_cm(snail, setting, date(2027, 1, 4)) == adult
