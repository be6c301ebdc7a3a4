from __future__ import annotations

from datetime import date

import pytest

from backreef.company.engine import setting_of
from backreef.company.order import Step, additions_of
from tests.unit.aquarium.plans import catalogue, with_tank


def of(species: str, *lines: str) -> str:
    return "\n".join(("[[animals]]", f'species = "{species}"', *lines, ""))


def steps_of(text: str) -> dict[str, Step]:
    return {step.entry_id: step for step in additions_of(setting_of(with_tank(text), catalogue()))}


PLAN = (
    of("ocellaris_clown")
    + of("trochus", "arrives_on = 2027-02-01", 'gate = "film algae visible"')
    + of("firefish", "arrives_on = 2027-05-01")
    + of("flame_angel", "arrives_on = 2027-09-01")
    + of("mandarin", "arrives_on = 2027-12-01")
    + of("acropora", "arrives_on = 2028-02-01")
)


def test_it_gives_the_newcomers_in_the_order_of_their_days() -> None:
    steps = steps_of(PLAN)
    assert list(steps) == ["trochus", "firefish", "flame_angel", "mandarin", "acropora"]
    assert [step.on for step in steps.values()] == sorted(step.on for step in steps.values())


def test_each_says_why_it_stands_there() -> None:
    steps = steps_of(PLAN)
    assert "something to graze" in steps["trochus"].why_here
    assert "peaceful" in steps["firefish"].why_here
    assert "doubtful with corals" in steps["flame_angel"].why_here
    assert "pods" in steps["mandarin"].why_here
    assert "steady" in steps["acropora"].why_here


def test_a_gate_of_the_plan_goes_before_that_of_the_catalogue() -> None:
    steps = steps_of(PLAN)
    assert (steps["trochus"].gate, steps["trochus"].gate_in_plan) == ("film algae visible", True)
    assert steps["mandarin"].gate == catalogue().species["mandarin"].add_gate
    assert not steps["mandarin"].gate_in_plan


def test_what_takes_time_begins_in_time_or_is_called_late() -> None:
    steps = steps_of(PLAN + of("royal_gramma", "arrives_on = 2027-01-10"))
    pods = next(lead for lead in steps["mandarin"].leads if "pods" in lead.what)
    assert (pods.begins_on, pods.in_time) == (date(2027, 8, 18), True)
    assert not any(lead.in_time for lead in steps["royal_gramma"].leads)


def test_it_says_how_much_more_food_a_step_brings() -> None:
    twice = steps_of(
        of("firefish", 'length = "4 cm"')
        + of("firefish", 'id = "more"', 'length = "4 cm"', "arrives_on = 2027-05-01")
    )
    assert twice["more"].more_food_frac == pytest.approx(1.0)
    assert steps_of(PLAN)["trochus"].more_food_frac is None


def test_it_says_how_many_live_a_year_with_a_range() -> None:
    steps = steps_of(PLAN)
    for step in steps.values():
        assert 0 < step.alive_share_low <= step.alive_share_p50 <= step.alive_share_high <= 1
    assert steps["mandarin"].alive_share_p50 < steps["firefish"].alive_share_high
    covered = steps_of('lid = "glass"\n' + PLAN)
    assert covered["firefish"].alive_share_p50 > steps["firefish"].alive_share_p50


def test_it_says_how_many_come_out_of_a_quarantine() -> None:
    apart = 'quarantine = "45 days"'
    lines = of("firefish", "arrives_on = 2027-05-01") + of("moorish_idol", "arrives_on = 2027-06-01", apart)
    steps = steps_of(lines + of("yellow_tang", "arrives_on = 2027-07-01", apart))
    assert steps["firefish"].out_of_quarantine_shares is None
    idol, tang = (steps[name].out_of_quarantine_shares for name in ("moorish_idol", "yellow_tang"))
    assert idol is not None
    assert tang is not None
    assert idol[0] < idol[1] < idol[2] < 1
    assert idol[1] < tang[1]


def test_what_a_quarantine_spares_the_display_dies_in_it() -> None:
    def alive(extra: str) -> tuple[float, float]:
        (step,) = steps_of(of("yellow_tang", "arrives_on = 2027-05-01", extra, "treated = true")).values()
        shares = step.out_of_quarantine_shares
        return step.alive_share_p50, 1.0 if shares is None else shares[1]

    straight, apart = alive(""), alive('quarantine = "45 days"')
    assert apart[0] > straight[0]
    assert apart[0] * apart[1] < apart[0]


def test_the_last_newcomers_too_are_followed_for_a_year() -> None:
    late = steps_of(of("firefish", "arrives_on = 2029-12-20"))["firefish"].alive_share_p50
    soon = steps_of(of("firefish", "arrives_on = 2027-05-20"))["firefish"].alive_share_p50
    assert late == pytest.approx(soon, rel=1e-3)
