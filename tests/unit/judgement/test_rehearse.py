from __future__ import annotations

from datetime import date, datetime

import pytest

from backreef.aquarium.plan import Plan
from backreef.errors import InputFaults
from backreef.judgement.mishap_marches import marching
from backreef.judgement.mishaps import cases_of, mishap_table
from backreef.judgement.rehearsal import Mishap, Rehearsal
from backreef.judgement.risks import all_risks, lit_there
from backreef.judgement.scene import Scene
from backreef.judgement.water import water_bands
from backreef.schedule.away import Absence, away_plan
from backreef.simulation.mishaps import mishap_kinds
from backreef.simulation.prepared import prepare
from backreef.simulation.tables import system_table
from backreef.usecases.check import load_plan
from backreef.usecases.rehearse import rehearse
from tests.cli_world import EXAMPLES
from tests.rehearsal_world import (
    AUGUST,
    FEEDER,
    LAMP,
    SMALL,
    TOP_OFF,
    WEEK,
    WEEK_WITH_SITTER,
    august,
    small,
)
from tests.unit.aquarium.plans import catalogue, plan_of


def plan_of_reading_room() -> Plan:
    return load_plan(EXAMPLES / "reading_room.toml", catalogue())


def named(rehearsal: Rehearsal) -> dict[str, Mishap]:
    return {mishap.id: mishap for mishap in rehearsal.mishaps}


def test_the_reading_rooms_august_has_a_table_of_at_least_twelve_mishaps() -> None:
    found = august()
    assert (found.first_on, found.until_on) == (date(2027, 8, 2), date(2027, 8, 16))
    assert len(found.mishaps) >= 12
    assert len(named(found)) == len(found.mishaps), "each has an id of its own"
    assert found.holds


def test_mishaps_of_devices_that_a_plan_has_not_are_left_out() -> None:
    bare, lit, full = small(""), small(LAMP), small(FEEDER + TOP_OFF, WEEK_WITH_SITTER)
    mains = {f"mains_off_{hours}h" for hours in (2, 8, 24, 48)}
    assert set(named(bare)) == {"crew_dies", "large_fish_dies"} | mains
    assert set(named(lit)) - set(named(bare)) == {"light_stuck_on", "light_stuck_off"}
    assert {"feeder_jams.feeder", "top_off_empty", "sitter_skips", "dry_and_nobody_comes"} <= set(named(full))


def test_corals_that_came_before_the_days_away_are_there_to_suffer() -> None:
    coral = '[[animals]]\nspecies = "leathers"\narrives_on = 2027-03-01\n'
    plan = plan_of(SMALL + coral)
    day = (date(2027, 3, 1) - plan.start_on).days
    kinds = [list(lit_there(plan, catalogue(), each)) for each in (day, day + 1)]
    assert kinds == [[], ["coral"]]


def test_the_soonest_harm_comes_first() -> None:
    hours = [mishap.outcome.hours_to_risk for mishap in august().mishaps]
    known = [each for each in hours if each is not None]
    assert hours[: len(known)] == known == sorted(known)


def test_a_feeder_that_drops_its_hopper_poisons_and_a_small_filling_prevents_it() -> None:
    mishap = named(august())["feeder_dumps.feeder_left"]
    # 70 g of food in 360 L: gross overfeeding, ammonia within a day or two (common practice, no source)
    assert mishap.outcome.hours_to_risk is not None
    assert 6 <= mishap.outcome.hours_to_risk <= 72
    assert mishap.outcome.share_at_risk > 0.5
    cheapest = mishap.mitigations[0]
    assert cheapest.id == "small_filling"
    assert cheapest.hours_to_risk_after is None
    assert cheapest.harm_avoided_heads > 1


def test_settled_fish_bear_two_weeks_without_one_of_two_feeders() -> None:
    # healthy adults skip days without harm (common practice, no source)
    for feeder in ("feeder_left", "feeder_right"):
        assert named(august())[f"feeder_jams.{feeder}"].outcome.hours_to_risk is None


def test_the_longer_the_mains_is_off_the_less_oxygen_is_left() -> None:
    least = [
        named(august())[f"mains_off_{hours}h"].outcome.extremes["oxygen_mg_per_l.low"]
        for hours in (2, 8, 24, 48)
    ]
    assert least == sorted(least, reverse=True)
    # 4/R hours from 6 to 2 mg/L, R 0.2 to 1.0 mg/L/h, without any stirring (common practice, no source);
    # here stream pumps go on for 30 hours on their battery, so two hours do nothing
    assert least[0] > 5.5


def test_a_longer_power_cut_harms_nobody_later_than_a_shorter_one() -> None:
    # the hour counts by which more than 5 % of the members are hit: not the middle of those that are
    found = [named(august())[f"mains_off_{hours}h"].outcome.hours_to_risk for hours in (8, 24, 48)]
    hit = [hours for hours in found if hours is not None]
    assert hit == sorted(hit, reverse=True)
    assert all(hours is not None for hours in found[found.index(hit[0]) :])


def test_oxygen_is_what_kills_in_a_long_power_cut_and_a_battery_prevents_it() -> None:
    long = named(august())["mains_off_48h"]
    assert long.outcome.why == "gasping for oxygen"
    assert long.outcome.hours_to_risk is not None
    assert 4 <= long.outcome.hours_to_risk <= 48
    assert "battery_air" in {each.id for each in long.mitigations}


def test_a_heater_that_does_not_turn_off_cooks_the_tank_within_a_day_or_two() -> None:
    # heater on: 3 to 12 h by common practice; two heaters of 150 W in 360 L take somewhat longer
    stuck, off = named(august())["heater_stuck_on"], named(august())["heater_off"]
    assert stuck.outcome.hours_to_risk is not None
    assert 3 <= stuck.outcome.hours_to_risk <= 36
    assert stuck.outcome.extremes["temperature_c.high"] > 30.5
    room = plan_of_reading_room().tank
    coldest = room.room_temperature_c - room.room_temperature_swing_c
    assert coldest <= off.outcome.extremes["temperature_c.low"] < room.temperature_c


@pytest.mark.parametrize("kind", ["air_battery", "ups"])
def test_a_battery_never_makes_an_absence_worse(kind: str) -> None:
    battery = f'[[devices]]\nid = "more"\nkind = "{kind}"\nbattery = "48 h"\n'
    without, with_one = small(FEEDER + TOP_OFF), small(FEEDER + TOP_OFF + battery)
    assert with_one.nothing_wrong == without.nothing_wrong, "with no fault it does nothing"
    for hours in (2, 8, 24, 48):
        before, after = (named(each)[f"mains_off_{hours}h"].outcome for each in (without, with_one))
        assert after.harm_heads <= before.harm_heads
        assert after.extremes["oxygen_mg_per_l.low"] >= before.extremes["oxygen_mg_per_l.low"]
        if before.hours_to_risk is not None and after.hours_to_risk is not None:
            assert after.hours_to_risk >= before.hours_to_risk


def test_a_mishap_that_does_nothing_has_nothing_against_it() -> None:
    for mishap in august().mishaps:
        assert mishap.mitigations == () or mishap.outcome.harm_heads > 0


def test_mitigations_are_ranked_by_harm_avoided_for_the_work() -> None:
    for mishap in august().mishaps:
        worth = [each.heads_per_hour_of_work for each in mishap.mitigations]
        assert worth == sorted(worth, reverse=True)
        assert all(each > 0 for each in worth)


def test_advice_counts_every_mishap_by_its_chance_and_no_pair() -> None:
    singles = {each["id"] for each in mishap_table()["mishaps"]}
    advice = {each.id: each for each in august().advice}
    assert advice, "something helps in August"
    for each in advice.values():
        assert {name.split(".")[0] for name in each.against} <= singles
        worth = [
            (named(august())[name].chance.value or 0.0) * found.harm_avoided_heads
            for name in each.against
            for found in named(august())[name].mitigations
            if found.id == each.id
        ]
        assert each.spared_heads == pytest.approx(sum(worth))
        assert bool(each.device) == bool(each.price) == (each.devices_count > 0)


def test_advice_without_a_device_comes_first_and_the_best_of_each_sort_first() -> None:
    bought = [bool(each.device) for each in august().advice]
    assert bought == sorted(bought)
    work = [each.heads_per_hour_of_work for each in august().advice if not each.device]
    devices = [each.heads_per_device for each in august().advice if each.device]
    assert work == sorted(work, reverse=True)
    assert devices == sorted(devices, reverse=True)


def test_a_feeder_jam_is_seen_by_a_visitor_who_fills_feeders() -> None:
    alone, visited = small(FEEDER), small(FEEDER, WEEK_WITH_SITTER)
    jam, seen = named(alone)["feeder_jams.feeder"], named(visited)["feeder_jams.feeder"]
    assert jam.begins_at == datetime(2027, 2, 2, 9)  # noqa: DTZ001  the clock on the wall
    assert jam.lasts_h == 6 * 24 - 9
    assert seen.lasts_h == 24 + 3, "until Wednesday at noon"


def test_a_visitor_with_an_hour_sees_it_then() -> None:
    there = 'presence = ["Mon-Sun 8:00-20:00"]'
    wednesday = (
        f'{there}\nhelpers = [{{ name = "neighbour", days = "Wed", at = "18:00", when_closed = true }}]'
    )
    found = named(rehearse(plan_of((SMALL + FEEDER).replace(there, wednesday)), WEEK, members=1))
    assert found["feeder_jams.feeder"].lasts_h == 24 + 9, "from Tuesday at nine until Wednesday at six"


def test_a_jam_lasts_until_the_return_if_nobody_comes_either() -> None:
    both = named(small(FEEDER, WEEK_WITH_SITTER))
    pair, alone, skips = (
        both[each] for each in ("jam_and_nobody_comes", "feeder_jams.feeder", "sitter_skips")
    )
    assert alone.lasts_h == 24 + 3, "until Wednesday at noon"
    assert pair.lasts_h == 7 * 24, "from leaving to the return"
    assert pair.chance.value == pytest.approx((alone.chance.value or 0) * (skips.chance.value or 0))
    # a pair of small fish in January, without a meal for a week instead of a day
    assert pair.outcome.harm_heads > alone.outcome.harm_heads


CROWD = """\
[[animals]]
id = "crowd"
species = "pajama_cardinal"
count = 20
length = "6 cm"
[[devices]]
kind = "stream_pump_dc"
"""


def test_a_pair_is_told_what_helps_too() -> None:
    pair = named(small(FEEDER + CROWD))["mains_and_jam"]
    assert pair.outcome.hours_to_risk is not None
    assert {"battery_air", "battery_pumps"} <= {each.id for each in pair.mitigations}
    assert all(each.harm_avoided_heads > 0 for each in pair.mitigations)


def test_all_feeders_jam_where_damp_air_jams_them() -> None:
    third = FEEDER.replace('id = "feeder"', 'id = "third"').replace('by = "feeder"', 'by = "third"')
    third = third.replace('id = "pellets"', 'id = "thirds"')
    second = third.replace("third", "second")
    found = named(small(FEEDER + second + third))
    all_jam, one = found["all_feeders_jam"], found["feeder_jams.third"]
    assert len([name for name in found if name.startswith("feeder_jams.")]) == 3
    assert (all_jam.chance.value or 0) < (one.chance.value or 0)
    assert all_jam.lasts_h == one.lasts_h
    assert all_jam.outcome.harm_heads >= one.outcome.harm_heads


@pytest.mark.parametrize("days", [1, 2])
def test_in_a_short_absence_every_mishap_begins_while_nobody_is_there(days: int) -> None:
    short = Absence(first_on=WEEK.first_on, until_on=date(2027, 2, 1 + days))
    for mishap in small(FEEDER + TOP_OFF + LAMP, short).mishaps:
        assert mishap.lasts_h > 0, mishap.id
        assert short.first_on <= mishap.begins_at.date() < short.until_on, mishap.id


def test_a_power_cut_has_its_whole_length_where_the_absence_has() -> None:
    short = Absence(first_on=WEEK.first_on, until_on=date(2027, 2, 4))
    found = named(small(FEEDER, short))
    assert [found[f"mains_off_{hours}h"].lasts_h for hours in (2, 8, 24, 48)] == [2, 8, 24, 48]


def test_what_brings_somebody_to_risk_is_told_hour_by_hour() -> None:
    hours = AUGUST.days * 24
    for mishap in august().mishaps:
        line = mishap.outcome.line
        if mishap.outcome.hours_to_risk is None:
            assert line is None
        elif mishap.outcome.why != "dying":
            assert line is not None
            assert len(line.p05) == len(line.p50) == len(line.p95) == len(line.calm_p50) == hours
    oxygen = named(august())["mains_off_48h"].outcome.line
    assert oxygen is not None
    assert oxygen.harm_low is not None
    lowest = min(value for value in oxygen.p50 if value is not None)
    assert lowest < oxygen.harm_low < min(value for value in oxygen.calm_p50 if value is not None)


def test_work_that_falls_on_many_days_is_one_line() -> None:
    lines = small("").nobody_there_for
    assert len({line.split(":")[0] for line in lines}) == len(lines)
    assert any("times, " in line and "2027" in line for line in lines)


def test_a_dry_top_off_lets_the_salt_rise_as_the_water_evaporates() -> None:
    plan = plan_of(SMALL + TOP_OFF)
    dry = named(small(TOP_OFF))["top_off_empty"].outcome.extremes["salinity_psu.high"]
    share = plan.tank.evaporation_frac_per_d * WEEK.days
    # phenomenon 55: 1 % a day raises salinity by 0.35 psu a day; members differ in how fast their water goes,
    # and the cool room of January takes more than the mean of the year that the plan states
    most = system_table()["evaporation_ratio"].span.high
    assert most is not None
    assert plan.tank.salinity_psu / (1 - share) <= dry <= plan.tank.salinity_psu / (1 - most * share)


def test_a_sitter_feeds_tenfold_at_the_hour_at_which_they_come() -> None:
    helper = '{ name = "aunt", days = "Tue", at = "17:00", when_closed = true }'
    plan = plan_of((SMALL + FEEDER).replace("[goals]", f"helpers = [{helper}]\n[goals]"))
    prepared = prepare(away_plan(plan, WEEK), catalogue())
    scene = Scene(
        plan=plan, catalogue=catalogue(), absence=WEEK, prepared=prepared, first_day=WEEK.first_day(plan)
    )
    (case,) = (each for each in cases_of(scene) if each.id == "sitter_overfeeds")
    too_much = [
        (meal.day, meal.hour)
        for meal in marching(case, scene).prepared.keeper.meals.occasions
        if meal.note == "too much"
    ]
    assert too_much == [(scene.first_day + 1, 17.0)]


def test_tenfold_feeding_leaves_more_nutrients() -> None:
    found = named(small(FEEDER, WEEK_WITH_SITTER))["sitter_overfeeds"]
    assert any(line.startswith("nitrate") for line in found.outcome.found)


def test_chances_lie_between_their_ends_and_grow_with_the_absence() -> None:
    short = Absence(first_on=AUGUST.first_on, until_on=date(2027, 8, 5))
    brief = named(rehearse("examples/reading_room.toml", short, members=1))
    for mishap in august().mishaps:
        assert mishap.chance.value is not None
        assert 0 <= mishap.chance.low <= mishap.chance.value <= mishap.chance.high <= 1
        if mishap.id in brief and "visit" not in mishap.id and not mishap.id.startswith("sitter"):
            assert (brief[mishap.id].chance.value or 0) <= mishap.chance.value


def test_the_same_seed_gives_the_same_rehearsal() -> None:
    again = rehearse(plan_of(SMALL + FEEDER), WEEK, members=8)
    assert again == small(FEEDER)


def test_work_that_nobody_can_do_breaks_the_absence() -> None:
    found = small("")
    assert any("Top off by hand" in line for line in found.nobody_there_for)
    assert not found.holds
    assert small(FEEDER + TOP_OFF, WEEK_WITH_SITTER).holds


def test_it_needs_a_day_before_the_absence() -> None:
    first = Absence(first_on=date(2027, 1, 4), until_on=date(2027, 1, 10))
    with pytest.raises(InputFaults, match="begin it a day later"):
        rehearse(plan_of(SMALL), first, members=1)


def test_the_tables_name_what_exists() -> None:
    table, known = mishap_table(), catalogue()
    ids = {entry["id"] for entry in table["mishaps"]}
    for entry in table["mishaps"]:
        assert set(entry["against"]) <= set(table["mitigations"])
        assert set(entry.get("devices", ())) <= set(known.devices)
        assert entry.get("seen_by", "headcount") in known.tasks
    assert {name for pair in table["pairs"] for name in pair["of"]} <= ids
    devices = {entry["device"] for entry in table["mitigations"].values() if "device" in entry}
    assert devices <= set(known.devices)
    assert {risk.series for risk in all_risks()} <= {band.series for band in water_bands(plan_of(SMALL))}
    kinds = {species.kind for species in known.species.values()}
    failing = {entry["mishap"] for entry in table["mishaps"] if "mishap" in entry}
    assert failing <= set(mishap_kinds())
    assert {kind for risk in all_risks() for kind in risk.kinds} <= kinds
