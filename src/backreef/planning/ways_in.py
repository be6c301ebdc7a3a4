"""What would let in an animal that the rules of company refuse: one change of the plan, by the same rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.planning.candidates import Looker, Refused, newcomer
from backreef.planning.choices import OWN_PREFIX, a_device
from backreef.planning.feeding import feedings
from backreef.planning.numbers import count
from backreef.planning.ways import WayOut

Change = tuple[str, Plan]


def with_ways_in(refused: Refused, needs: int, plan: Plan, catalogue: Catalogue, on: date) -> Refused:
    """The refusal with the first changes of the plan that would end it."""
    found = []
    for words, changed in _changes(plan, catalogue):
        looker = Looker(plan=changed, catalogue=catalogue, on=on)
        looked = looker.looked_at(catalogue.species[refused.species_id])
        if not isinstance(looked, Refused) and looked.most_count >= needs:
            comes = newcomer(refused.species_id, max(needs, looked.least_count), on)
            found.append(WayOut(words=words, plan=replace(changed, animals=(*changed.animals, comes))))
        if len(found) == count("ways_in_count"):
            break
    return replace(refused, ways_in=(*refused.ways_in, *found))


def _changes(plan: Plan, catalogue: Catalogue) -> Iterator[Change]:
    """One change at a time, the easiest first: things to buy, then residents to give away."""
    if plan.tank.lid != "glass":
        yield "a lid of glass", replace(plan, tank=replace(plan.tank, lid="glass"))
    for way in feedings(plan, catalogue)[1:]:
        yield way.words, way.applied(plan)
    if not any(device.kind == "quarantine_tank" for device in plan.devices):
        apart = a_device(f"{OWN_PREFIX}quarantine", "quarantine_tank", {})
        yield "a quarantine tank", replace(plan, devices=(*plan.devices, apart))
    for entry in plan.animals:
        rest = tuple(other for other in plan.animals if other.id != entry.id)
        meals = tuple(
            replace(meal, who=tuple(who for who in meal.who if who != entry.id)) for meal in plan.meals
        )
        name = catalogue.species[entry.species].common_name
        yield f"without {entry.count} × {name}", replace(plan, animals=rest, meals=meals)
