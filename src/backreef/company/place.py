"""Checks of the place: floor, ways out for nutrients, top-off in an absence, local rules."""

from __future__ import annotations

from backreef.aquarium.geometry import CM2_PER_M2, CM3_PER_L
from backreef.aquarium.plan import Plan
from backreef.company.findings import CheckFinding, Found, Rule, Setting, rule_number, rule_source, rules
from backreef.company.food import given_g_per_d
from backreef.working.record import askable

_TOP_OFF = "ato"
N_PER_KN = 1000.0


@askable
def mass_in_service_kg(plan: Plan) -> float:
    """Mass of the filled tank with rock, sand, glass and stand. [kg]"""
    tank = plan.tank
    sand_l = tank.sand_area_m2 * CM2_PER_M2 * tank.sand_depth_cm / CM3_PER_L
    return (
        tank.water_volume_l * rule_number("water_kg_per_l")
        + tank.display_gross_l * rule_number("glass_kg_per_l")
        + rule_number("stand_kg")
        + tank.rock_kg
        + sand_l * rule_number("sand_kg_per_l")
    )


@askable
def floor_load_kn_per_m2(plan: Plan) -> float | None:
    """Load on the floor under the stand; None where the plan gives no sides. [kN/m2]"""
    area_m2 = (plan.tank.display_length_cm or 0.0) * (plan.tank.display_width_cm or 0.0) / CM2_PER_M2
    return (
        mass_in_service_kg(plan) * rule_number("gravity_m_per_s2") / N_PER_KN / area_m2 if area_m2 else None
    )


def heavy(setting: Setting) -> Found:
    """The load on the floor, where it is worth asking somebody who knows."""
    mass_kg = mass_in_service_kg(setting.plan)
    if mass_kg < rule_number("ask_engineer_timber_kg"):
        return
    load_kn_per_m2 = floor_load_kn_per_m2(setting.plan)
    load = f", {load_kn_per_m2:.0f} kN/m2 under the stand" if load_kn_per_m2 is not None else ""
    heavy = mass_kg >= rule_number("ask_engineer_kg")
    source, status = rule_source("ask_engineer_kg" if heavy else "ask_engineer_timber_kg")
    yield CheckFinding(
        id="floor",
        balance="hands",
        weight="caution" if heavy else "note",
        who="the building",
        what=f"about {mass_kg:.0f} kg in service{load}",
        why="ask a structural engineer before filling it"
        if heavy
        else "on a timber floor ask a structural engineer; "
        "along a wall across the joists is better than mid-room",
        source=source,
        status=status,
    )


def no_way_out(setting: Setting) -> Found:
    """Food goes in and hardly anything takes nutrients out."""
    plan, table = setting.plan, rules()["ways_out"]
    devices = [device.kind for device in plan.devices if device.kind in table["devices"]]
    tasks = [upkeep.task for upkeep in plan.upkeep if upkeep.task in table["tasks"]]
    grams = sum(given_g_per_d(meal) or rule_number("hardly_any_feed_g_per_d") for meal in plan.meals)
    if devices or grams < rule_number("hardly_any_feed_g_per_d"):
        return
    only = "only by hand, when somebody changes water or siphons" if tasks else "not at all"
    yield CheckFinding(
        id="export",
        balance="water",
        weight="caution" if tasks else "serious",
        who="water",
        what="nutrients of the food leave the water hardly or not",
        why=f"no skimmer, refugium, algae screen, sock or automatic water change; they leave {only}",
        source="common practice, no source",
        status="practice",
    )


def dry_top_off(setting: Setting) -> Found:
    """A top-off reservoir that is empty before somebody comes back."""
    tank = setting.plan.tank
    loss_l_per_d = tank.water_volume_l * tank.evaporation_frac_per_d
    for device in setting.plan.devices:
        reservoir_l = device.numbers.get("reservoir_l")
        if device.kind != _TOP_OFF or reservoir_l is None or loss_l_per_d <= 0 or "plumbed" in device.numbers:
            continue
        days = reservoir_l * device.count / loss_l_per_d
        if days >= setting.absence_days:
            continue
        source, status = rule_source("spare_frac")
        wanted_l = loss_l_per_d * setting.absence_days * (1.0 + rule_number("spare_frac"))
        yield CheckFinding(
            id=f"top_off.{device.id}",
            balance="water",
            weight="caution",
            who=device.id,
            what=f"{device.id}: empty before somebody is back",
            why=f"{reservoir_l * device.count:g} L last {days:.0f} days at {loss_l_per_d:.1f} L a day; "
            f"{setting.absence_label}; {wanted_l:.0f} L would do",
            source=source,
            status=status,
        )


def local_rules(setting: Setting) -> Found:
    """What nobody but the place itself can answer."""
    if not setting.residents:
        return
    yield CheckFinding(
        id="local_rules",
        balance="hands",
        weight="note",
        who="all",
        what="check local rules on keeping, buying and showing these animals",
        why="laws differ and change; licensed practice and local rules come first, "
        "and no animal, alga or water of a tank is ever released",
        source="common practice, no source",
        status="practice",
    )


RULES = (
    Rule(name="export", look=no_way_out, reads=(), plan=("devices", "upkeep", "meals")),
    Rule(
        name="top_off",
        look=dry_top_off,
        reads=(),
        plan=("devices[].reservoir", "tank.evaporation", "keeper.presence"),
    ),
    Rule(name="floor", look=heavy, reads=(), plan=("tank.display", "tank.rock", "tank.sand_depth")),
    Rule(name="local_rules", look=local_rules, reads=(), plan=("animals",)),
)
