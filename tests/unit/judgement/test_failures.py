"""Devices that fail: how often over the horizon, and for how long nobody sees it."""

from __future__ import annotations

from backreef.judgement.failure_lines import FailureLine
from backreef.judgement.failures import failure_lines
from backreef.judgement.mishaps import mishap_table
from backreef.simulation.prepared import prepare
from tests.unit.aquarium.plans import catalogue, plan_of

PLAN = """\
start_on = 2027-01-04
[tank]
display = "200 L"
[goals]
horizon = "{years} years"
[keeper]
presence = ["{days} 8:00-18:00"]
{helpers}
{devices}
"""
HEATER = '[[devices]]\nkind = "heater_ctl"\n'
SKIMMER = '[[devices]]\nkind = "skimmer_sump"\n'
AUNT = 'helpers = [{ name = "aunt", days = "Thu" }]'
CARETAKER = 'helpers = [{ name = "caretaker", days = "Thu", tasks = ["glass_outer"] }]'


def lines(devices: str, *, days: str = "Mon", helpers: str = "", years: float = 0.2) -> list[FailureLine]:
    plan = plan_of(PLAN.format(devices=devices, days=days, helpers=helpers, years=years))
    return list(failure_lines(prepare(plan, catalogue())))


def test_only_what_the_plan_has_fails_and_the_most_frequent_comes_first() -> None:
    assert lines("") == []
    assert {line.id for line in lines(HEATER)} == {"heater_off", "heater_stuck_on"}
    both = lines(HEATER + SKIMMER)
    assert [line.times for line in both] == sorted((line.times for line in both), reverse=True)


def test_it_fails_as_often_as_the_table_says_for_the_years() -> None:
    rates = {row["id"]: row["per_year"] for row in mishap_table()["mishaps"] if "per_year" in row}
    for line in lines(HEATER, years=2.0):
        assert abs(line.times - 2.0 * rates[line.id]["value"]) < 0.01
        assert line.times_low < line.times < line.times_high


def test_who_comes_on_mondays_only_leaves_it_unseen_for_six_days_at_most() -> None:
    (stuck, *_) = lines(HEATER)
    assert stuck.unseen_longest_d == 6
    assert 2.9 <= stuck.unseen_d <= 3.1, "the mean of 0 to 6"
    assert stuck.longest_from.weekday() == 1, "a Tuesday"


def test_a_helper_who_looks_at_devices_sees_it_and_one_who_wipes_glass_does_not() -> None:
    (alone, *_), (seen, *_), (unseen, *_) = (lines(HEATER, helpers=each) for each in ("", AUNT, CARETAKER))
    assert seen.unseen_d < alone.unseen_d
    assert unseen == alone
