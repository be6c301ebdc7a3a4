"""The pages about a food, a device and a task."""

from __future__ import annotations

from dataclasses import replace

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, Device, Food, Species, Task, known
from backreef.units import DAYS_PER_MONTH
from backreef.usecases import portrait_words as words
from backreef.usecases.browse import Listed
from backreef.usecases.natural_prey import prey_part
from backreef.usecases.portrait import (
    Part,
    Portrait,
    amount,
    figure,
    listed,
    part,
    percent,
    plural,
    sentence,
    sureness,
)
from backreef.usecases.portrait_animal import animal_portrait
from backreef.usecases.portrait_in_tank import in_this_tank


def portrait_of(entry: Listed, catalogue: Catalogue, *, plan: Plan | None = None) -> Portrait:
    """The page about any entry; of an animal, with what it would be to the tank of a plan."""
    match entry:
        case Species():
            page = animal_portrait(entry, catalogue)
            if plan is None:
                return page
            return replace(page, parts=(page.parts[0], in_this_tank(entry, plan, catalogue), *page.parts[1:]))
        case Food():
            return _food(entry, catalogue)
        case Device():
            return _device(entry, catalogue)
        case Task():
            return _task(entry, catalogue)


def _food(food: Food, catalogue: Catalogue) -> Portrait:
    held = [
        f"{name} {share}" for name, field in _CONTENTS.items() if (share := percent(getattr(food, field)))
    ]
    energy = amount(food.gross_energy_kj_per_g, "kJ/g")
    eaters = [catalogue.guilds[guild].name for guild in food.fits]
    size, speed = amount(food.particle_mm, "mm"), amount(food.sink_cm_per_s, "cm/s")
    lost, paused = percent(food.lost_to_overflow_frac), percent(food.lost_when_paused_frac)
    return Portrait(
        id=food.id,
        title=food.name,
        subtitle=f"{food.form} food, found {words.POOLS.get(food.pool, food.pool)}",
        parts=(
            part(
                "What is in it",
                sentence(f"as fed: {', '.join(held)}") if held else "",
                sentence(f"{energy} of gross energy") if energy else "",
                sentence(f"load on the water: {food.water_load}"),
                sentence(food.caution),
            ),
            part(
                "Who eats it",
                sentence(listed(eaters, most=20)),
                sentence(food.fits_note),
                sentence(f"pieces of {size}") if size else "",
                sentence(f"sinking: {food.sinking}{f', {speed}' if speed else ''}"),
            ),
            prey_part(food, catalogue),
            part(
                "What it costs you",
                sentence(f"{amount(food.handling_min_per_feeding, 'minutes')} a feeding")
                if known(food.handling_min_per_feeding)
                else "",
                sentence(": ".join(filter(None, (words.FEEDER_OK[food.feeder_ok], food.feeder_note)))),
                sentence(f"lost to the overflow: {lost} with the pumps on, {paused or 'less'} in a pause")
                if lost
                else "",
            ),
            _keeping(food),
            *sureness(food, catalogue),
        ),
    )


_CONTENTS = {
    "protein": "protein_frac",
    "fat": "fat_frac",
    "starch and fibre": "nfe_frac",
    "ash": "ash_frac",
    "water": "moisture_frac",
    "phosphorus": "phosphorus_frac",
}


def _keeping(food: Food) -> Part:
    sealed, opened = amount(food.storage_sealed_months, "months"), amount(food.storage_open_months, "months")
    return part(
        "How it keeps",
        sentence(words.COLD[food.cold_chain]),
        sentence(f"{sealed} closed") if sealed else "",
        sentence(f"{opened} once opened") if opened else "",
        sentence(food.storage_conditions),
    )


def _device(device: Device, catalogue: Catalogue) -> Portrait:
    upkeep, every = known(device.upkeep_min), known(device.upkeep_every_days)
    month = ""
    if upkeep and every and every.value > 0:
        month = (
            f"{figure(upkeep.value)} minutes every {plural(every.value, 'day')}, "
            f"about {figure(upkeep.value * DAYS_PER_MONTH / every.value)} a month"
        )
    alone = amount(device.runs_unattended_days, "days")
    numbers = [
        f"{name} {told}" for name, field, unit in _NUMBERS if (told := amount(getattr(device, field), unit))
    ]
    return Portrait(
        id=device.id,
        title=device.name,
        subtitle=device.does,
        parts=(
            part(
                "What it does",
                sentence(device.effects),
                sentence(f"size: {device.sizing_rule}"),
                sentence("; ".join(numbers)),
                sentence(
                    words.PAUSE[device.works_with_feed_pause]
                    + (f": {device.feed_pause_note}" if device.feed_pause_note else "")
                ),
            ),
            part(
                "What it costs you",
                sentence(f"setting it up: {amount(device.set_up_min, 'minutes')}")
                if known(device.set_up_min)
                else "",
                sentence(f"upkeep: {month}") if month else "",
                sentence(f"needs: {device.consumables}") if device.consumables else "",
                sentence(f"power: {device.power}"),
                sentence(f"price {device.cost_band}, noise {device.noise}"),
            ),
            part(
                "How it fails",
                sentence(listed(list(device.failure_modes))),
                sentence(f"then: {device.effect_on_animals}") if device.effect_on_animals else "",
                sentence(f"against it: {device.fail_safe}") if device.fail_safe else "",
                sentence(f"runs {alone} with nobody there") if alone else "",
                sentence(f"damp harms it: {device.damp_sensitivity}") if device.damp_sensitivity else "",
            ),
            *sureness(device, catalogue),
        ),
    )


_NUMBERS = (
    ("holds", "hopper_g", "g"),
    ("least portion", "portion_min_g", "g"),
    ("most portions a day", "portions_per_day_max", ""),
    ("draws", "power_w", "W"),
    ("batteries last", "battery_months", "months"),
)


def _task(task: Task, catalogue: Catalogue) -> Portrait:
    minutes, every = known(task.minutes), known(task.every_days)
    month = ""
    if minutes and every and every.value > 0:
        month = f", about {figure(minutes.value * DAYS_PER_MONTH / every.value)} minutes a month"
    rhythm = f"every {plural(every.value, 'day')}{month}" if every else "when there is reason to"
    late, harm = amount(task.tolerated_missed_days, "days"), amount(task.harm_after_days, "days")
    setup = known(task.setup_minutes)
    return Portrait(
        id=task.id,
        title=task.name,
        subtitle="a look" if task.look else "work",
        parts=(
            part(
                "What it costs you",
                sentence(
                    amount(task.minutes, "minutes")
                    + (
                        f", and {figure(setup.value)} to get ready and put away"
                        if setup and setup.value
                        else ""
                    )
                ),
                sentence(f"{rhythm}{f'; {task.driver_rule}' if task.driver_rule else ''}"),
                "Somebody has to be there." if task.needs_presence else "Nobody has to be there.",
                sentence(f"{figure(extra.value)} minutes more where a lid is in the way")
                if (extra := known(task.extra_min_with_lid)) and extra.value > 0
                else "",
            ),
            part(
                "Who can do it",
                sentence(words.SKILLS[task.skill]),
                sentence(
                    words.SITTER[task.sitter_can_do] + (f": {task.sitter_note}" if task.sitter_note else "")
                ),
                sentence(f"taken over by {task.automated_by}")
                if task.automated_by
                else "Nothing takes it over.",
                sentence(f"mind: {task.hazards}") if task.hazards else "",
                sentence(f"mess: {task.mess_note}") if task.messy and task.mess_note else "",
            ),
            part(
                "If nobody does it",
                sentence(task.consequence),
                sentence(f"may be {late} late") if late else "",
                sentence(f"harm after {harm}{f': {task.harm_note}' if task.harm_note else ''}")
                if harm
                else "",
            ),
            *sureness(task, catalogue),
        ),
    )
