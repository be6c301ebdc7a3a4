"""Laws that foods, devices and tasks keep or break by themselves."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.catalogue.entries import Device, Food, Task, known
from backreef.catalogue.tables import laws

Said = Iterator[tuple[str, str]]
"""Key and message of each broken law."""


def food_laws(food: Food) -> Said:
    """Parts add up, energy agrees with them, a pause loses no more than running pumps."""
    parts = [
        known(part)
        for part in (food.moisture_frac, food.protein_frac, food.fat_frac, food.ash_frac, food.nfe_frac)
    ]
    given = [part.value for part in parts if part is not None]
    if len(given) == len(parts):
        within = laws()["composition.sum_within_frac"]
        if abs(sum(given) - 1) > within:
            yield "nfe_frac", f"moisture, protein, fat, ash and the rest add up to {sum(given):.3g}, not to 1"
        yield from _energy_laws(food, protein_frac=given[1], fat_frac=given[2], rest_frac=given[4])
    running, paused = known(food.lost_to_overflow_frac), known(food.lost_when_paused_frac)
    if running and paused and paused.value > running.value:
        yield "lost_when_paused_frac", "is above what is lost with the pumps running"
    phosphorus, ash = known(food.phosphorus_frac), known(food.ash_frac)
    if phosphorus and ash and phosphorus.value > ash.value:
        yield "phosphorus_frac", "is above the ash, of which it is a part"


def _energy_laws(food: Food, *, protein_frac: float, fat_frac: float, rest_frac: float) -> Said:
    energy = known(food.gross_energy_kj_per_g)
    if energy is None:
        return
    burns = (
        protein_frac * laws()["composition.protein_kj_per_g"]
        + fat_frac * laws()["composition.fat_kj_per_g"]
        + rest_frac * laws()["composition.nfe_kj_per_g"]
    )
    if abs(burns / energy.value - 1) > laws()["composition.energy_within_frac"]:
        message = f"is {energy.value:g} kJ/g, but its parts burn to {burns:.3g} kJ/g; mend one or the other"
        yield "gross_energy_kj_per_g", message


def device_laws(device: Device) -> Said:
    """A feeder has a hopper, and its least portion fits in."""
    hopper, portion = known(device.hopper_g), known(device.portion_min_g)
    if device.device_class == "feeder" and hopper is None:
        yield "hopper_g", "is unknown; a feeder is planned by its hopper"
    if hopper and portion and portion.value >= hopper.lowest:
        yield "portion_min_g", f"is {portion.value:g} g, no less than the hopper of {hopper.lowest:g} g"


def task_laws(task: Task) -> Said:
    """A look is short, and harm comes no sooner than a task may be late."""
    minutes = known(task.minutes)
    longest = laws()["work.longest_look_min"]
    if task.look and minutes and minutes.value > longest:
        yield "look", f"is true, but takes {minutes.value:g} minutes; a look takes {longest:g} at most"
    tolerated, harm = known(task.tolerated_missed_days), known(task.harm_after_days)
    if tolerated and harm and harm.highest < tolerated.value:
        yield (
            "harm_after_days",
            f"ends at {harm.highest:g}, before the {tolerated.value:g} days it may be late",
        )
