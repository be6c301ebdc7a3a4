from __future__ import annotations

from backreef.judgement.used_hazards import hazard_values
from backreef.judgement.used_values import UsedValue
from tests.unit.judgement.courses import PAIR, course

FIREFISH = '[[animals]]\nspecies = "firefish"\narrives_on = 2027-01-20\n'


def used(lines: str) -> list[UsedValue]:
    return list(hazard_values(course(lines).prepared))


def test_it_names_the_hazards_that_a_plan_has_and_no_others() -> None:
    assert {value.topic for value in used(PAIR + FIREFISH)} == {
        "hazard.settling",
        "hazard.outbreak",
        "hazard.leaps",
    }
    assert {value.topic for value in used(PAIR)} == {"hazard.leaps"}


def test_each_says_its_number_its_range_and_on_whose_word() -> None:
    for value in used(PAIR + FIREFISH):
        assert value.name
        assert "_" not in value.name
        assert value.text
        assert value.source_text
        assert value.rests_on_us
