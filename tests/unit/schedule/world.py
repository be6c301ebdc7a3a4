"""A small catalogue and builders of plans for tests of the schedule; its numbers are made up."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from backreef.aquarium.plan import (
    EVERY_WEEKDAY,
    AnimalEntry,
    ClosedRule,
    DeviceEntry,
    Goals,
    Helper,
    Keeper,
    Meal,
    Plan,
    PresenceWindow,
    Rhythm,
    StartState,
    Tank,
    Upkeep,
)
from backreef.catalogue.entries import Catalogue, Device, Food, Quantity, Task, Unknown, Value
from backreef.schedule.build import Schedule, build_schedule
from backreef.schedule.chores import Chore
from backreef.schedule.presence import Presence, presence

MONDAY = date(2027, 1, 4)
WORKDAYS = (0, 1, 2, 3, 4)


def val(number: float | None, *, low: float | None = None, high: float | None = None) -> Quantity:
    if number is None:
        return Unknown(reason="made up")
    return Value(value=number, low=low, high=high, unit="", source="practice", status="practice")


def a_task(task_id: str, **changes: Any) -> Task:
    """10 minutes (5 to 20), no set-up, every 30 days, may slip 10 days, a sitter cannot do it."""
    task = Task(
        id=task_id,
        name=task_id.replace("_", " "),
        minutes=val(10, low=5, high=20),
        setup_minutes=val(0),
        every_days=val(30),
        driver="",
        driver_rule="",
        needs_presence=True,
        sitter_can_do="no",
        sitter_note="",
        automated_by="",
        tolerated_missed_days=val(10),
        harm_after_days=val(60),
        harm_note="",
        consequence="",
        extra_min_with_lid=val(0),
        skill=1,
        hazards="",
        messy=False,
        mess_note="",
        look=False,
        status="practice",
        sources=(),
    )
    return replace(task, **changes)


def a_device(kind: str, **changes: Any) -> Device:
    """A device of which nothing is known but that it wants 6 minutes every 20 days."""
    unknown = val(None)
    device = Device(
        id=kind,
        name=kind.replace("_", " "),
        device_class="",
        does="",
        sizing_rule="",
        hopper_g=unknown,
        portion_min_g=unknown,
        portion_cv_frac=unknown,
        portions_per_day_max=unknown,
        compartments_count=unknown,
        jam_per_portion=unknown,
        power_w=unknown,
        battery_months=unknown,
        set_up_min=unknown,
        upkeep_min=val(6, low=3, high=9),
        upkeep_every_days=val(20),
        runs_unattended_days=val(30),
        damp_sensitivity="",
        power="",
        effects="",
        consumables="",
        failure_modes=(),
        effect_on_animals="",
        fail_safe="",
        works_with_feed_pause="yes",
        feed_pause_note="",
        cost_band="",
        noise="",
        status="practice",
        sources=(),
    )
    return replace(device, **changes)


def a_food(food_id: str, **changes: Any) -> Food:
    """Dry food of a tenth water."""
    unknown = val(None)
    food = Food(
        id=food_id,
        name=food_id.replace("_", " "),
        food_class="dry",
        form="pellet",
        pool="particles_in_water",
        moisture_frac=val(0.1),
        protein_frac=unknown,
        fat_frac=unknown,
        ash_frac=unknown,
        nfe_frac=unknown,
        phosphorus_frac=unknown,
        gross_energy_kj_per_g=unknown,
        particle_mm=unknown,
        bulk_density_g_per_ml=unknown,
        sink_cm_per_s=unknown,
        sinking="",
        fits=(),
        fits_note="",
        feeder_ok="yes",
        feeder_note="",
        storage_sealed_months=unknown,
        storage_open_months=unknown,
        storage_conditions="",
        handling_min_per_feeding=unknown,
        cold_chain="none",
        lost_to_overflow_frac=unknown,
        lost_when_paused_frac=unknown,
        caution="",
        water_load="",
        status="practice",
        sources=(),
    )
    return replace(food, **changes)


TASKS: tuple[Task, ...] = (
    a_task("headcount", minutes=val(2, low=1, high=5), every_days=val(1), sitter_can_do="yes", look=True),
    a_task("feed_dry_hand", minutes=val(1), every_days=val(1), sitter_can_do="yes"),
    a_task("feed_frozen", minutes=val(5), setup_minutes=val(1), every_days=val(1), sitter_can_do="yes"),
    a_task("feeder_refill", minutes=val(5), sitter_can_do="yes", tolerated_missed_days=val(3)),
    a_task("ato_refill", minutes=val(6), sitter_can_do="yes", tolerated_missed_days=val(3)),
    a_task(
        "skimmer_cup", minutes=val(5), every_days=val(6), sitter_can_do="yes", tolerated_missed_days=val(7)
    ),
    a_task(
        "sock_change", minutes=val(5), setup_minutes=val(1), every_days=val(4), tolerated_missed_days=val(4)
    ),
    a_task("wc_do", minutes=val(20, low=10, high=40), setup_minutes=val(8), extra_min_with_lid=val(2)),
    a_task("wc_mix", minutes=val(10), setup_minutes=val(5)),
    a_task("sand_clean", minutes=val(8), setup_minutes=val(5), every_days=val(21)),
    a_task("test_quick", minutes=val(8), setup_minutes=val(3), every_days=val(14)),
    a_task("test_full", minutes=val(10), setup_minutes=val(3), every_days=val(60)),
    a_task(
        "glass_inner", minutes=val(5), setup_minutes=val(1), every_days=val(4), tolerated_missed_days=val(14)
    ),
    a_task("glass_outer", minutes=val(4), every_days=val(14), sitter_can_do="yes"),
    a_task("rock_blow", minutes=val(2), setup_minutes=val(1), every_days=val(14)),
    a_task("log", minutes=val(1), every_days=val(1), needs_presence=False),
    a_task("dosing_refill", minutes=val(10), setup_minutes=val(5), every_days=val(21)),
    a_task("feeder_battery", minutes=val(3), every_days=val(150), tolerated_missed_days=val(30)),
    a_task("pump_descale", minutes=val(25), setup_minutes=val(5), every_days=val(90)),
    a_task("crew_check", minutes=val(2), every_days=val(7)),
    a_task("food_stock", minutes=val(4), every_days=val(30)),
    a_task("acclimate", minutes=val(50, low=30, high=90), setup_minutes=val(10), every_days=val(None)),
    a_task("holiday_prep", minutes=val(60), every_days=val(None)),
    a_task("return_check", minutes=val(30), setup_minutes=val(5), every_days=val(None)),
    a_task("quarantine_day", minutes=val(10), every_days=val(1), tolerated_missed_days=val(1)),
)
DEVICES: tuple[Device, ...] = (
    a_device(
        "feeder_drum_mains",
        hopper_g=val(20),
        portion_min_g=val(0.05),
        portion_cv_frac=val(0.25, low=0.15, high=0.4),
        portions_per_day_max=val(12),
        compartments_count=val(1),
        jam_per_portion=val(0.004),
        runs_unattended_days=val(30),
        upkeep_every_days=val(21),
    ),
    a_device(
        "feeder_disc",
        hopper_g=val(100),
        compartments_count=val(14),
        runs_unattended_days=val(14),
        upkeep_every_days=val(14),
        battery_months=val(3),
    ),
    a_device("doser"),
    a_device("ato", runs_unattended_days=val(10)),
    a_device("sock"),
    a_device("roller"),
    a_device("awc"),
    a_device("skimmer_sump"),
    a_device("stream_pump_dc"),
    a_device("quarantine_tank"),
)
FOODS: tuple[Food, ...] = (
    a_food("pellet"),
    a_food("mysid", food_class="frozen", moisture_frac=val(0.8)),
)


def a_catalogue(*more: Task, without: tuple[str, ...] = ()) -> Catalogue:
    tasks = {task.id: task for task in (*TASKS, *more) if task.id not in without}
    return Catalogue(
        species={},
        foods={food.id: food for food in FOODS},
        devices={device.id: device for device in DEVICES},
        tasks=tasks,
        guilds={},
        sources={},
        tokens={},
    )


# --- plans ---


def windows(*weekdays: int, start: float = 8.0, end: float = 18.0) -> tuple[PresenceWindow, ...]:
    return tuple(PresenceWindow(weekday=weekday, from_hour=start, to_hour=end) for weekday in weekdays)


def a_keeper(**changes: Any) -> Keeper:
    """There every day from 8 to 18, with 400 minutes a month."""
    keeper = Keeper(
        name="the keeper",
        minutes_per_month=400.0,
        presence=windows(*EVERY_WEEKDAY),
        closed=(),
        helpers=(),
        refuses=(),
        wishes=(),
        stops_after={},
    )
    return replace(keeper, **changes)


def a_helper(name: str = "grandfather", **changes: Any) -> Helper:
    """Comes every day, closed days too, and can do what a sitter can."""
    helper = Helper(name=name, tasks=(), weekdays=EVERY_WEEKDAY, when_closed=True, minutes_per_visit=None)
    return replace(helper, **changes)


def a_tank(**changes: Any) -> Tank:
    """300 litres with 300 litres of water, open on top, of which 1 % evaporates a day."""
    tank = Tank(
        name="tank",
        display_gross_l=300.0,
        display_length_cm=120.0,
        display_width_cm=50.0,
        display_height_cm=50.0,
        water_volume_l=300.0,
        sump_l=0.0,
        refugium_l=0.0,
        rock_kg=30.0,
        sand_area_m2=0.4,
        sand_depth_cm=3.0,
        glass_area_m2=2.0,
        viewing_glass_area_m2=1.2,
        surface_area_m2=0.6,
        lid="open",
        light_par_umol_m2_s=100.0,
        light_hours_h=9.0,
        light_on_at=10.0,
        light_ramp_h=0.5,
        temperature_c=25.0,
        salinity_psu=35.0,
        room_temperature_c=21.0,
        room_temperature_swing_c=3.0,
        turnover_per_h=20.0,
        evaporation_frac_per_d=0.01,
        corals="soft",
        coral_cover_frac=0.1,
        start=StartState(kind="established", age_months=12.0),
    )
    return replace(tank, **changes)


def a_plan(**changes: Any) -> Plan:
    """From a Monday, for a year, with a top-off that never needs anybody, and nothing else."""
    plan = Plan(
        file="plan.toml",
        name="plan",
        story="",
        start_on=MONDAY,
        horizon_days=365,
        tank=a_tank(),
        keeper=a_keeper(),
        animals=(),
        meals=(),
        upkeep=(),
        devices=(
            DeviceEntry(id="top_off", kind="ato", count=1, numbers={"plumbed": 1.0}, on_at=None, hours=None),
        ),
        goals=Goals(bands={}, horizon_years=1.0, optimise="fewest_hands"),
        assumptions=(),
    )
    return replace(plan, **changes)


def with_device(
    plan: Plan, device_id: str, kind: str, *, count: int = 1, numbers: dict[str, float] | None = None
) -> Plan:
    entry = DeviceEntry(id=device_id, kind=kind, count=count, numbers=numbers or {}, on_at=None, hours=None)
    return replace(plan, devices=(*plan.devices, entry))


def a_meal(meal_id: str = "pellets", **changes: Any) -> Meal:
    """0.5 g of pellets by hand at noon every day."""
    meal = Meal(
        id=meal_id,
        food="pellet",
        grams_as_fed=0.5,
        enough_for=None,
        who=(),
        by="hand",
        times=(12.0,),
        weekdays=EVERY_WEEKDAY,
        only_when_present=False,
        pump_pause_min=0.0,
    )
    return replace(meal, **changes)


def every(days: float) -> Rhythm:
    return Rhythm(kind="interval", text=f"{days:g} days", every_days=days)


def weekly(*weekdays: int, weeks: int = 1) -> Rhythm:
    return Rhythm(kind="weekly", text="weekly", weekdays=weekdays, every_weeks=weeks)


def monthly(*weekdays: int, nth: int = 1, months: int = 1) -> Rhythm:
    return Rhythm(kind="monthly", text="monthly", weekdays=weekdays, nth=nth, every_months=months)


def an_upkeep(task: str, rhythm: Rhythm, **changes: Any) -> Upkeep:
    upkeep = Upkeep(
        id=task,
        task=task,
        share_frac=None,
        amount_g=None,
        amount_l=None,
        rhythm=rhythm,
        by="hand",
        when=None,
        minutes=None,
        at_hour=None,
    )
    return replace(upkeep, **changes)


def an_animal(animal_id: str, arrives_on: date | None = None, **changes: Any) -> AnimalEntry:
    entry = AnimalEntry(
        id=animal_id, species=animal_id, count=1, length_cm=None, arrives_on=arrives_on, gate=None
    )
    return replace(entry, **changes)


def closed_on(first: date, last: date, label: str = "closed") -> ClosedRule:
    return ClosedRule(kind="dates", label=label, first_on=first, last_on=last)


def away_yearly(first: tuple[int, int], last: tuple[int, int], label: str = "holiday") -> ClosedRule:
    return ClosedRule(
        kind="yearly",
        label=label,
        first_month=first[0],
        first_day=first[1],
        last_month=last[0],
        last_day=last[1],
    )


# --- what comes of them ---


def presence_of(**changes: Any) -> Presence:
    start_on, days = changes.pop("start_on", MONDAY), changes.pop("days", 365)
    return presence(a_plan(keeper=a_keeper(**changes), start_on=start_on, horizon_days=days))


def schedule_of(plan: Plan, catalogue: Catalogue | None = None) -> Schedule:
    return build_schedule(plan, catalogue or a_catalogue())


def chores_of(schedule: Schedule, task_id: str) -> list[Chore]:
    return [chore for chore in schedule.chores if chore.task_id == task_id]


def days_of(schedule: Schedule, task_id: str) -> list[int | None]:
    return [chore.done_day for chore in chores_of(schedule, task_id)]
