"""Findings about a plan that need no simulation: every rule is asked, the gravest findings first."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from backreef.aquarium import check_animals, check_company, check_feeding, check_place, check_upkeep
from backreef.aquarium.absence import longest_absence
from backreef.aquarium.findings import WEIGHTS, CheckFinding, Resident, Setting
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue

Rule = Callable[[Setting], Iterator[CheckFinding]]
RULES: tuple[Rule, ...] = (
    check_animals.check_space,
    check_animals.check_temperature,
    check_animals.check_group,
    check_animals.check_never,
    check_animals.check_tank_age,
    check_animals.check_sand,
    check_animals.check_jumpers,
    check_company.check_predators,
    check_company.check_rivals,
    check_feeding.check_meals_a_day,
    check_feeding.check_unattended,
    check_feeding.check_portions,
    check_feeding.check_overfed,
    check_feeding.check_hoppers,
    check_place.check_ways_out,
    check_place.check_top_off,
    check_upkeep.check_conditions,
    check_animals.check_people,
    check_animals.check_law,
    check_place.check_floor,
    check_place.check_local_rules,
)


def check_plan(
    plan: Plan, catalogue: Catalogue, *, absence_days: int | None = None
) -> tuple[CheckFinding, ...]:
    """Everything that stands out, the gravest first.

    `absence_days` is the longest run of days without anybody, where a schedule with public holidays knows
    it; else it is reckoned without them.
    """
    setting = _setting(plan, catalogue, absence_days)
    found = [finding for rule in RULES for finding in rule(setting)]
    return tuple(sorted(found, key=lambda finding: WEIGHTS.index(finding.weight)))


def _setting(plan: Plan, catalogue: Catalogue, absence_days: int | None) -> Setting:
    absence = longest_absence(plan)
    days = absence.days if absence_days is None else absence_days
    since = f" from {absence.first_on}" if absence_days is None and absence.first_on else ""
    return Setting(
        plan=plan,
        catalogue=catalogue,
        residents=tuple(
            Resident(entry=entry, species=catalogue.species[entry.species]) for entry in plan.animals
        ),
        absence_days=days,
        absence_label=f"nobody is there for {days} days{since}",
    )
