from dataclasses import replace
from datetime import date

import pytest

from backreef.aquarium.plan import Mishap, Plan
from backreef.simulation.layout import FORCINGS
from backreef.simulation.mishaps import Mishaps, mishap_kinds, wrong_mishaps
from backreef.simulation.prepared import prepare
from backreef.simulation.tables import system_number
from tests.unit.aquarium.plans import catalogue
from tests.unit.runs.world import a_plan

AIR = '[[devices]]\nkind = "air_battery"\nbattery = "6 h"\n'
UPS = '[[devices]]\nkind = "ups"\nbattery = "4 h"\n'
STREAMS = '[[devices]]\nkind = "stream_pump_dc"\n'
FEEDERS = """\
[[devices]]
id = "on_mains"
kind = "feeder_drum_mains"
[[devices]]
id = "on_cells"
kind = "feeder_drum_batt"
[[meals]]
id = "a"
food = "pellet_small"
amount = "0.1 g"
by = "on_mains"
times = ["12:00"]
[[meals]]
id = "b"
food = "flake"
amount = "0.1 g"
by = "on_cells"
times = ["12:00"]
"""


def with_mishap(lines: str = "", *, kind: str = "mains", hours: float = 10.0) -> Plan:
    plan = a_plan(lines)
    mishap = Mishap(
        kind=kind, starts_on=plan.start_on.replace(day=plan.start_on.day + 1), at_hour=9.0, hours=hours
    )
    return replace(plan, mishaps=(mishap,))


def switches(plan: Plan, hours_in: float) -> dict[str, float]:
    return Mishaps(plan, catalogue()).switches(24.0 + 9.0 + hours_in)


def test_an_ordinary_hour_moves_no_switch() -> None:
    assert set(switches(with_mishap(), -0.5).values()) == {0.0}
    assert set(switches(with_mishap(), 10.0).values()) == {0.0}


def test_without_mains_everything_stands_but_batteries() -> None:
    plan = with_mishap(AIR)
    found, mishaps = switches(plan, 1.0), Mishaps(plan, catalogue())
    assert found["no_skimmer"] == found["no_heater"] == found["no_top_off"] == 1.0
    assert found["streams"] == found["heater_stuck"] == 0.0
    assert found["bubbles"] == pytest.approx(
        min(1.0, system_number("air_battery_serves_l") / plan.tank.water_volume_l)
    )
    assert switches(plan, 7.0)["bubbles"] == 0.0
    assert mishaps.dark(34.0)
    assert not mishaps.pumps(34.0)
    assert not mishaps.doses(34.0)


def test_an_inverter_runs_the_pumps_until_its_battery_is_flat() -> None:
    mishaps = Mishaps(with_mishap(UPS), catalogue())
    assert mishaps.pumps(33.0 + 3.9)
    assert not mishaps.pumps(33.0 + 4.1)
    assert mishaps.pumps(33.0 + 10.1)


def test_stream_pumps_go_on_when_only_the_return_stands() -> None:
    assert switches(with_mishap(STREAMS, kind="return_pump"), 1.0)["streams"] == 1.0
    assert switches(with_mishap("", kind="return_pump"), 1.0)["streams"] == 0.0
    assert switches(with_mishap(STREAMS, kind="return_pump"), 1.0)["no_heater"] == 0.0


def test_a_sealed_filter_goes_foul_after_the_hours_it_bears() -> None:
    bears_h = system_number("canister_bears_h")
    assert switches(with_mishap(), bears_h - 0.1)["stalled"] == 0.0
    assert switches(with_mishap(), bears_h + 0.1)["stalled"] == 1.0
    assert switches(with_mishap(UPS), bears_h + 0.1)["stalled"] == 0.0


def test_what_sticks_is_not_what_stands() -> None:
    assert switches(with_mishap(kind="heater_stuck"), 1.0)["heater_stuck"] == 1.0
    assert switches(with_mishap(kind="heater"), 1.0)["no_heater"] == 1.0
    assert switches(with_mishap(kind="top_off_stuck"), 1.0)["top_off_open"] == 1.0
    assert switches(with_mishap(kind="heater_stuck"), 1.0)["no_heater"] == 0.0


def test_feeders_on_the_mains_give_nothing_and_those_on_cells_do() -> None:
    mishaps = Mishaps(with_mishap(FEEDERS), catalogue())
    assert not mishaps.feeds("on_mains", 36.0)
    assert mishaps.feeds("on_cells", 36.0)
    assert mishaps.feeds("on_mains", 60.0)
    usual, powerless = (
        prepare(plan, catalogue()).timeline for plan in (a_plan(FEEDERS), with_mishap(FEEDERS))
    )
    assert len(usual.drawn) - len(powerless.drawn) == 1


def test_a_mishap_cuts_the_day_where_it_begins_and_ends_and_into_short_pieces() -> None:
    plan = with_mishap(hours=3.5)
    segments = prepare(plan, catalogue()).timeline.schedule.segments
    pumps = 1 + FORCINGS.index("pumps")
    off = segments[segments[:, pumps] == 0.0]
    assert off[:, 0].sum() * 24.0 == pytest.approx(3.5)
    assert off[:, 0].max() * 24.0 <= 1.0 + 1e-9


def test_it_names_all_that_is_wrong_with_mishaps() -> None:
    plan = a_plan("")
    bad = Mishap(kind="comet", starts_on=date(2001, 1, 1), at_hour=25.0, hours=0.0)
    wrong = wrong_mishaps([bad], plan)
    assert len(wrong) == 4
    assert "there is no mishap 'comet'" in wrong[0]
    assert not wrong_mishaps(with_mishap().mishaps, plan)
    assert all(mishap_kinds().values())
