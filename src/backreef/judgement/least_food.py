"""The least food of a meal that is 'enough for' somebody: tried in the simulation until no mouth is short."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.rules import rule
from backreef.simulation.block import FORECAST
from backreef.simulation.draws import Draws
from backreef.simulation.engine import why_unavailable
from backreef.simulation.ensemble import march_members
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.rations import eaters_of, needed_mmol_per_d, warmth_of
from backreef.simulation.trajectories import cohort_course
from backreef.simulation.worked_out import WorkedOut

Array = npt.NDArray[np.float64]
_SEED = 1
_LAST_D = 14
"""Days at the end of a trial over which intake is looked at; a numerical choice."""
_MOST = 2.0
"""What is plenty, over the ration that is reckoned without trying."""
_FORAGERS = ("mostly", "fully")
"""How far what grows replaces feeding, from which a meal is not sized for an animal's needs."""
_LEAST = 0.3
_HALVINGS = 6
"""Of the span between them, in logarithms: to within a twentieth of a ration."""
Met = dict[str, Array]
"""Entry of the animals -> what each member's eat over what they need."""


def with_least_food(plan: Plan, catalogue: Catalogue) -> Plan:
    """The plan with the size of its 'enough for' meals tried out: the least food that feeds every mouth.

    A mouth is fed if its upkeep is met but for a twentieth in all members but one of eight, or as much of it
    as plenty meets, and in the middle one as much growth as the reckoned ration allows. One that plenty does
    not keep either is left out, and the forecast shows it hungry.
    All animals are taken to be there, settled, as large as they come; later the ration grows as they do.
    """
    sized = [meal for meal in plan.meals if meal.grams_as_fed is None]
    if not sized or plan.ration_ratios or why_unavailable():
        return plan
    trial = _trial(plan)
    eaters = _eaters(prepare(trial, catalogue))
    wanted = _wanted(prepare(trial, catalogue), eaters)
    plenty, reckoned = (_met(trial, catalogue, dict.fromkeys(eaters, ratio)) for ratio in (_MOST, 1.0))
    helped = {
        meal: [name for name in names if _middle(plenty[name]) >= rule("fed_from_ratio")]
        for meal, names in eaters.items()
    }
    low, high = dict.fromkeys(eaters, math.log(_LEAST)), dict.fromkeys(eaters, math.log(_MOST))
    for _ in range(_HALVINGS):
        middle = {meal: (low[meal] + high[meal]) / 2.0 for meal in eaters}
        met = _met(trial, catalogue, {meal: math.exp(value) for meal, value in middle.items()})
        for meal, names in helped.items():
            growing = {name: min(wanted[meal, name], _middle(reckoned[name])) for name in names}
            enough = all(_fed(met[name], plenty[name], growing[name]) for name in names)
            (high if enough else low)[meal] = middle[meal]
    found = {meal: math.exp(high[meal]) for meal, names in helped.items() if names}
    return replace(plan, ration_ratios=tuple(sorted(found.items())))


def _middle(met: Array) -> float:
    """The middle of the members in which any live; unknown where they live in none."""
    return float(np.nanmedian(met)) if np.isfinite(met).any() else math.nan


def _fed(met: Array, plenty: Array, wanted_ratio: float) -> bool:
    """Whether all members but one in eight have their upkeep, and the middle one what it is to grow by."""
    near = rule("short_of_need_ratio")
    short = np.isfinite(met) & (met < near * np.minimum(1.0, plenty))
    return _middle(met) >= near * wanted_ratio and int(short.sum()) <= len(met) // LANES


def _trial(plan: Plan) -> Plan:
    """The plan for a few weeks with all of its animals there from the start."""
    there = tuple(
        replace(entry, arrives_on=None, gate=None, gate_conditions=(), gate_sightings=())
        for entry in plan.animals
    )
    return replace(plan, animals=there, horizon_days=int(rule("food_trial_d")), mishaps=())


def _eaters(prepared: Prepared) -> dict[str, list[str]]:
    """Meal -> entries of the animals for which it is to be enough; meals for nobody are left out.

    Who lives from what grows is left out too: how much of that there is by then, a trial does not know.
    """
    found = {
        meal: [each.entry.id for each in cohorts if each.species.forage_replaces not in _FORAGERS]
        for meal, cohorts in eaters_of(prepared.plan, prepared.cohorts, prepared.foods).items()
    }
    return {meal: names for meal, names in found.items() if names}


def _wanted(prepared: Prepared, eaters: Mapping[str, list[str]]) -> dict[tuple[str, str], float]:
    """Meal and entry -> intake over upkeep that the meal is to allow: 1, or what its growth needs. [-]"""
    growing = {meal.id: meal.enough_for == "growth" for meal in prepared.plan.meals}
    warmth_ratio = warmth_of(prepared.plan)
    cohorts = {cohort.entry.id: cohort for cohort in prepared.cohorts}

    def needed(name: str, *, growth: bool) -> float:
        return needed_mmol_per_d(cohorts[name], 0, warmth_ratio, growth=growth)

    return {
        (meal, name): needed(name, growth=growing[meal]) / needed(name, growth=False)
        for meal, names in eaters.items()
        for name in names
    }


def _met(trial: Plan, catalogue: Catalogue, ratios: Mapping[str, float]) -> Met:
    """What each entry's animals eat over what they need, in eight members, in the last days of a trial."""
    prepared = prepare(replace(trial, ration_ratios=tuple(sorted(ratios.items()))), catalogue)
    worked_out = WorkedOut(march_members(prepared, Draws(_SEED, LANES), FORECAST))
    found = {}
    for slot, cohort in enumerate(prepared.cohorts):
        course = cohort_course(prepared, worked_out, slot)
        living = course.living[-_LAST_D:]
        days = np.maximum(living.sum(axis=0), 1)
        total = np.where(living, course.energy_met[-_LAST_D:], 0.0).sum(axis=0) / days
        found[cohort.entry.id] = np.where(living.any(axis=0), total, np.nan)
    return found
