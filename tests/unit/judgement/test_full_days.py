"""Hours of presence hold the work of their day, or somebody is told."""

from __future__ import annotations

from datetime import date

from backreef.company.findings import CheckFinding
from backreef.judgement.full_days import full_days
from backreef.judgement.judge import judge_plan
from backreef.simulation.prepared import prepare
from tests.unit.aquarium.plans import catalogue, plan_of

PLAN = """\
start_on = 2027-01-04
[tank]
display = "200 L"
[keeper]
minutes_per_month = 600
presence = ["Mon-Sun 12:00-{until}"]
[[devices]]
kind = "ato"
plumbed = true
[[upkeep]]
id = "change"
task = "wc_do"
every = "first Tuesday"
share = "10 %"
minutes = "45 min"
[[upkeep]]
id = "tests"
task = "test_quick"
every = "first Tuesday"
minutes = "20 min"
{more}
[goals]
horizon = "0.3 years"
"""


def found(until: str, more: str = "") -> list[CheckFinding]:
    return list(full_days(prepare(plan_of(PLAN.format(until=until, more=more)), catalogue())))


def test_an_hour_that_is_too_short_for_its_day_is_told_with_the_day() -> None:
    # by hand: 65 minutes of work on the first Tuesdays, and looks, in 60
    (one,) = found("13:00")
    assert one.from_on == date(2027, 1, 5)
    assert "12:00 to 13:00, 60 minutes" in one.why
    assert one.weight == "serious"
    assert one.remedies


def test_hours_that_hold_their_work_are_no_trouble() -> None:
    assert found("14:00") == []


def test_work_with_a_condition_is_not_counted() -> None:
    seldom = (
        '[[upkeep]]\nid = "once_more"\ntask = "sand_clean"\nevery = "first Tuesday"\nminutes = "90 min"\n'
    )
    condition = 'when = "nitrate > 200 mg/L NO3 at the last test"\n'
    assert found("14:00", seldom)
    assert found("14:00", seldom + condition) == []


def test_it_stands_among_the_findings_of_a_forecast() -> None:
    plan = plan_of(PLAN.format(until="13:00", more=""))
    forecast = judge_plan(plan, catalogue(), members=1, remedies="none")
    one = next(finding for finding in forecast.findings if finding.id == "plan.hours.too_short")
    assert one.balance == "hands"
    assert one.first_on == date(2027, 1, 5)
