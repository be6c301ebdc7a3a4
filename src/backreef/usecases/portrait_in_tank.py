"""What an animal would be to the tank of a plan: the rules of company asked with it in the stock."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue, Species
from backreef.company.engine import check_plan, setting_of
from backreef.company.findings import CheckFinding
from backreef.company.survival import alive_frac, hazards_of
from backreef.usecases.portrait import Part, part, sentence

_FIRST_YEAR_D = 365
_AFTER_THE_LAST_D = 28
"""A newcomer is thought to come so long after the last arrival of the plan."""


def in_this_tank(animal: Species, plan: Plan, catalogue: Catalogue) -> Part:
    """What the rules say of an animal of the plan or, where the plan has none, of one that came to it."""
    with_it, entry = _stocked(animal, plan)
    about = [one for one in check_plan(with_it, catalogue) if entry.id in one.id.split(".")[1:]]
    there = entry in plan.animals
    came = entry.arrives_on or plan.start_on
    head = (
        f"it is in this plan, from {came}"
        if there
        else f"reckoned as {entry.count} that {'come' if entry.count > 1 else 'comes'} on {came}, after the "
        "last of this plan"
    )
    return part(
        f"In {plan.tank.name}",
        sentence(head),
        *(sentence(_words(one)) for one in about),
        "" if about else "No rule speaks against it.",
        sentence(_alive(entry, with_it, catalogue)),
        "Rules see no hunger and no water: a forecast does.",
    )


def _stocked(animal: Species, plan: Plan) -> tuple[Plan, AnimalEntry]:
    """The plan with the animal, and its entry."""
    for entry in plan.animals:
        if entry.species == animal.id:
            return plan, entry
    taken = {entry.id for entry in plan.animals}
    ident = animal.id if animal.id not in taken else f"{animal.id}_newcomer"
    last = max((entry.arrives_on or plan.start_on for entry in plan.animals), default=plan.start_on)
    entry = AnimalEntry(
        id=ident,
        species=animal.id,
        count=animal.group_min_count,
        length_cm=None,
        arrives_on=last + timedelta(days=_AFTER_THE_LAST_D),
        gate=None,
    )
    return replace(plan, animals=(*plan.animals, entry)), entry


def _words(one: CheckFinding) -> str:
    return f"{one.what}: {one.why}" + (f"; {one.condition}" if one.condition else "")


def _alive(entry: AnimalEntry, plan: Plan, catalogue: Catalogue) -> str:
    came = max(0, ((entry.arrives_on or plan.start_on) - plan.start_on).days)
    plan = replace(plan, horizon_days=max(plan.horizon_days, came + _FIRST_YEAR_D))
    hazards = hazards_of(setting_of(plan, catalogue))
    alive = alive_frac(hazards, entry.id, since_day=came, until_day=came + _FIRST_YEAR_D)
    causes = list(dict.fromkeys(one.cause for one in hazards if one.entry_id == entry.id))
    if not causes:
        return "no hazard of company is known for its first year here"
    return (
        f"about {100 * alive:.0f} of 100 live through the first year as far as company and moving in go "
        f"({', '.join(causes)}); common practice, no source"
    )
