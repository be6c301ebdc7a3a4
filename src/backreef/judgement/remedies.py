"""Remedies as changes of a plan: each takes a plan and gives the mended one, or None where it does not apply."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from functools import cache
from importlib.resources import files
from typing import Any

from backreef.aquarium.plan import BY_HAND, Condition, DeviceEntry, Plan, Rhythm, Upkeep
from backreef.units import ion_per_element_ratio

Mend = Callable[[Plan], Plan | None]
IRON_OXIDE_ABOVE_MG_PO4_PER_L = 0.12


@cache
def remedy_table() -> dict[str, dict[str, Any]]:
    """Give what each remedy says and its numbers."""
    with (files("backreef.judgement") / "data" / "remedies.toml").open("rb") as file:
        return tomllib.load(file)


def says(name: str) -> str:
    """Give the words of a remedy."""
    return str(remedy_table()[name]["says"])


def _number(name: str, key: str) -> float:
    return float(remedy_table()[name][key])


def mend(name: str, plan: Plan) -> Plan | None:
    """Give the plan with a remedy applied; None where it changes nothing or cannot be simulated."""
    change = MENDS.get(name)
    return None if change is None else change(plan)


def _scaled_meals(plan: Plan, factor: float) -> Plan | None:
    if not plan.meals:
        return None
    meals = tuple(
        meal if meal.grams_as_fed is None else replace(meal, grams_as_fed=meal.grams_as_fed * factor)
        for meal in plan.meals
    )
    if all(meal.grams_as_fed is None for meal in plan.meals):
        meals = tuple(
            replace(meal, enough_for="maintenance" if factor < 1 else "growth") for meal in plan.meals
        )
    return None if meals == plan.meals else replace(plan, meals=meals)


def _feed_less(plan: Plan) -> Plan | None:
    return _scaled_meals(plan, _number("feed_less", "factor_ratio"))


def _feed_more(plan: Plan) -> Plan | None:
    return _scaled_meals(plan, _number("feed_more", "factor_ratio"))


def _change_more_water(plan: Plan) -> Plan | None:
    others = tuple(upkeep for upkeep in plan.upkeep if upkeep.task != "wc_do")
    monthly = Upkeep(
        id="remedy_water_change",
        task="wc_do",
        share_frac=_number("change_more_water", "share_frac"),
        amount_g=None,
        amount_l=None,
        rhythm=Rhythm(kind="interval", text="every 30 days", every_days=30.0),
        by=BY_HAND,
        when=None,
        minutes=None,
        at_hour=None,
    )
    return replace(plan, upkeep=(*others, monthly))


def _scaled_harvest(plan: Plan, factor: float) -> Plan | None:
    changed = tuple(
        replace(upkeep, share_frac=min(0.9, (upkeep.share_frac or 0.4) * factor))
        if upkeep.task in ("harvest_macro", "scrub_screen")
        else upkeep
        for upkeep in plan.upkeep
    )
    return None if changed == plan.upkeep else replace(plan, upkeep=changed)


def _harvest_more(plan: Plan) -> Plan | None:
    return _scaled_harvest(plan, _number("harvest_more", "factor_ratio"))


def _harvest_less(plan: Plan) -> Plan | None:
    return _scaled_harvest(plan, _number("harvest_less", "factor_ratio"))


def _iron_oxide(plan: Plan) -> Plan | None:
    grams = _number("iron_oxide", "grams_per_100l") * plan.tank.water_volume_l / 100.0
    bound = IRON_OXIDE_ABOVE_MG_PO4_PER_L / ion_per_element_ratio("PO4", "P")
    when = Condition(
        series="phosphate_mg_p_per_l",
        comparison=">",
        value=bound,
        text="phosphate > 0.12 mg/L PO4 at the last test",
    )
    change = Upkeep(
        id="remedy_iron_oxide",
        task="gfo_change",
        share_frac=1.0,
        amount_g=grams,
        amount_l=None,
        rhythm=Rhythm(kind="interval", text="every 60 days", every_days=60.0),
        by=BY_HAND,
        when=when,
        minutes=None,
        at_hour=None,
    )
    test = replace(
        change,
        id="remedy_test",
        task="test_quick",
        share_frac=None,
        amount_g=None,
        when=None,
        rhythm=Rhythm(kind="interval", text="every 60 days", every_days=60.0),
    )
    tested = any(upkeep.task in ("test_quick", "test_lab") for upkeep in plan.upkeep)
    return replace(plan, upkeep=(*plan.upkeep, change, *(() if tested else (test,))))


def _dose_alkalinity(plan: Plan) -> Plan | None:
    if any(device.kind == "doser" for device in plan.devices):
        return None
    doser = DeviceEntry(id="remedy_doser", kind="doser", count=1, numbers={}, on_at=None, hours=None)
    return replace(plan, devices=(*plan.devices, doser))


def _fewer_fish(plan: Plan) -> Plan | None:
    coming = [entry for entry in plan.animals if entry.arrives_on is not None]
    if not coming:
        return None
    largest = max(coming, key=lambda entry: (entry.count * (entry.length_cm or 5.0) ** 3, entry.id))
    meals = tuple(
        replace(meal, who=tuple(who for who in meal.who if who != largest.id)) for meal in plan.meals
    )
    return replace(plan, animals=tuple(entry for entry in plan.animals if entry is not largest), meals=meals)


def _wait_longer(plan: Plan) -> Plan | None:
    wait = timedelta(days=int(_number("wait_longer", "days")))
    animals = tuple(
        entry if entry.arrives_on is None else replace(entry, arrives_on=entry.arrives_on + wait)
        for entry in plan.animals
    )
    return None if animals == plan.animals else replace(plan, animals=animals)


def _more_grazers(plan: Plan) -> Plan | None:
    grazers = ("trochus", "cerith", "tuxedo_urchin")
    factor = _number("more_grazers", "factor_ratio")
    animals = tuple(
        replace(entry, count=max(entry.count + 1, round(entry.count * factor)))
        if entry.species in grazers
        else entry
        for entry in plan.animals
    )
    return None if animals == plan.animals else replace(plan, animals=animals)


def _stronger_heater(plan: Plan) -> Plan | None:
    heater = DeviceEntry(
        id="remedy_heater",
        kind="heater_ctl",
        count=1,
        numbers={"power_w": plan.tank.water_volume_l},
        on_at=None,
        hours=None,
    )
    return replace(plan, devices=(*(d for d in plan.devices if d.kind != "heater_ctl"), heater))


def _larger_reservoir(plan: Plan) -> Plan | None:
    factor = _number("larger_reservoir", "factor_ratio")
    devices = tuple(
        replace(device, numbers={**device.numbers, "reservoir_l": device.numbers["reservoir_l"] * factor})
        if "reservoir_l" in device.numbers
        else device
        for device in plan.devices
    )
    return None if devices == plan.devices else replace(plan, devices=devices)


def _more_meals(plan: Plan) -> Plan | None:
    meals = tuple(
        replace(
            meal,
            times=tuple(
                sorted(
                    {
                        *meal.times,
                        0.5 * (min(meal.times) + max(meal.times))
                        if len(meal.times) > 1
                        else meal.times[0] + 4.0,
                    }
                )
            ),
            grams_as_fed=None
            if meal.grams_as_fed is None
            else meal.grams_as_fed * len(meal.times) / (len(meal.times) + 1),
        )
        for meal in plan.meals
        if meal.times
    )
    return None if meals == plan.meals else replace(plan, meals=meals)


def _more_time(plan: Plan) -> Plan | None:
    minutes = plan.keeper.minutes_per_month * _number("more_time", "factor_ratio")
    return replace(plan, keeper=replace(plan.keeper, minutes_per_month=minutes))


MENDS: dict[str, Mend] = {
    "feed_less": _feed_less,
    "feed_more": _feed_more,
    "more_meals": _more_meals,
    "change_more_water": _change_more_water,
    "harvest_more": _harvest_more,
    "harvest_less": _harvest_less,
    "iron_oxide": _iron_oxide,
    "dose_alkalinity": _dose_alkalinity,
    "fewer_fish": _fewer_fish,
    "wait_longer": _wait_longer,
    "more_grazers": _more_grazers,
    "stronger_heater": _stronger_heater,
    "larger_reservoir": _larger_reservoir,
    "more_time": _more_time,
}
