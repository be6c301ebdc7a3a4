"""Remedies as changes of a plan: each gives the mended plan, or None where it does not apply."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Collection
from dataclasses import replace
from datetime import timedelta
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import Any

from backreef.aquarium.plan import BY_HAND, Condition, DeviceEntry, Meal, Plan, Rhythm, Upkeep
from backreef.schedule.effects import share_frac_of
from backreef.simulation.system import heat_lost_w, heater_power_w
from backreef.simulation.tables import InItsUnit
from backreef.units import ion_per_element_ratio

Mend = Callable[[Plan], Plan | None]
TOP_OFF = "ato"
WATER_CHANGE, GLASS = "wc_do", "glass_inner"
HARVESTS = ("harvest_macro", "scrub_screen")
TESTS = ("test_quick", "test_lab")
HOURS = 24.0


@cache
def remedy_table() -> dict[str, dict[str, Any]]:
    """Give what each remedy says and its numbers."""
    with (files("backreef.judgement") / "data" / "remedies.toml").open("rb") as file:
        return tomllib.load(file)


def says(name: str) -> str:
    """Give the words of a remedy."""
    return str(remedy_table()[name]["says"])


def mend(name: str, plan: Plan) -> Plan | None:
    """Give the plan with a remedy applied; None where it changes nothing or cannot be simulated."""
    change = MENDS.get(name)
    return None if change is None else change(plan)


def applies(name: str, plan: Plan) -> bool:
    """Whether a remedy is worth naming: it changes this plan, or is advice that fits it."""
    if name in MENDS:
        return mend(name, plan) is not None
    return name not in ADVICE or ADVICE[name](plan)


def _number(name: str, key: str) -> InItsUnit:
    return float(remedy_table()[name][key]["value"])


def _scaled_meals(plan: Plan, factor_ratio: float) -> Plan | None:
    """All meals scaled; where none has an amount, they are to be enough to hold weight, or to grow."""
    stated = [meal.grams_as_fed is not None for meal in plan.meals]
    meals = tuple(_scaled_meal(meal, factor_ratio, any_stated=any(stated)) for meal in plan.meals)
    return None if meals == plan.meals else replace(plan, meals=meals)


def _scaled_meal(meal: Meal, factor_ratio: float, *, any_stated: bool) -> Meal:
    if meal.grams_as_fed is not None:
        return replace(meal, grams_as_fed=meal.grams_as_fed * factor_ratio)
    if any_stated:
        return meal
    return replace(meal, enough_for="maintenance" if factor_ratio < 1 else "growth")


def _feed_less(plan: Plan) -> Plan | None:
    return _scaled_meals(plan, _number("feed_less", "factor_ratio"))


def _feed_more(plan: Plan) -> Plan | None:
    return _scaled_meals(plan, _number("feed_more", "factor_ratio"))


def _every(days: float) -> Rhythm:
    return Rhythm(kind="interval", text=f"every {days:g} days", every_days=days)


def _by_hand(remedy_id: str, task: str, every_days: float) -> Upkeep:
    """A task that the remedy adds."""
    return Upkeep(
        id=remedy_id,
        task=task,
        share_frac=None,
        amount_g=None,
        amount_l=None,
        rhythm=_every(every_days),
        by=BY_HAND,
        when=None,
        minutes=None,
        at_hour=None,
    )


def _start_water_changes(plan: Plan) -> Plan | None:
    if any(upkeep.task == WATER_CHANGE for upkeep in plan.upkeep):
        return None
    change = _by_hand("remedy_water_change", WATER_CHANGE, _number("start_water_changes", "every_d"))
    monthly = replace(change, share_frac=_number("start_water_changes", "share_frac"))
    return replace(plan, upkeep=(*plan.upkeep, monthly))


def _change_more_water(plan: Plan) -> Plan | None:
    return _scaled_shares(plan, (WATER_CHANGE,), "water_change", _number("change_more_water", "factor_ratio"))


def _scaled_shares(plan: Plan, tasks: Collection[str], about: str, factor_ratio: float) -> Plan | None:
    """The plan with the shares of some tasks scaled; where it leaves a share open, the usual one is."""
    most = _number(about, "most_frac")
    changed = tuple(
        replace(upkeep, share_frac=_scaled_frac(share, factor_ratio, most_frac=most))
        if upkeep.task in tasks and (share := share_frac_of(upkeep.task, plan=plan, upkeep=upkeep))
        else upkeep
        for upkeep in plan.upkeep
    )
    return None if changed == plan.upkeep else replace(plan, upkeep=changed)


def _scaled_frac(share_frac: float, factor_ratio: float, *, most_frac: float) -> float:
    """A share scaled, at most to some bound; one that is beyond it already stays."""
    return min(share_frac * factor_ratio, max(share_frac, most_frac))


def _harvest_more(plan: Plan) -> Plan | None:
    return _scaled_shares(plan, HARVESTS, "harvest", _number("harvest_more", "factor_ratio"))


def _harvest_less(plan: Plan) -> Plan | None:
    return _scaled_shares(plan, HARVESTS, "harvest", _number("harvest_less", "factor_ratio"))


def _iron_oxide(plan: Plan) -> Plan | None:
    above, every = _number("iron_oxide", "above_mg_po4_per_l"), _number("iron_oxide", "every_d")
    when = Condition(
        series="phosphate_mg_p_per_l",
        comparison=">",
        value=above / ion_per_element_ratio("PO4", "P"),
        text=f"phosphate > {above:g} mg/L PO4 at the last test",
    )
    grams = _number("iron_oxide", "grams_per_100l") * plan.tank.water_volume_l / 100.0
    change = _by_hand("remedy_iron_oxide", "gfo_change", every)
    added = [replace(change, share_frac=1.0, amount_g=grams, when=when)]
    if not any(upkeep.task in TESTS for upkeep in plan.upkeep):
        added.append(_by_hand("remedy_test", TESTS[0], every))
    return replace(plan, upkeep=(*plan.upkeep, *added))


def _device(remedy_id: str, kind: str, numbers: dict[str, float]) -> DeviceEntry:
    return DeviceEntry(id=remedy_id, kind=kind, count=1, numbers=numbers, on_at=None, hours=None)


def _dose_alkalinity(plan: Plan) -> Plan | None:
    if any(device.kind == "doser" for device in plan.devices):
        return None
    return replace(plan, devices=(*plan.devices, _device("remedy_doser", "doser", {})))


def _fewer_fish(plan: Plan) -> Plan | None:
    coming = [entry for entry in plan.animals if entry.arrives_on is not None]
    if not coming:
        return None
    usual = _number("fewer_fish", "length_cm")
    largest = max(coming, key=lambda entry: (entry.count * (entry.length_cm or usual) ** 3, entry.id))
    meals = tuple(
        replace(meal, who=tuple(who for who in meal.who if who != largest.id)) for meal in plan.meals
    )
    return replace(plan, animals=tuple(entry for entry in plan.animals if entry is not largest), meals=meals)


def _wait_longer(plan: Plan) -> Plan | None:
    wait = timedelta(days=int(_number("wait_longer", "wait_d")))
    animals = tuple(
        entry if entry.arrives_on is None else replace(entry, arrives_on=entry.arrives_on + wait)
        for entry in plan.animals
    )
    return None if animals == plan.animals else replace(plan, animals=animals)


def _more_grazers(plan: Plan) -> Plan | None:
    grazers, factor = remedy_table()["more_grazers"]["species"], _number("more_grazers", "factor_ratio")
    animals = tuple(
        replace(entry, count=max(entry.count + 1, round(entry.count * factor)))
        if entry.species in grazers
        else entry
        for entry in plan.animals
    )
    return None if animals == plan.animals else replace(plan, animals=animals)


def _stronger_heater(plan: Plan) -> Plan | None:
    power_w = round(_number("stronger_heater", "power_per_loss_ratio") * heat_lost_w(plan))
    if power_w <= heater_power_w(plan):
        return None
    heater = _device("remedy_heater", "heater_ctl", {"power_w": power_w})
    return replace(plan, devices=(*(d for d in plan.devices if d.kind != "heater_ctl"), heater))


def _cooler(plan: Plan) -> Plan | None:
    if any(device.kind == "chiller" for device in plan.devices):
        return None
    return replace(plan, devices=(*plan.devices, _device("remedy_chiller", "chiller", {})))


def _top_off(plan: Plan) -> Plan | None:
    if any(device.kind == TOP_OFF for device in plan.devices):
        return None
    return replace(plan, devices=(*plan.devices, _device("remedy_top_off", TOP_OFF, {})))


def _fuller_sump(plan: Plan) -> Plan | None:
    return _top_off(plan) if plan.tank.sump_l > 0 else None


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
    meals = tuple(_with_one_more(meal) for meal in plan.meals if meal.times)
    return None if meals == plan.meals else replace(plan, meals=meals)


def _with_one_more(meal: Meal) -> Meal:
    """The same food in one more portion: in the middle of the widest gap, or apart from the only one."""
    times = sorted({*meal.times, _one_more_h(sorted(meal.times))})
    grams = None if meal.grams_as_fed is None else meal.grams_as_fed * len(meal.times) / len(times)
    return replace(meal, times=tuple(times), grams_as_fed=grams)


def _one_more_h(times: list[float]) -> float:
    if len(times) == 1:
        apart_h = _number("more_meals", "later_h")
        later_h = times[0] + apart_h
        return later_h if later_h < HOURS else times[0] - apart_h
    since_h, until_h = max(pairwise(times), key=lambda gap: gap[1] - gap[0])
    return 0.5 * (since_h + until_h)


def _less_glass(plan: Plan) -> Plan | None:
    factor = _number("less_glass", "factor_ratio")
    upkeep = tuple(
        replace(entry, rhythm=_slower(entry.rhythm, factor)) if entry.task == GLASS else entry
        for entry in plan.upkeep
    )
    return None if upkeep == plan.upkeep else replace(plan, upkeep=upkeep)


def _slower(rhythm: Rhythm, factor_ratio: float) -> Rhythm:
    """A rhythm with so many times the days, weeks or months between."""
    times = round(factor_ratio)
    return replace(
        rhythm,
        text=f"{rhythm.text}, {times} times as seldom",
        every_days=None if rhythm.every_days is None else rhythm.every_days * factor_ratio,
        every_weeks=rhythm.every_weeks * (times if rhythm.kind == "weekly" else 1),
        every_months=rhythm.every_months * (times if rhythm.kind == "monthly" else 1),
    )


def _more_time(plan: Plan) -> Plan | None:
    minutes = plan.keeper.minutes_per_month * _number("more_time", "factor_ratio")
    return replace(plan, keeper=replace(plan.keeper, minutes_per_month=minutes))


MENDS: dict[str, Mend] = {
    "feed_less": _feed_less,
    "feed_more": _feed_more,
    "more_meals": _more_meals,
    "change_more_water": _change_more_water,
    "start_water_changes": _start_water_changes,
    "harvest_more": _harvest_more,
    "harvest_less": _harvest_less,
    "iron_oxide": _iron_oxide,
    "dose_alkalinity": _dose_alkalinity,
    "fewer_fish": _fewer_fish,
    "wait_longer": _wait_longer,
    "more_grazers": _more_grazers,
    "stronger_heater": _stronger_heater,
    "cooler": _cooler,
    "top_off": _top_off,
    "fuller_sump": _fuller_sump,
    "larger_reservoir": _larger_reservoir,
    "less_glass": _less_glass,
    "more_time": _more_time,
}

ADVICE: dict[str, Callable[[Plan], bool]] = {
    "first_meal": lambda plan: not plan.meals,
    "first_grazers": lambda plan: _more_grazers(plan) is None,
    "start_harvest": lambda plan: _harvest_more(plan) is None,
}
"""When advice fits that cannot be simulated; other such advice always does."""
