"""From the plan's tank and devices to the numbers the kernel calls the system: areas, masses, light, heat, water."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from backreef.aquarium.plan import DeviceEntry, Plan
from backreef.catalogue.entries import Catalogue, known
from backreef.simulation.cohorts import Range, lives_on_light
from backreef.units import atomic_mass_g_per_mol

CM2_PER_M2 = 10_000.0
LEAST_AREA_M2 = 1e-6
"""Stands for 'none' where a law divides by an area."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemValue:
    """A number of `data/system.csv`."""

    name: str
    span: Range
    unit: str
    meaning: str
    source: str
    status: str


@cache
def system_table() -> Mapping[str, SystemValue]:
    """Give the values of the system table by name."""
    with (files("backreef.simulation") / "data" / "system.csv").open(encoding="utf-8", newline="") as file:
        return {
            row["name"]: SystemValue(
                name=row["name"],
                span=Range(value=float(row["value"]), low=float(row["low"]), high=float(row["high"])),
                unit=row["unit"],
                meaning=row["meaning"],
                source=row["source"],
                status=row["status"],
            )
            for row in csv.DictReader(file)
        }


@cache
def start_table() -> tuple[dict[str, str], ...]:
    """Give the start amounts by component and kind of start."""
    with (files("backreef.simulation") / "data" / "start_states.csv").open(
        encoding="utf-8", newline=""
    ) as file:
        return tuple(csv.DictReader(file))


def times(span: Range, factor: float) -> Range:
    """Give a range multiplied by a number."""
    return Range(
        value=span.value * factor,
        low=None if span.low is None else span.low * factor,
        high=None if span.high is None else span.high * factor,
    )


def fixed(value: float) -> Range:
    """Give a number that is known."""
    return Range(value=value, low=value, high=value)


def devices_of(plan: Plan, *kinds: str) -> list[DeviceEntry]:
    """Give the plan's devices of some kinds."""
    return [device for device in plan.devices if device.kind in kinds]


def number_of(device: DeviceEntry, name: str) -> float | None:
    """Give a number the plan states of a device, or None."""
    return device.numbers.get(name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Refugium:
    """A lit place for algae, if the plan has one."""

    area: Range
    light: Range
    on_at: float
    hours: float


def refugium_of(plan: Plan) -> Refugium | None:
    """Give the plan's refugium or scrubber, with what is usual where the plan does not say."""
    found = devices_of(plan, "refugium", "scrubber")
    if not found:
        return None
    device, table = found[0], system_table()
    area = number_of(device, "area_m2")
    light = number_of(device, "light_par_umol_m2_s")
    litres = plan.tank.refugium_l or 0.1 * plan.tank.water_volume_l
    return Refugium(
        area=fixed(area) if area else times(table["refugium_area_m2_per_l"].span, litres),
        light=fixed(light) if light else table["refugium_par_umol_m2_s"].span,
        on_at=20.0 if device.on_at is None else device.on_at,
        hours=device.hours or table["refugium_hours_h"].span.value,
    )


def coral_area_m2(plan: Plan, catalogue: Catalogue) -> float:
    """Give the living surface of corals, anemones and clams that are there on the first day. [m2]"""
    listed = 0.0
    for entry in plan.animals:
        species = catalogue.species[entry.species]
        if entry.arrives_on is None and lives_on_light(species, catalogue.guilds[species.guild]):
            listed += entry.count * surface_m2(entry.species, catalogue)
    return listed


def surface_m2(species_id: str, catalogue: Catalogue) -> float:
    """Give the living surface of one head, frag or colony. [m2]"""
    area = known(catalogue.species[species_id].coral_area_cm2_per_unit)
    return area.value / CM2_PER_M2 if area else 0.0


def system_ranges(plan: Plan) -> dict[str, Range]:
    """Give every number of the layout's `SYSTEM` with its range."""
    tank, table = plan.tank, system_table()
    refugium = refugium_of(plan)
    sand_kg = table["sand_kg_per_m2_cm"].span.value * tank.sand_area_m2 * tank.sand_depth_cm
    loss = times(table["surface_loss_w_per_k"].span, tank.glass_area_m2 + tank.surface_area_m2)
    heaters = sum(d.count * (number_of(d, "power_w") or 0.0) for d in devices_of(plan, "heater_ctl"))
    heater = fixed(heaters) if heaters else times(table["heater_w_per_l"].span, tank.water_volume_l)
    pipes = times(table["pipe_area_ratio"].span, tank.glass_area_m2)
    return {
        "A_rock": _at_least(times(table["rock_area_m2_per_kg"].span, tank.rock_kg)),
        "A_sand": fixed(tank.sand_area_m2),
        "A_glass": _at_least(pipes),
        "A_surf": fixed(tank.surface_area_m2),
        "A_ref": refugium.area if refugium else fixed(LEAST_AREA_M2),
        "A_media": fixed(0.0),
        "m_carb": fixed(tank.rock_kg + sand_kg),
        "skimmer": fixed(skimmer_size(plan)),
        "seeds": fixed(1.0),
        "par_display": times(table["shade_frac"].span, tank.light_par_umol_m2_s),
        "par_coral": times(table["coral_light_ratio"].span, tank.light_par_umol_m2_s),
        "par_refugium": refugium.light if refugium else fixed(0.0),
        "set_temperature": fixed(tank.temperature_c),
        "room_temperature": Range(
            value=tank.room_temperature_c,
            low=tank.room_temperature_c - 1.0,
            high=tank.room_temperature_c + 1.0,
        ),
        "room_swing": fixed(tank.room_temperature_swing_c),
        "heat_loss_w_per_k": loss,
        "heater_w": heater,
        "waste_heat_w": times(table["waste_heat_w_per_l"].span, tank.water_volume_l),
        "evaporation_l_per_d": Range(
            value=tank.evaporation_frac_per_d * tank.water_volume_l,
            low=0.7 * tank.evaporation_frac_per_d * tank.water_volume_l,
            high=1.4 * tank.evaporation_frac_per_d * tank.water_volume_l,
        ),
        "one": fixed(1.0),
        "mg_p_per_umol": fixed(atomic_mass_g_per_mol()["P"] * 1e-3),
    }


def _at_least(span: Range) -> Range:
    return span if span.value > LEAST_AREA_M2 else fixed(LEAST_AREA_M2)


def skimmer_size(plan: Plan) -> float:
    """Give the skimmer against one of full size for the tank: 1 in a sump, 0.6 hung on the tank, 0 for none. practice"""
    size = 0.0
    for device in devices_of(plan, "skimmer_sump", "skimmer_hang"):
        usual = 1.0 if device.kind == "skimmer_sump" else 0.6
        rated = number_of(device, "rated_l")
        size += usual if rated is None else min(1.5, rated / plan.tank.water_volume_l)
    return size
