"""What damp air does to food in feeders: it cakes, and the feeder jams."""

from __future__ import annotations

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, Value, known
from backreef.schedule.feeders import FeederTraits
from backreef.simulation.tables import InItsUnit, system_number

TENTH = 0.1
FEELS_ALL, FEELS_SOME = "high", "medium"
"""Words of the catalogue for how much damp harms a feeder; others feel nothing."""


def jam_of(feeder: FeederTraits, plan: Plan, catalogue: Catalogue) -> Value | None:
    """A feeder's chance of a jam per portion in the air of the plan's room; None where nobody knows. [-]"""
    jam = known(feeder.jam_per_portion)
    if jam is None:
        return None
    ratio = caking_ratio(catalogue.devices[feeder.kind].damp_sensitivity, plan.tank.room_humidity_frac)
    low, value, high = (min(1.0, ratio * rate) for rate in (jam.lowest, jam.value, jam.highest))
    return Value(value=value, low=low, high=high, unit=jam.unit, source=jam.source, status=jam.status)


def caking_ratio(sensitivity: str, humidity_frac: float | None) -> InItsUnit:
    """How many times as often a feeder jams as in a dry room. [-]"""
    felt = {FEELS_ALL: 1.0, FEELS_SOME: system_number("cakes_less_frac")}.get(sensitivity, 0.0)
    humidity = system_number("room_humidity_frac") if humidity_frac is None else humidity_frac
    tenths = max(0.0, humidity - system_number("cakes_from_frac")) / TENTH
    return float(system_number("cakes_ratio") ** (felt * tenths))
