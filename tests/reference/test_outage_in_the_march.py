"""A power cut marched hour by hour, against the closed forms for oxygen (checks A6 and A7) and for heat.

The closed forms are held to 1 % in test_closed_forms. Here they are given what the march uses of oxygen in
the first hours; that animals and bacteria breathe less when little is left is why it may be later.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest

from backreef.aquarium.plan import Mishap, Plan
from backreef.judgement.risks import look
from backreef.models import closed_forms
from backreef.models.seawater import oxygen_saturation_mg_per_l
from backreef.models.tables import load_tables
from backreef.simulation.draws import Draws
from backreef.simulation.prepared import prepare
from backreef.simulation.tables import system_number
from backreef.simulation.windows import Stretch, keep_state, march_stretch
from tests.unit.aquarium.plans import catalogue, plan_of

OUT_DAY, OUT_HOUR, OUT_HOURS = 16, 19, 24
"""The mains fails on that day at that hour, when the lamp is out."""
PLAN = """\
start_on = 2027-01-04
[tank]
display = "200 L"
rock = "20 kg"
sand_area = "0 m2"
lid = "open"
evaporation = "0 %/day"
room_temperature = "{room} degC"
room_temperature_swing = "0 degC"
light_on_at = "8:00"
light_hours = "10 h"
start = {{ kind = "established", age = "12 months" }}
[[animals]]
id = "fish"
species = "ocellaris_clown"
count = 12
length = "6 cm"
[[meals]]
food = "pellet_small"
amount = "0.5 g"
times = ["8:00"]
[keeper]
presence = ["Mon-Sun 7:00-20:00"]
[goals]
horizon = "0.1 years"
{device}
"""
AIR = '[[devices]]\nkind = "air_battery"\ncount = 2\nbattery = "48 h"\n'


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """The hours of a power cut in one tank; the first value is that of the hour before."""

    plan: Plan
    oxygen_mg_per_l: npt.NDArray[np.float64]
    temperature_c: npt.NDArray[np.float64]

    @property
    def volume_l(self) -> float:
        """All water of the system. [L]"""
        return self.plan.tank.water_volume_l


@cache
def cut(room_c: float, device: str = "") -> Cut:
    """One member with the middle of every number."""
    plan = plan_of(PLAN.format(room=room_c, device=device))
    on = plan.start_on + timedelta(days=OUT_DAY)
    out = Mishap(kind="mains", starts_on=on, at_hour=OUT_HOUR, hours=OUT_HOURS)
    draws, whole = Draws(1, 1), prepare(plan, catalogue())
    kept = keep_state(whole, draws, OUT_DAY)
    stretch = Stretch(first_day=OUT_DAY, until_day=OUT_DAY + 2)
    seen = look(
        march_stretch(replace(whole, plan=replace(plan, mishaps=(out,))), stretch, kept), stretch.hours
    )
    hours = slice(OUT_HOUR - 1, OUT_HOUR + OUT_HOURS)
    return Cut(
        plan=plan,
        oxygen_mg_per_l=seen.series["oxygen_mg_per_l"][hours, 0],
        temperature_c=seen.series["temperature_c"][hours, 0],
    )


def surface_l_per_h(found: Cut, more_per_h: float = 0.0) -> float:
    """What passes the still surface, and what bubbles add. [L/h]"""
    rates = {name: row.value for name, row in load_tables().parameters.items()}
    per_h = closed_forms.gas_transfer_per_h(
        rates["k_s_off"],
        surface_m2=found.plan.tank.surface_area_m2,
        volume_l=found.volume_l,
        extra_per_h=more_per_h * rates["k_air"],
    )
    return float(per_h) * found.volume_l


def saturation_mg_per_l(found: Cut) -> float:
    return float(oxygen_saturation_mg_per_l(float(found.temperature_c[1]), found.plan.tank.salinity_psu))


def use_mg_per_h(found: Cut, transfer_l_per_h: float) -> float:
    """What the tank uses of oxygen, from the second hour without power. [mg/h]"""
    start, end = found.oxygen_mg_per_l[1:3]
    air = transfer_l_per_h * (saturation_mg_per_l(found) - 0.5 * (start + end))
    return float((start - end) * found.volume_l + air)


WARM_C = 25.0
"""A room as warm as the water, so that nothing changes but oxygen."""


@pytest.mark.parametrize(("critical_mg_per_l", "late_frac"), [(4.0, 0.05), (2.0, 0.10)])
def test_oxygen_reaches_a_critical_value_when_the_closed_form_says(
    critical_mg_per_l: float, late_frac: float
) -> None:
    # A6: t = -(V/kA) ln((Cc - Ci)/(C0 - Ci)), Ci = Cs - R/kA
    found = cut(WARM_C)
    transfer = surface_l_per_h(found)
    use = use_mg_per_h(found, transfer)
    hours = closed_forms.outage_hours(
        critical_mg_per_l,
        start_mg_per_l=float(found.oxygen_mg_per_l[1]),
        level_mg_per_l=closed_forms.outage_level_mg_per_l(
            saturation_mg_per_l(found), use, transfer_l_per_h=transfer
        ),
        transfer_l_per_h=transfer,
        volume_l=found.volume_l,
    )
    marched = float(np.interp(-critical_mg_per_l, -found.oxygen_mg_per_l[1:], np.arange(OUT_HOURS)))
    assert 1.0 <= marched / float(hours) <= 1.0 + late_frac, "no earlier than with a steady use"


def test_bubbles_hold_oxygen_where_the_closed_form_says() -> None:
    # A7: it levels off at Cs - R/kA and never falls below
    found, bare = cut(WARM_C, AIR), cut(WARM_C)
    use = use_mg_per_h(bare, surface_l_per_h(bare))
    level = closed_forms.outage_level_mg_per_l(
        saturation_mg_per_l(found), use, transfer_l_per_h=surface_l_per_h(found, more_per_h=1.0)
    )
    assert float(found.oxygen_mg_per_l[12]) == pytest.approx(float(level), rel=0.03)
    assert found.oxygen_mg_per_l.min() > 4.0


def test_the_water_cools_as_a_body_that_loses_heat_through_its_walls() -> None:
    # by hand: 8 W per K and m2 through glass and surface, 4.0 kJ per kg and K, 1.023 kg per litre
    found = cut(18.0)
    tank = found.plan.tank
    loss_w_per_k = system_number("surface_loss_w_per_k") * (tank.glass_area_m2 + tank.surface_area_m2)
    heat_kj_per_k = 4.0 * 1.023 * found.volume_l
    for hours in (3, 6, 12, 20):
        left = math.exp(-3.6 * hours * loss_w_per_k / heat_kj_per_k)
        expected = 18.0 + (float(found.temperature_c[0]) - 18.0) * left
        assert float(found.temperature_c[hours]) == pytest.approx(expected, abs=0.15)
