from __future__ import annotations

from datetime import date

from backreef.company.engine import check_plan
from backreef.planning.candidates import newcomer, shortlist, why_left_out
from backreef.planning.responses import with_animals
from tests.planning_world import a_short_plan, a_wish, the_catalogue

ON = date(2027, 3, 2)


def test_those_that_the_rules_refuse_are_left_out_with_the_rules_own_reason() -> None:
    plan = a_short_plan()
    found = shortlist(plan, the_catalogue(), [a_wish("tang", "yellow_tang", "neon_goby")], ON)
    assert "neon_goby" in {one.id for one in found.candidates}
    why = why_left_out("yellow_tang", found, the_catalogue())
    assert why is not None
    said = check_plan(with_animals(plan, [newcomer("yellow_tang", 1, ON)]), the_catalogue())
    assert why.what in {finding.what for finding in said if finding.weight == "serious"}


def test_a_number_is_bounded_where_the_rules_speak_up() -> None:
    found = shortlist(a_short_plan(), the_catalogue(), [a_wish("goby", "yellow_watchman")], ON)
    (watchman,) = [one for one in found.candidates if one.id == "yellow_watchman"]
    assert (watchman.least_count, watchman.most_count) == (1, 1)


def test_pairs_that_do_not_get_on_are_told() -> None:
    wishes = [a_wish("shrimps", "fire_shrimp", "peppermint_shrimp")]
    found = shortlist(a_short_plan(), the_catalogue(), wishes, ON)
    assert [(pair.first, pair.second, pair.rule) for pair in found.quarrels] == [
        ("fire_shrimp", "peppermint_shrimp", "fights")
    ]


def test_what_nobody_asked_for_has_a_reason_too() -> None:
    found = shortlist(a_short_plan(), the_catalogue(), [a_wish("goby", "neon_goby")], ON)
    why = why_left_out("chalk_bass", found, the_catalogue())
    assert why is not None
    assert why.rule == "shortlist"
    assert why_left_out("neon_goby", found, the_catalogue()) is None
