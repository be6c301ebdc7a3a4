"""What goes wrong for some hours: which switches of the tank it moves, and when.

Mishaps come from whoever asks for a forecast, not from the plan. What a kind of mishap stops stands in
`data/mishaps.csv`; battery devices of the plan step in while the mains is off.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from backreef.aquarium.plan import Mishap, Plan
from backreef.catalogue.entries import Catalogue
from backreef.simulation.layout import SWITCHES
from backreef.simulation.system import devices_of, number_of
from backreef.simulation.tables import InItsUnit, system_number

HOURS = 24.0
OFF, STUCK = "off", "stuck"
DARK, NO_DOSES, NO_FEEDERS, NO_PUMPS = "light", "doser", "feeders", "return_pump"
MAINS = "mains"
"""The word with which the catalogue begins what it says of the power of a device that hangs on the mains."""


@cache
def _rows() -> dict[str, dict[str, str]]:
    with (files("backreef.simulation") / "data" / "mishaps.csv").open(encoding="utf-8") as file:
        return {row["kind"]: row for row in csv.DictReader(file)}


def mishap_kinds() -> Mapping[str, str]:
    """Give what each kind of mishap means, by kind."""
    return {kind: row["meaning"] for kind, row in _rows().items()}


def wrong_mishaps(mishaps: Iterable[Mishap], plan: Plan) -> list[str]:
    """Give a sentence for each thing that is wrong with mishaps; empty: nothing."""
    wrong: list[str] = []
    for mishap in mishaps:
        if mishap.kind not in _rows():
            wrong.append(f"there is no mishap '{mishap.kind}'; use one of: {', '.join(_rows())}")
        if not 0.0 <= mishap.at_hour <= HOURS:
            wrong.append(f"{mishap.kind}: at_hour is {mishap.at_hour:g}, but a day has the hours 0 to 24")
        if not 0.0 < mishap.hours < float("inf"):
            wrong.append(f"{mishap.kind}: hours is {mishap.hours:g}, but a mishap lasts longer than 0 hours")
        day = (mishap.starts_on - plan.start_on).days
        if not 0 <= day < plan.horizon_days:
            wrong.append(f"{mishap.kind}: {mishap.starts_on} is not a day of the forecast")
    return wrong


@dataclass(frozen=True, slots=True)
class _Spell:
    """A mishap in hours since the start of the first day."""

    row: Mapping[str, str]
    from_h: float
    until_h: float

    def now(self, hour_h: float) -> bool:
        return self.from_h <= hour_h < self.until_h

    def stops(self, what: str, hour_h: float) -> bool:
        return self.row[what] == OFF and self.now(hour_h)


class Mishaps:
    """The mishaps of a plan, asked hour by hour since the start of the first day."""

    def __init__(self, plan: Plan, catalogue: Catalogue) -> None:
        self.spells = [self._spell(mishap, plan) for mishap in plan.mishaps]
        self.has_streams = bool(devices_of(plan, "stream_pump_dc"))
        self.on_mains = _feeders_on_mains(plan, catalogue)
        self.pumps_bear_h = max(
            (_battery_h(device.numbers) for device in devices_of(plan, "ups")), default=0.0
        )
        streams = [device for device in devices_of(plan, "stream_pump_dc") if number_of(device, "battery_h")]
        self.streams_bear_h = max((_battery_h(device.numbers) for device in streams), default=0.0)
        air = devices_of(plan, "air_battery")
        self.air_bears_h = max((_battery_h(device.numbers) for device in air), default=0.0)
        served_l = system_number("air_battery_serves_l") * sum(device.count for device in air)
        self.bubbles = min(1.0, served_l / plan.tank.water_volume_l)

    def _spell(self, mishap: Mishap, plan: Plan) -> _Spell:
        start_h = (mishap.starts_on - plan.start_on).days * HOURS + mishap.at_hour
        return _Spell(_rows()[mishap.kind], start_h, start_h + mishap.hours)

    def edges(self, day: int) -> list[float]:
        """Give the hours of a day at which a switch moves."""
        if not self.spells:
            return []
        first_h = day * HOURS
        hours = {
            at_h
            for spell in self.spells
            for at_h in (spell.from_h, spell.until_h, *(spell.from_h + late_h for late_h in self._late_h()))
            if at_h <= spell.until_h
        }
        return sorted(at_h - first_h for at_h in hours if first_h <= at_h < first_h + HOURS)

    def _late_h(self) -> tuple[float, ...]:
        """Hours into a mishap at which something that stepped in or held out gives up."""
        foul_h = system_number("canister_bears_h")
        return (self.pumps_bear_h, self.streams_bear_h, self.air_bears_h, foul_h)

    def any_at(self, hour_h: float) -> bool:
        """Whether something is wrong at an hour."""
        return bool(self.spells) and any(spell.now(hour_h) for spell in self.spells)

    def stops(self, what: str, hour_h: float) -> bool:
        """Whether something stands at an hour: a column of the table."""
        return bool(self.spells) and any(spell.stops(what, hour_h) for spell in self.spells)

    def _stuck(self, what: str, hour_h: float) -> bool:
        return any(spell.row[what] == STUCK and spell.now(hour_h) for spell in self.spells)

    def _stands_h(self, what: str, hour_h: float) -> float:
        """For how many hours something has stood; 0 where it runs."""
        return max((hour_h - spell.from_h for spell in self.spells if spell.stops(what, hour_h)), default=0.0)

    def pumps(self, hour_h: float) -> bool:
        """Whether the return pump runs, on the mains or on a battery."""
        if not self.stops(NO_PUMPS, hour_h):
            return True
        return self.stops("streams", hour_h) and self._stands_h(NO_PUMPS, hour_h) < self.pumps_bear_h

    def dark(self, hour_h: float) -> bool:
        """Whether the lamps are dark against their timer."""
        return self.stops(DARK, hour_h)

    def feeds(self, by: str, hour_h: float) -> bool:
        """Whether a feeder gives its meal."""
        return by not in self.on_mains or not self.stops(NO_FEEDERS, hour_h)

    def doses(self, hour_h: float) -> bool:
        """Whether dosers work."""
        return not self.stops(NO_DOSES, hour_h)

    def devices_at(self, hour_h: float) -> dict[str, bool]:
        """Give which devices do their part of a day at a midnight: dosers, both pumps of a water change."""
        return {
            "doses": self.doses(hour_h),
            "drains": not self.stops("drain", hour_h),
            "refills": not self.stops("refill", hour_h),
        }

    @property
    def may_spill(self) -> bool:
        """Whether anything is wrong that can pour more than the tank holds."""
        return any(
            spell.row["top_off"] == STUCK or (spell.row["drain"] == OFF != spell.row["refill"])
            for spell in self.spells
        )

    def switches(self, hour_h: float) -> dict[str, InItsUnit]:
        """Give the switches of the kernel that mishaps move, at an hour."""
        values = dict.fromkeys(SWITCHES, 0.0) | {"streams": 1.0 if self.has_streams else 0.0}
        if not self.any_at(hour_h):
            return values
        stands_h = self._stands_h(NO_PUMPS, hour_h)
        still = self.stops("streams", hour_h)
        stirred = self._stands_h("streams", hour_h) < self.streams_bear_h if still else self.has_streams
        powerless_h = self._stands_h("streams", hour_h)
        moved = {
            "streams": stirred,
            "no_skimmer": self.stops("skimmer", hour_h),
            "no_heater": self.stops("heater", hour_h),
            "heater_stuck": self._stuck("heater", hour_h),
            "no_top_off": self.stops("top_off", hour_h),
            "top_off_open": self._stuck("top_off", hour_h),
            "stalled": not self.pumps(hour_h) and stands_h >= system_number("canister_bears_h"),
        }
        values |= {name: 1.0 if on else 0.0 for name, on in moved.items()}
        values["bubbles"] = self.bubbles if still and powerless_h < self.air_bears_h else 0.0
        return values


def _battery_h(numbers: Mapping[str, float]) -> float:
    return numbers.get("battery_h") or system_number("battery_lasts_h")


def _feeders_on_mains(plan: Plan, catalogue: Catalogue) -> frozenset[str]:
    """Ids of the plan's devices that stand without the mains."""
    return frozenset(
        device.id for device in plan.devices if catalogue.devices[device.kind].power.startswith(MAINS)
    )
