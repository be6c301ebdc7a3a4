"""What may be changed beside animals and food: ways out for nutrients, devices worth having, chores.

A choice is a change of a plan. Where the judgement already tries a remedy, the same function is used.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from backreef.aquarium.geometry import CM2_PER_M2, CM3_PER_L
from backreef.aquarium.plan import BY_HAND, DeviceEntry, Plan, Upkeep
from backreef.judgement.remedies import WATER_CHANGE, mend, says
from backreef.planning.numbers import number
from backreef.planning.problem import lines_of
from backreef.simulation.system import devices_of
from backreef.simulation.tables import InItsUnit

Kind = Literal["feeding", "export", "device", "rarer", "oftener"]
OWN_PREFIX, REMEDY_PREFIX = "proposed_", "remedy_"
WATER = "water change"
"""The group of the choices of which at most one is taken: how water is changed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A change of a plan that is taken or left."""

    id: str
    kind: Kind
    words: str
    change: Callable[[Plan], Plan | None]
    group: str = ""
    """Of the choices of a group at most one is taken; empty: it stands alone."""

    def applied(self, plan: Plan) -> Plan:
        """The plan with it; the same plan where it changes nothing."""
        changed = self.change(plan)
        return plan if changed is None else _own_names(changed)


REMEDIES: tuple[tuple[str, Kind, str], ...] = (
    ("start_water_changes", "export", WATER),
    ("change_more_water", "export", WATER),
    ("harvest_more", "export", ""),
    ("iron_oxide", "export", ""),
    ("dose_alkalinity", "device", ""),
    ("top_off", "device", ""),
    ("larger_reservoir", "device", ""),
)
"""Remedies of the judgement that the planner may take before anything breaks."""
AT_NEED = frozenset(
    {
        "start_water_changes",
        "change_more_water",
        "harvest_more",
        "iron_oxide",
        "refugium_lit_longer",
        "larger_refugium",
        "new_refugium",
    }
)
"""Choices that take more out of the water and spare nobody a minute: no use where no bound is near."""


def _own_names(plan: Plan) -> Plan:
    """Lines that a remedy added are named after the proposal."""

    def name(old: str) -> str:
        return OWN_PREFIX + old.removeprefix(REMEDY_PREFIX) if old.startswith(REMEDY_PREFIX) else old

    return replace(
        plan,
        upkeep=tuple(replace(_one_size(line), id=name(line.id)) for line in plan.upkeep),
        devices=tuple(replace(line, id=name(line.id)) for line in plan.devices),
    )


def _one_size(line: Upkeep) -> Upkeep:
    """A plan file says either an amount or a share."""
    both = line.share_frac is not None and (line.amount_g is not None or line.amount_l is not None)
    return replace(line, share_frac=None) if both else line


def choices_of(plan: Plan, pinned: frozenset[str], *more: Choice) -> tuple[Choice, ...]:
    """Choices of export and devices, and those given beside, that change this plan and no pinned line."""
    return tuple(choice for choice in (*_remedies(), *_EXPORTS, *more) if leaves_alone(choice, plan, pinned))


def _remedies() -> Iterator[Choice]:
    for remedy, kind, group in REMEDIES:
        yield Choice(id=remedy, kind=kind, words=says(remedy), change=partial(mend, remedy), group=group)


def leaves_alone(choice: Choice, plan: Plan, pinned: frozenset[str]) -> bool:
    """Whether a choice changes a plan, and no pinned line of it."""
    changed = choice.change(plan)
    if changed is None:
        return False
    after, before = lines_of(changed), lines_of(plan)
    return all(after.get(pin) == before[pin] for pin in pinned if pin in before)


def _automatic_change(plan: Plan) -> Plan | None:
    """A little water each day by pumps; changes by hand that do not wait for a test fall away."""
    if devices_of(plan, "awc"):
        return None
    pumps = a_device(
        f"{OWN_PREFIX}change", "awc", {"share_frac_per_d": number("automatic_change_frac_per_d")}
    )
    stays = tuple(
        line
        for line in plan.upkeep
        if line.task != WATER_CHANGE or line.when is not None or line.by != BY_HAND
    )
    return replace(plan, upkeep=stays, devices=(*plan.devices, pumps))


def _lit_longer(plan: Plan) -> Plan | None:
    most, more = number("refugium_most_h"), number("refugium_longer_h")
    return _refugia(
        plan, lambda one: None if one.hours is None else replace(one, hours=min(most, one.hours + more))
    )


def _larger_refugium(plan: Plan) -> Plan | None:
    """More lit area in the same water, as long as it stays deep enough for algae to tumble or hang in."""
    ratio, least_cm = number("larger_refugium_ratio"), number("refugium_least_depth_cm")

    def larger(one: DeviceEntry) -> DeviceEntry | None:
        area_m2 = one.numbers.get("area_m2")
        litres = one.numbers.get("volume_l", plan.tank.refugium_l)
        if area_m2 is None or depth_cm(litres, area_m2 * ratio) < least_cm:
            return None
        return replace(one, numbers={**one.numbers, "area_m2": round(area_m2 * ratio, 4)})

    return _refugia(plan, larger)


def depth_cm(volume_l: InItsUnit, area_m2: InItsUnit) -> InItsUnit:
    """Depth of a box of so much water over so much floor. [cm]"""
    return volume_l * CM3_PER_L / (area_m2 * CM2_PER_M2)


def _refugia(plan: Plan, change: Callable[[DeviceEntry], DeviceEntry | None]) -> Plan | None:
    devices = tuple(
        (change(device) or device) if device.kind == "refugium" else device for device in plan.devices
    )
    return None if devices == plan.devices else replace(plan, devices=devices)


def _new_refugium(plan: Plan) -> Plan | None:
    """A lit part of the sump, where there is a sump large enough and nothing of the kind yet."""
    wants_l = number("new_refugium_frac") * plan.tank.water_volume_l
    if devices_of(plan, "refugium") or devices_of(plan, "scrubber") or plan.tank.sump_l < wants_l:
        return None
    return replace(plan, devices=(*plan.devices, a_device(f"{OWN_PREFIX}refugium", "refugium", {})))


def _roller(plan: Plan) -> Plan | None:
    """A roll of fleece that moves on by itself in place of socks that are washed."""
    if not devices_of(plan, "sock"):
        return None
    others = tuple(device for device in plan.devices if device.kind != "sock")
    return replace(plan, devices=(*others, a_device(f"{OWN_PREFIX}roller", "roller", {})))


_EXPORTS: tuple[Choice, ...] = (
    Choice(
        id="automatic_change",
        kind="export",
        words="an automatic water change, a little each day, in place of changes by hand",
        change=_automatic_change,
        group=WATER,
    ),
    Choice(
        id="refugium_lit_longer", kind="export", words="the refugium is lit for longer", change=_lit_longer
    ),
    Choice(
        id="larger_refugium",
        kind="export",
        words="half as much again of lit area in the refugium",
        change=_larger_refugium,
    ),
    Choice(
        id="new_refugium",
        kind="export",
        words="a part of the sump is lit and grows algae that are harvested",
        change=_new_refugium,
    ),
    Choice(
        id="roller",
        kind="device",
        words="a fleece that rolls on by itself in place of filter socks",
        change=_roller,
    ),
)


def a_device(device_id: str, kind: str, numbers: dict[str, InItsUnit]) -> DeviceEntry:
    """A device that the planner adds."""
    return DeviceEntry(id=device_id, kind=kind, count=1, numbers=numbers, on_at=None, hours=None)


def applied_all(plan: Plan, choices: Sequence[Choice]) -> Plan:
    """The plan with several choices, one after the other."""
    for choice in choices:
        plan = choice.applied(plan)
    return plan
