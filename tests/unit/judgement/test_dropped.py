"""Chores of the sort that people drop, as findings: common practice, no source."""

from __future__ import annotations

from datetime import date

from backreef.aquarium.plan import Plan
from backreef.company.findings import CheckFinding
from backreef.judgement.dropped import dropped_chores
from backreef.judgement.judge import judge_plan
from backreef.simulation.prepared import prepare
from tests.unit.aquarium.plans import catalogue, plan_of

TANK = """\
start_on = 2027-01-04
[tank]
display = "200 L"
rock = "20 kg"
[keeper]
presence = ["Mon-Sun 7-22"]
{keeper}
[[animals]]
id = "goby"
species = "yellow_watchman"
count = 1
[[upkeep]]
id = "by_hand"
task = "feed_target"
every = "2 days"
[goals]
horizon = "{years} years"
"""


def plan(*, years: float = 2, keeper: str = "") -> Plan:
    return plan_of(TANK.format(years=years, keeper=keeper))


def found(of: Plan) -> dict[str, CheckFinding]:
    return {each.id: each for each in dropped_chores(prepare(of, catalogue()))}


def test_feeding_by_hand_with_the_pumps_off_is_named_with_the_day_by_which_many_have_dropped_it() -> None:
    # kept up for a year or two by many and for five by few (common practice, no source)
    one = found(plan())["dropped.feed_target"]
    assert one.from_on == date(2028, 7, 4)
    assert (one.balance, one.weight, one.source) == ("hands", "caution", "common practice, no source")
    assert "12 to 24 months" in one.why
    assert any("--stop feed_target=18" in each for each in one.remedies)


def test_a_plan_that_ends_before_that_is_not_reproached() -> None:
    assert "dropped.feed_target" not in found(plan(years=1))


def test_a_task_that_the_plan_does_not_have_is_not_named() -> None:
    assert "dropped.feed_tongs" not in found(plan())


def test_a_keeper_who_says_so_is_told_what_was_taken_at_their_word() -> None:
    said = found(plan(keeper='stops_after = { feed_target = "12 months" }'))
    assert "dropped.feed_target" not in said
    one = said["stops.feed_target"]
    assert one.from_on == date(2028, 1, 4)
    assert "simulated" in one.why


def test_what_a_helper_does_is_not_the_keepers_to_drop() -> None:
    refused = plan(
        keeper='refuses = ["feed_target"]\nhelpers = [{ name = "aunt", days = "Mon-Sun", '
        'tasks = ["feed_target"] }]'
    )
    assert "dropped.feed_target" not in found(refused)


def test_it_stands_among_the_findings_of_a_forecast_and_breaks_nothing() -> None:
    short = plan(years=0.1, keeper='stops_after = { feed_target = "0 months" }')
    forecast = judge_plan(short, catalogue(), members=1, seed=1, remedies="none")
    (one,) = [each for each in forecast.findings if each.id == "plan.stops.feed_target"]
    assert one.balance == "hands"
    assert not one.breaks
