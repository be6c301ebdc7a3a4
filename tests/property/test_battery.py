"""What must hold for a battery in any absence of any plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import numpy.typing as npt
from hypothesis import given
from hypothesis import strategies as st

from backreef.aquarium.plan import DeviceEntry, Mishap, Plan
from backreef.judgement.risks import NEVER, Seen, all_risks, look
from backreef.simulation.draws import Draws
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.windows import Stretch, keep_state, march_stretch
from tests.searching import tries
from tests.unit.aquarium.plans import catalogue, plan_of

LEAVES, STAYS_AWAY = 3, 2
DAYS = LEAVES + STAYS_AWAY
MEMBERS = 8
REST_MG_PER_L = 0.02
GASPING = next(risk.what for risk in all_risks() if risk.series == "oxygen_mg_per_l")
TANK = """\
start_on = 2027-01-04
[tank]
display = "{litres} L"
sump = "{sump} L"
rock = "{rock} kg"
temperature = "{warmth} degC"
start = {{ kind = "seeded" }}
[keeper]
presence = ["Mon-Sun 8:00-20:00"]
closed = [{{ first = 2027-01-07, last = 2027-01-31 }}]
[[animals]]
species = "{species}"
count = {count}
[[meals]]
food = "pellet_small"
amount = "{grams} g"
by = "feeder"
times = ["10:00"]
[[devices]]
id = "feeder"
kind = "{feeder}"
hopper = "60 g"
[goals]
horizon = "0.05 years"
"""


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """Small tanks, some of them crowded, with and without pumps, skimmers and batteries of their own."""
    litres = draw(st.integers(60, 400))
    lines = TANK.format(
        litres=litres,
        sump=draw(st.sampled_from([0, litres // 5])),
        rock=litres // 10,
        warmth=draw(st.integers(24, 27)),
        species=draw(st.sampled_from(["ocellaris_clown", "green_chromis", "yellow_tang"])),
        count=draw(st.integers(1, 6)),
        grams=draw(st.sampled_from([0.1, 0.5, 2.0])),
        feeder=draw(st.sampled_from(["feeder_drum_batt", "feeder_drum_mains"])),
    )
    for kind in sorted(draw(st.sets(st.sampled_from(["skimmer_sump", "stream_pump_dc", "ups"])))):
        lines += f'[[devices]]\nkind = "{kind}"\n'
    return plan_of(lines)


batteries = st.builds(
    DeviceEntry,
    id=st.just("battery"),
    kind=st.sampled_from(["air_battery", "ups"]),
    count=st.integers(1, 3),
    numbers=st.builds(lambda hours: {"battery_h": hours}, st.sampled_from([6.0, 24.0, 60.0])),
    on_at=st.none(),
    hours=st.none(),
)


def away(ready: Prepared, plan: Plan) -> Seen:
    """The absence from the state that the plan without a battery has on leaving."""
    kept = keep_state(ready, Draws(1, MEMBERS), LEAVES)
    stretch = Stretch(first_day=LEAVES, until_day=DAYS)
    return look(march_stretch(replace(ready, plan=plan), stretch, kept), stretch.hours)


@tries(5)
@given(plans(), batteries)
def test_with_no_fault_a_battery_changes_nothing(plan: Plan, battery: DeviceEntry) -> None:
    ready = prepare(plan, catalogue())
    without, with_it = (away(ready, each) for each in (plan, _with(plan, battery)))
    assert np.array_equal(without.first_h, with_it.first_h)
    for name, values in without.series.items():
        assert np.array_equal(values, with_it.series[name], equal_nan=True), name


@tries(5)
@given(plans(), batteries, st.integers(0, 30), st.integers(1, 48))
def test_in_a_power_cut_a_battery_that_lasts_leaves_no_less_oxygen_and_nobody_gasps_sooner(
    plan: Plan, battery: DeviceEntry, begins_h: int, lasts_h: int
) -> None:
    since = plan.start_on + timedelta(days=LEAVES + begins_h // 24)
    cut = Mishap(kind="mains", starts_on=since, at_hour=float(begins_h % 24), hours=float(lasts_h))
    dark = replace(plan, mishaps=(cut,))
    ready = prepare(plan, catalogue())
    without, with_it = (away(ready, each) for each in (dark, _with(dark, battery)))
    lasts = slice(begins_h, begins_h + min(lasts_h, int(battery.numbers["battery_h"])))
    worst, worst_without = (seen.series["oxygen_mg_per_l"][lasts].min(axis=0) for seen in (with_it, without))
    # Two runs take steps of their own: a thousandth of the worst hour is what they may differ by, and where
    # next to nothing is left in either a rest. After it has run down those that it kept alive breathe on.
    assert (worst >= 0.999 * worst_without - REST_MG_PER_L).all()
    # other harm may come sooner: air drives out carbon dioxide too, and ammonia harms more at a high pH
    assert (gasping_h(with_it) >= gasping_h(without)).all()


def gasping_h(seen: Seen) -> npt.NDArray[np.int64]:
    """The hour at which the first animal lacks oxygen in each member."""
    lacking = [danger.first_h for danger in seen.dangers if danger.what == GASPING]
    return np.asarray(np.min([np.full(MEMBERS, NEVER), *lacking], axis=0))


def _with(plan: Plan, battery: DeviceEntry) -> Plan:
    return replace(plan, devices=(*plan.devices, battery))
