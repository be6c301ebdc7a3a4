"""An automatic water change of which one pump stands, or both: level, salt, floods and dry pumps, by hand."""

from __future__ import annotations

from datetime import date
from functools import cache

import pytest

from backreef.judgement.rehearsal import Mishap, Outcome
from backreef.schedule.away import Absence
from backreef.simulation.system import brim_l, system_ranges
from backreef.usecases.rehearse import rehearse
from tests.rehearsal_world import FEEDER, SMALL, TOP_OFF
from tests.unit.aquarium.plans import plan_of

FIVE_DAYS = Absence(first_on=date(2027, 2, 1), until_on=date(2027, 2, 6))
WEEK = Absence(first_on=date(2027, 2, 1), until_on=date(2027, 2, 8))
TWO_WEEKS = Absence(first_on=date(2027, 2, 1), until_on=date(2027, 2, 15))
WITH_SUMP = SMALL.replace('rock = "20 kg"', 'rock = "20 kg"\nsump = "50 L"')
PLUMBED = '[[devices]]\nid = "line"\nkind = "ato"\nplumbed = true\n'
MEMBERS = 8


def swap(share: str, more: str = "") -> str:
    return f'[[devices]]\nid = "swap"\nkind = "awc"\nshare_per_day = "{share} %/day"\n{more}'


@cache
def found(tank: str, absence: Absence) -> dict[str, Mishap]:
    rehearsed = rehearse(plan_of(tank), absence, members=MEMBERS)
    return {mishap.id: mishap for mishap in rehearsed.mishaps}


def outcome(tank: str, absence: Absence, mishap: str) -> Outcome:
    return found(tank, absence)[f"water_change_{mishap}"].outcome


def litres_in(told: Outcome, label: str) -> float:
    """Of what is found on return, the number of litres behind a label; 0 where it is not worth telling."""
    lines = [line for line in told.found if line.startswith(label)]
    return float(lines[0].removeprefix(label).split()[0]) if lines else 0.0


def test_a_plan_without_an_automatic_water_change_has_none_of_these() -> None:
    assert not any(name.startswith("water_change") for name in found(SMALL + FEEDER + TOP_OFF, FIVE_DAYS))
    named = set(found(SMALL + FEEDER + TOP_OFF + swap("2"), FIVE_DAYS))
    assert {f"water_change_{each}" for each in ("drains_only", "refills_only", "stands")} <= named


def test_draining_alone_the_top_off_makes_up_for_sea_water_with_fresh() -> None:
    # by hand: each midnight takes 2 % of the salt and the top-off fills to the mark: 35 psu x 0.98^n
    told = outcome(WITH_SUMP + FEEDER + PLUMBED + swap("2"), FIVE_DAYS, "drains_only")
    assert 35 * 0.98**5 * 0.995 <= told.extremes["salinity_psu.low"] <= 35 * 0.98**4 * 1.005
    assert litres_in(told, "water in the tank") == 0.0, "the level stays"


def test_at_the_smallest_swap_salinity_drifts_about_a_psu_a_week() -> None:
    # 0.3 to 1 psu a week when one pump stops (common practice, no source); 0.5 % a day is 1.2 by arithmetic
    told = outcome(WITH_SUMP + FEEDER + PLUMBED + swap("0.5"), WEEK, "drains_only")
    assert 0.3 <= 35 - told.extremes["salinity_psu.low"] <= 1.25


def test_draining_alone_without_fresh_water_left_the_level_falls_and_the_return_pump_runs_dry() -> None:
    box = '[[devices]]\nid = "box"\nkind = "ato"\nreservoir = "4 L"\n'
    tank = WITH_SUMP + FEEDER + box + swap("2")
    plan = plan_of(tank)
    told = outcome(tank, TWO_WEEKS, "drains_only")
    left_l = litres_in(told, "water in the tank")
    dry = system_ranges(plan)["dry_l"]
    assert 0 < left_l < dry.value < plan.tank.water_volume_l
    # it first drains at the midnight twelve hours after it began, and cold is a risk after six hours of it
    assert told.hours_to_risk is not None
    assert told.hours_to_risk >= 12 + 6
    assert told.extremes["temperature_c.low"] < 24, "the heater stands in a sump that nothing passes"


def test_without_a_sump_no_return_pump_can_run_dry() -> None:
    assert system_ranges(plan_of(SMALL))["dry_l"].value == 0.0
    told = outcome(SMALL + FEEDER + swap("2"), TWO_WEEKS, "drains_only")
    assert told.extremes["temperature_c.low"] > 24


def test_refilling_alone_the_water_stands_at_the_brim_and_the_rest_is_on_the_floor() -> None:
    tank = WITH_SUMP + FEEDER + PLUMBED + swap("5", 'reservoir = "60 L"\n')
    plan, told = plan_of(tank), outcome(tank, TWO_WEEKS, "refills_only")
    spare_l = brim_l(plan) - plan.tank.water_volume_l
    assert spare_l == pytest.approx(0.3 * 50)
    # 60 L come in within six days, less what evaporates in twelve days at 0.7 to 1.4 % of the water a day
    least, most = 60 - spare_l - 12 * 0.014 * 1.4 * plan.tank.water_volume_l, 60 - spare_l
    assert max(0.5, least) <= litres_in(told, "water on the floor") <= most


def test_what_evaporates_is_then_made_up_with_sea_water_and_the_salt_rises() -> None:
    tank = WITH_SUMP + FEEDER + PLUMBED + swap("0.5")
    told = outcome(tank, WEEK, "refills_only")
    # by hand: six midnights bring 0.5 % of the salt each, and nothing leaves; the level stays at the mark
    assert 35 * (1 + 0.005 * 5) <= told.extremes["salinity_psu.high"] <= 35 * (1 + 0.005 * 7)


def test_standing_it_only_lets_nutrients_rise() -> None:
    told = outcome(SMALL + FEEDER + PLUMBED + swap("5"), TWO_WEEKS, "stands")
    assert told.hours_to_risk is None
    assert any(line.startswith("nitrate") for line in told.found)
    assert not any(line.startswith(("salinity", "water")) for line in told.found)


def test_an_empty_box_of_new_water_ends_the_flood() -> None:
    most = {}
    for litres in (10, 60):
        tank = WITH_SUMP + FEEDER + PLUMBED + swap("5", f'reservoir = "{litres} L"\n')
        most[litres] = litres_in(outcome(tank, TWO_WEEKS, "refills_only"), "water on the floor")
    assert most[10] == 0.0 < most[60]


def test_small_boxes_prevent_most_of_it() -> None:
    tank = WITH_SUMP + FEEDER + TOP_OFF + swap("2")
    mishap = found(tank, TWO_WEEKS)["water_change_refills_only"]
    helped = {each.id: each for each in mishap.mitigations}
    assert helped["small_boxes"].harm_avoided_heads > 0
    assert helped["small_boxes"].device == ""


def test_a_top_off_that_does_not_stop_floods_what_the_sump_cannot_hold() -> None:
    tank = WITH_SUMP + FEEDER + TOP_OFF
    stuck = found(tank, WEEK)["top_off_stuck_on"].outcome
    spare_l = brim_l(plan_of(tank)) - plan_of(tank).tank.water_volume_l
    # 40 L pour within hours, more than the sump's spare room, less what had evaporated by then
    assert 40 - spare_l - 8 <= litres_in(stuck, "water on the floor") <= 40 - spare_l
