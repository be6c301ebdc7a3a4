"""The rules about a plan that need no simulation: each is asked, the gravest findings come first.

A rule reads facts of the catalogue and the plan, nothing else. Where it lacks a fact it says so; it never
passes for want of knowledge. The order of `RULES` is that of harm; docs/rules.md is made from them.
"""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files

from backreef.aquarium.absence import longest_absence
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.company import (
    additions,
    cleaners,
    company,
    corals,
    crew,
    eaten,
    food,
    ground,
    health,
    hours,
    hungry,
    own,
    people,
    place,
    rivals,
    sexes,
    space,
    upkeep,
)
from backreef.company.findings import UNKNOWN, WEIGHTS, CheckFinding, Lacking, Resident, Rule, Setting

RULES: tuple[Rule, ...] = (
    *space.RULES,
    *eaten.RULES,
    *hungry.RULES,
    *food.RULES,
    *hours.RULES,
    *people.RULES,
    *company.RULES,
    *sexes.RULES,
    *rivals.RULES,
    *corals.RULES,
    *crew.RULES,
    *cleaners.RULES,
    *ground.RULES,
    *health.RULES,
    *additions.RULES,
    *place.RULES,
    *upkeep.RULES,
    *own.RULES,
)


def check_plan(
    plan: Plan, catalogue: Catalogue, *, absence_days: int | None = None, without: Collection[str] = ()
) -> tuple[CheckFinding, ...]:
    """Everything that stands out, the gravest first.

    `absence_days` is the longest run of days without anybody, where a schedule with public holidays knows
    it; else it is reckoned without them. Rules named in `without` are not asked.
    """
    setting = setting_of(plan, catalogue, absence_days)
    found = [finding for rule in RULES if rule.name not in without for finding in asked(rule, setting)]
    return tuple(sorted(found, key=lambda finding: WEIGHTS.index(finding.weight)))


def setting_of(plan: Plan, catalogue: Catalogue, absence_days: int | None = None) -> Setting:
    """What the rules look at."""
    absence = longest_absence(plan)
    days = absence.days if absence_days is None else absence_days
    since = f" from {absence.first_on}" if absence_days is None and absence.first_on else ""
    return Setting(
        plan=plan,
        catalogue=catalogue,
        residents=tuple(
            Resident(entry=entry, species=catalogue.species[entry.species])
            for entry in sorted(plan.animals, key=lambda each: each.id)
        ),
        absence_days=days,
        absence_label=f"nobody is there for {days} days{since}" if days else "somebody is there every day",
    )


@cache
def remedies() -> Mapping[str, tuple[str, ...]]:
    """Rule -> what can be done about its findings."""
    with (files("backreef.company") / "data" / "remedies.toml").open("rb") as file:
        return {rule: tuple(lines) for rule, lines in tomllib.load(file)["remedies"].items()}


def asked(rule: Rule, setting: Setting) -> Iterator[CheckFinding]:
    """What one rule finds, each finding with its remedies; what it cannot judge, told in one note."""
    lacking: list[Lacking] = []
    for found in rule.look(setting):
        if isinstance(found, Lacking):
            lacking.append(found)
        else:
            yield replace(found, remedies=found.remedies or remedies()[rule.name])
    if lacking:
        yield _unknown(rule, lacking)


def _unknown(rule: Rule, lacking: Iterable[Lacking]) -> CheckFinding:
    by_fact: dict[str, list[str]] = defaultdict(list)
    for each in lacking:
        names = by_fact[each.fact]
        if each.one.species.common_name not in names:
            names.append(each.one.species.common_name)
    told = "; ".join(f"{fact} of {', '.join(names)}" for fact, names in by_fact.items())
    whose = dict.fromkeys(name for names in by_fact.values() for name in names)
    return CheckFinding(
        id=f"{rule.name}.{UNKNOWN}",
        balance="mouths",
        weight="note",
        who=", ".join(whose),
        what=f"{UNKNOWN}: {told}",
        why=f"the rule '{rule.name}' cannot judge without it, and does not pass for want of it",
        source="the catalogue, which lacks the fact",
        status="practice",
        remedies=("look it up or ask, and write it into a folder of your own entries",),
    )
