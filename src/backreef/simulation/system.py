"""From the plan's tank and devices to the numbers that the kernel calls the system: areas, light, heat."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.aquarium.defaults import all_defaults
from backreef.aquarium.plan import DeviceEntry, Plan
from backreef.catalogue.entries import Catalogue, known
from backreef.models.room import wet_bulb_depression_k
from backreef.schedule import upkeep
from backreef.simulation.cohorts import lives_on_light
from backreef.simulation.tables import (
    InItsUnit,
    Range,
    fixed,
    start_table,
    system_number,
    system_span,
    system_table,
    times,
    total,
)
from backreef.units import DAYS_PER_MONTH, DAYS_PER_YEAR, atomic_mass_g_per_mol

LIT_PLACES = ("refugium", "scrubber")
CM2_PER_M2 = 10_000.0
CALIBRATIONS = ("salinity_cal", "probe_cal")
LEAST_AREA_M2 = 1e-6
"""Stands for 'none' where a law divides by an area."""
LEAST_PORE_DEPTH_CM = 1.0
PLUMBED_L = 1e9
"""A top-off that is joined to a water line never runs dry."""
MMOL_PER_UMOL = 1e-3
KJ_PER_D_PER_W = 86.4


def devices_of(plan: Plan, *kinds: str) -> list[DeviceEntry]:
    """Give the plan's devices of some kinds."""
    return [device for device in plan.devices if device.kind in kinds]


def number_of(device: DeviceEntry, name: str) -> InItsUnit | None:
    """Give a number the plan states of a device, or None."""
    return device.numbers.get(name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Refugium:
    """A lit place for algae, if the plan has one."""

    area: Range
    light: Range
    on_at_h: float
    lit_h: float
    calm_frac: float
    """Part of the area over which water moves slowly: all of a refugium, nothing of a scrubber's screen."""


def refugium_of(plan: Plan) -> Refugium | None:
    """Give the plan's refugia and scrubbers as one, with what is usual where the plan does not say.

    Several have the sum of their areas and of the light they get in a day, the hours of the one that is lit
    longest, and begin with the largest.
    """
    found = [
        place
        for device in devices_of(plan, *LIT_PLACES)
        for place in [_refugium(device, plan)] * device.count
    ]
    if not found:
        return None
    area = total(place.area for place in found)
    lit_h = max(place.lit_h for place in found)
    shares = [place.area.value * place.lit_h / (area.value * lit_h) for place in found]
    return Refugium(
        area=area,
        light=total(times(place.light, share) for place, share in zip(found, shares, strict=True)),
        on_at_h=max(found, key=lambda place: place.area.value).on_at_h,
        lit_h=lit_h,
        calm_frac=sum(place.calm_frac * place.area.value for place in found) / area.value,
    )


def _refugium(device: DeviceEntry, plan: Plan) -> Refugium:
    table = system_table()
    area = number_of(device, "area_m2")
    light = number_of(device, "light_par_umol_m2_s")
    litres = plan.tank.refugium_l or system_number("refugium_volume_frac") * plan.tank.water_volume_l
    return Refugium(
        area=fixed(area) if area else times(table["refugium_area_m2_per_l"].span, litres),
        light=fixed(light) if light else table["refugium_par_umol_m2_s"].span,
        on_at_h=system_number("refugium_on_at_h") if device.on_at is None else device.on_at,
        lit_h=device.hours or system_number("refugium_hours_h"),
        calm_frac=1.0 if device.kind == "refugium" else 0.0,
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
    return {
        **_surfaces(plan),
        **_light(plan),
        **_heat(plan),
        **_media(plan),
        "skimmer": fixed(skimmer_size(plan)),
        "seeds": fixed(1.0),
        "one": fixed(1.0),
        "mg_p_per_umol": fixed(atomic_mass_g_per_mol()["P"] * MMOL_PER_UMOL),
    }


def _surfaces(plan: Plan) -> dict[str, Range]:
    tank, table = plan.tank, system_table()
    refugium = refugium_of(plan)
    sand_kg = system_number("sand_kg_per_m2_cm") * tank.sand_area_m2 * tank.sand_depth_cm
    return {
        "A_rock": _at_least(times(table["rock_area_m2_per_kg"].span, tank.rock_kg)),
        "A_sand": fixed(tank.sand_area_m2),
        "sand_anoxic": fixed(anoxic_frac(tank.sand_depth_cm)),
        "pore_exchange_per_d": times(
            table["pore_diffusion_cm2_per_d"].span, pore_exchange_per_cm2(tank.sand_depth_cm)
        ),
        "A_glass": _at_least(times(table["pipe_area_ratio"].span, tank.glass_area_m2)),
        "A_surf": fixed(tank.surface_area_m2),
        "A_ref": refugium.area if refugium else fixed(LEAST_AREA_M2),
        "calm_frac": fixed(refugium.calm_frac if refugium else 0.0),
        "m_carb": fixed(tank.rock_kg + sand_kg),
    }


def anoxic_frac(depth_cm: float) -> float:
    """Give the part of a deep bed's denitrification that a sand bed has: none where all is oxic. [-]"""
    oxic_cm, deep_cm = system_number("sand_oxic_cm"), system_number("sand_deep_cm")
    return min(1.0, max(0.0, (depth_cm - oxic_cm) / (deep_cm - oxic_cm)))


def sand_frac(plan: Plan) -> float:
    """Give the part of the ground, rock and sand, that is sand. [-]"""
    rock_m2 = plan.tank.rock_kg * system_number("rock_area_m2_per_kg")
    return plan.tank.sand_area_m2 / (plan.tank.sand_area_m2 + rock_m2 + LEAST_AREA_M2)


def pore_exchange_per_cm2(depth_cm: float) -> float:
    """Give how often a day the pores of a bed renew their water, per unit of spreading. [1/cm2]

    What arises evenly over a depth L that is closed below stays L^2/3D on average.
    """
    below_cm = max(LEAST_PORE_DEPTH_CM, depth_cm - system_number("sand_oxic_cm"))
    return 3.0 / below_cm**2


def _light(plan: Plan) -> dict[str, Range]:
    table, peak = system_table(), plan.tank.light_par_umol_m2_s
    refugium = refugium_of(plan)
    return {
        "par_display": times(table["shade_frac"].span, peak),
        "par_coral": times(table["coral_light_ratio"].span, peak),
        "par_refugium": refugium.light if refugium else fixed(0.0),
    }


def _heat(plan: Plan) -> dict[str, Range]:
    """Room, losses, heater, chiller, pumps, lamps and evaporation."""
    tank, table = plan.tank, system_table()
    room, error = tank.room_temperature_c, table["room_error_k"].span
    evaporation_l_per_d = tank.evaporation_frac_per_d * tank.water_volume_l
    wet_bulb_k = _wet_bulb_k(plan)
    above_k = max(system_number("least_above_wet_bulb_k"), tank.temperature_c - room + wet_bulb_k)
    latent_w_per_k = system_number("latent_kj_per_l") * evaporation_l_per_d / KJ_PER_D_PER_W / above_k
    return {
        "set_temperature": fixed(tank.temperature_c),
        "room_temperature": Range(
            value=room + error.value, low=room + (error.low or 0.0), high=room + (error.high or 0.0)
        ),
        "room_swing": fixed(tank.room_temperature_swing_c),
        "heat_loss_w_per_k": times(
            table["surface_loss_w_per_k"].span, tank.glass_area_m2 + tank.surface_area_m2
        ),
        "wet_bulb_k": fixed(wet_bulb_k),
        "above_wet_bulb_k": fixed(above_k),
        "evaporation_w_per_k": fixed(latent_w_per_k),
        **_powers(plan),
        "evaporation_l_per_d": times(system_span("evaporation_ratio"), evaporation_l_per_d),
        "top_off_open_l_per_d": table["top_off_open_l_per_d"].span,
        "mark_l": fixed(tank.water_volume_l),
        "dry_l": _dry(plan),
    }


def _wet_bulb_k(plan: Plan) -> InItsUnit:
    """How far the wet bulb of the room's air is below its temperature: by its moisture, else as is usual."""
    humidity = plan.tank.room_humidity_frac
    if humidity is None:
        return system_number("wet_bulb_k")
    return wet_bulb_depression_k(plan.tank.room_temperature_c, humidity)


def _dry(plan: Plan) -> Range:
    """Water at which the return pump draws air; 0 without a sump, where no such pump is. [L]"""
    litres, sump_l = plan.tank.water_volume_l, plan.tank.sump_l
    if sump_l <= 0:
        return fixed(0.0)
    gone = system_table()["sump_dry_frac"].span
    most, least = (gone.value if end is None else end for end in (gone.high, gone.low))
    return Range(value=litres - gone.value * sump_l, low=litres - most * sump_l, high=litres - least * sump_l)


def brim_l(plan: Plan) -> InItsUnit:
    """Water above which it runs onto the floor: what the sump, or without one the display, holds more. [L]"""
    tank = plan.tank
    if tank.sump_l > 0:
        return tank.water_volume_l + system_number("sump_spare_frac") * tank.sump_l
    return tank.water_volume_l + all_defaults()["tank.display.air_gap_frac"].value * tank.display_gross_l


def _powers(plan: Plan) -> dict[str, Range]:
    """Heat that devices give to the water or take from it: by the plan's watts, else by what is usual."""
    tank, table = plan.tank, system_table()
    heater_w, chiller_w = (_stated_w(plan, kind) for kind in ("heater_ctl", "chiller"))
    pump_w, lamp_w = _stated_w(plan, "stream_pump_dc"), _stated_w(plan, "light_timer")
    heated_l = max(tank.water_volume_l, system_number("heater_least_l"))
    cooled_w = chiller_w or system_number("chiller_w_per_l") * tank.water_volume_l
    lamps = times(table["lamp_w_per_l"].span, tank.water_volume_l) if lamp_w is None else fixed(lamp_w)
    pumps = table["pump_heat_w_per_l"].span
    return {
        "heater_w": fixed(heater_w) if heater_w else times(table["heater_w_per_l"].span, heated_l),
        "pump_heat_w": times(pumps, tank.water_volume_l) if pump_w is None else fixed(pump_w),
        "lamp_heat_w": times(lamps, system_number("lamp_heat_frac")),
        "chiller_w": fixed(cooled_w if devices_of(plan, "chiller") else 0.0),
        "chill_from": fixed(tank.temperature_c + system_number("chiller_gap_k")),
    }


def heater_power_w(plan: Plan) -> float:
    """Give the heaters' power, as the plan states it or as is usual. [W]"""
    return _powers(plan)["heater_w"].value


def heat_lost_w(plan: Plan) -> float:
    """Give what the water loses to the room in the coldest weeks, less the pumps' heat. [W]

    Validity
    --------
    Steady; a heater of this power just holds the tank at night.

    Source
    ------
    The heat balance of models/room.py at rest.
    """
    heat = {name: span.value for name, span in _heat(plan).items()}
    room_c = heat["room_temperature"] - heat["room_swing"]
    dry_w = heat["heat_loss_w_per_k"] * (plan.tank.temperature_c - room_c)
    wet_w = heat["evaporation_w_per_k"] * (plan.tank.temperature_c - room_c + heat["wet_bulb_k"])
    return max(0.0, dry_w + wet_w - heat["pump_heat_w"])


def _stated_w(plan: Plan, kind: str) -> float | None:
    """Watts of all devices of a kind, if the plan says so."""
    stated = [(device.count, number_of(device, "power_w")) for device in devices_of(plan, kind)]
    given = [count * watts for count, watts in stated if watts is not None]
    return sum(given) if given else None


def _media(plan: Plan) -> dict[str, Range]:
    """Sealed filters, resin, lamps and carbon: what ages."""
    table, litres = system_table(), plan.tank.water_volume_l
    return {
        "A_media": fixed(media_area_m2(plan)),
        "resin_fades_l": fixed(system_number("resin_fades_frac") * system_number("resin_lasts_l")),
        "lamp_fades_per_d": times(table["lamp_fades_frac_per_y"].span, 1.0 / DAYS_PER_YEAR),
        "lamp_dusts_per_d": table["lamp_dusts_frac_per_d"].span,
        "lamp_dusted": table["lamp_dusted_frac"].span,
        **_wear(plan),
        "carbon_holds_mmol": times(
            table["carbon_holds_mmol_per_g"].span, system_number("carbon_full_g_per_l") * litres
        ),
    }


def _wear(plan: Plan) -> dict[str, Range]:
    """What dirt does to a skimmer and to the pumps that a plan names; others are taken to stay clean."""
    table = system_table()
    scaling = table["pump_scales_frac_per_d"].span
    return {
        "skimmer_scales_per_d": table["skimmer_scales_frac_per_d"].span,
        "skimmer_scaled": table["skimmer_scaled_frac"].span,
        "neck_fouls_per_d": table["neck_fouls_frac_per_d"].span,
        "neck_fouled": table["neck_fouled_frac"].span,
        "pump_scales_per_d": scaling if devices_of(plan, "stream_pump_dc") else fixed(0.0),
        "pump_scaled": table["pump_scaled_frac"].span,
        **_cover(plan),
        "float_fouls_per_d": _inverse(table["float_bears_d"].span) if devices_of(plan, "ato") else fixed(0.0),
    }


def _cover(plan: Plan) -> dict[str, Range]:
    """What a film of salt does to the light under a cover; under an open tank's there is none."""
    film_ratio = _film_ratio(plan)
    left = times(system_table()["cover_fouled_frac"].span, film_ratio)
    open_frac = 1.0 - film_ratio
    return {
        "cover_fouls_per_d": system_table()["cover_fouls_frac_per_d"].span if film_ratio else fixed(0.0),
        "cover_fouled": total([left, fixed(open_frac)]),
    }


def _film_ratio(plan: Plan) -> float:
    """Light that salt takes at the plan's cover against a solid one: 1, less for mesh, 0 without a cover."""
    return {"glass": 1.0, "mesh": system_number("mesh_film_ratio"), "open": 0.0}[plan.tank.lid]


def _inverse(span: Range) -> Range:
    """Give 1 over a range that lies above nought."""
    low, high = (span.value if end is None else end for end in (span.low, span.high))
    return Range(value=1.0 / span.value, low=1.0 / high, high=1.0 / low)


def fresh_machines(plan: Plan) -> dict[str, InItsUnit]:
    """Give what machines do just after their service, by register, against what the tables say of them."""
    pumps = bool(devices_of(plan, "stream_pump_dc"))
    return {
        "lamp_clean": 1.0,
        "skimmer_clean": system_number("skimmer_fresh_ratio"),
        "neck_clean": system_number("neck_fresh_ratio"),
        "pump_clean": system_number("pump_fresh_ratio") if pumps else 1.0,
        "cover_clean": 1.0 + _film_ratio(plan) * (system_number("cover_fresh_ratio") - 1.0),
    }


def drifts(plan: Plan) -> dict[str, InItsUnit]:
    """Give how fast instruments wander to either side: the 95 % point of what members draw around 0.

    Of the sensor of a top-off it is only the side that counts: above 0 it floods when it sticks.

    What shows salinity wanders where the plan speaks of its calibration: it is done, refused or dropped.
    Otherwise the keeper is taken to check it whenever new sea water is made. A thermostat wanders where there
    is one.
    """
    keeper = plan.keeper
    spoken_of = {upkeep.task for upkeep in plan.upkeep} | {*keeper.refuses} | {*keeper.stops_after}
    wanders = bool(spoken_of.intersection(CALIBRATIONS)) or bool(devices_of(plan, "monitor"))
    return {
        "salinity_drifts_psu_per_d": system_number("salinity_drifts_psu_per_d") if wanders else 0.0,
        "thermostat_drifts_k_per_d": (
            system_number("thermostat_drifts_k_per_d") if devices_of(plan, "heater_ctl") else 0.0
        ),
        "float_floods": 1.0 if devices_of(plan, "ato") else 0.0,
    }


def media_area_m2(plan: Plan) -> float:
    """Give the surface of the media of sealed filters. [m2]"""
    litres = 0.0
    for device in devices_of(plan, "canister"):
        stated = number_of(device, "volume_l")
        usual = system_number("canister_media_frac") * plan.tank.water_volume_l
        litres += device.count * (stated or usual)
    return litres * system_number("media_area_m2_per_l")


def resin_litres(plan: Plan) -> float:
    """Give the litres that fresh resin purifies; without a filter of its own a tank gets pure water. [L]"""
    return system_number("resin_lasts_l") if devices_of(plan, "rodi") else PLUMBED_L


def _at_least(span: Range) -> Range:
    return span if span.value > LEAST_AREA_M2 else fixed(LEAST_AREA_M2)


def skimmer_size(plan: Plan) -> float:
    """Give the skimmer against one of full size: 1 in a sump, less hung on the tank, 0 for none. [-]"""
    size = 1.0 * len(devices_of(plan, "skimmer_sump"))
    return size + system_number("skimmer_hang_ratio") * len(devices_of(plan, "skimmer_hang"))


def swapped_frac_per_d(plan: Plan) -> InItsUnit:
    """Give the share of the water that automatic water changes swap in a day; 0 where the plan has none."""
    shares = [
        device.count * (number_of(device, "share_frac_per_d") or 0.0) for device in devices_of(plan, "awc")
    ]
    return sum(shares)


def top_offs(plan: Plan, catalogue: Catalogue) -> dict[str, float]:
    """Give what each top-off of the plan holds when full, by its id; empty where it has none. [L]"""
    holds: dict[str, float] = {}
    for device in devices_of(plan, "ato"):
        known_l = upkeep.reservoir_l(device, plan=plan, catalogue=catalogue)
        holds[device.id] = PLUMBED_L if number_of(device, "plumbed") else known_l or 0.0
    return holds


def spin_up_days_of(plan: Plan) -> int:
    """Give the days of the same life that a tank has lived before the first day: no more than its age."""
    if plan.tank.start.kind != "established":
        return 0
    return int(min(system_number("spin_up_d"), plan.tank.start.age_months * DAYS_PER_MONTH))


def begins_as(plan: Plan) -> str:
    """Give the column of the start table that a tank's life begins from.

    An established tank that is younger than the spin-up has not been ripe before: it began with live rock.
    """
    start = plan.tank.start
    young = start.age_months * DAYS_PER_MONTH < system_number("spin_up_d")
    return "live_rock" if start.kind == "established" and young else start.kind


def tidy_algae_mmol(plan: Plan) -> dict[str, float]:
    """Give the most hair and nuisance algae of an established tank's first day; empty for others. [mmol C]"""
    if plan.tank.start.kind != "established":
        return {}
    rock_m2 = system_number("rock_area_m2_per_kg") * plan.tank.rock_kg
    return {
        row["component"]: float(row["established"]) * rock_m2 * system_number("tidy_algae_ratio")
        for row in start_table()
        if row["component"] in ("A_T", "A_N")
    }
