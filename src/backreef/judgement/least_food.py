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
from backreef.simulation.block import PLANNING
from backreef.simulation.draws import Draws
from backreef.simulation.engine import why_unavailable
from backreef.simulation.ensemble import march_members
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.rations import eaters_of, needed_mmol_per_d, warmth_of
from backreef.simulation.trajectories import cohort_course

Array = npt.NDArray[np.float64]
_SEED = 1
_LAST_D = 14
"""Days at the end of a trial over which intake is looked at; a numerical choice."""
_MOST = 4.0
"""What is plenty, over the ration that is reckoned without trying."""
_LEAST = 0.3
_HALVINGS = 6
"""Of the span between them, in logarithms: to within a twentieth of a ration."""
Met = dict[str, Array]
"""Entry of the animals -> what each member's eat over what they need."""


def with_least_food(plan: Plan, catalogue: Catalogue) -> Plan:
    """The plan with the size of its 'enough for' meals tried out: the least food that feeds every mouth.

    A mouth is fed if it gets no less than a twentieth short of its need, or of what it gets of plenty; one
    that gets far too little of plenty too, as beside a bully, is left out, and the forecast shows it hungry.
    All animals are taken to be there, settled, as large as they come; later the ration grows as they do.
    """
    sized = [meal for meal in plan.meals if meal.grams_as_fed is None]
    if not sized or plan.ration_ratios or why_unavailable():
        return plan
    trial = _trial(plan)
    eaters = _eaters(prepare(trial, catalogue))
    wanted = _wanted(prepare(trial, catalogue), eaters)
    plenty = _met(trial, catalogue, dict.fromkeys(eaters, _MOST))
    bounds = {
        meal: {
            name: np.minimum(wanted[meal], plenty[name])
            for name in names
            if np.nanmedian(plenty[name]) >= rule("fed_from_ratio")
        }
        for meal, names in eaters.items()
    }
    low, high = dict.fromkeys(eaters, math.log(_LEAST)), dict.fromkeys(eaters, math.log(_MOST))
    for _ in range(_HALVINGS):
        middle = {meal: (low[meal] + high[meal]) / 2.0 for meal in eaters}
        met = _met(trial, catalogue, {meal: math.exp(value) for meal, value in middle.items()})
        for meal, names in bounds.items():
            enough = all(_fed(met[name], bound) for name, bound in names.items())
            (high if enough else low)[meal] = middle[meal]
    found = {meal: math.exp(high[meal]) for meal, names in bounds.items() if names}
    return replace(plan, ration_ratios=tuple(sorted(found.items())))


def _fed(met: Array, bound: Array) -> bool:
    """Whether all members but one in eight get enough."""
    short = np.isfinite(met) & (met < rule("short_of_need_ratio") * bound)
    return int(short.sum()) <= len(met) // LANES


def _trial(plan: Plan) -> Plan:
    """The plan for a few weeks with all of its animals there from the start."""
    there = tuple(
        replace(entry, arrives_on=None, gate=None, gate_conditions=(), gate_sightings=())
        for entry in plan.animals
    )
    return replace(plan, animals=there, horizon_days=int(rule("food_trial_d")), mishaps=())


def _eaters(prepared: Prepared) -> dict[str, list[str]]:
    """Meal -> entries of the animals for which it is to be enough; meals for nobody are left out."""
    found = eaters_of(prepared.plan, prepared.cohorts, prepared.foods)
    return {meal: [cohort.entry.id for cohort in cohorts] for meal, cohorts in found.items() if cohorts}


def _wanted(prepared: Prepared, eaters: Mapping[str, list[str]]) -> dict[str, float]:
    """Meal -> intake over upkeep that it is to allow: 1, or what its fastest grower needs. [-]"""
    growing = {meal.id: meal.enough_for == "growth" for meal in prepared.plan.meals}
    warmth_ratio = warmth_of(prepared.plan)
    cohorts = {cohort.entry.id: cohort for cohort in prepared.cohorts}
    wanted = {}
    for meal, names in eaters.items():
        needs = [
            needed_mmol_per_d(cohorts[name], 0, warmth_ratio, growth=growing[meal])
            / needed_mmol_per_d(cohorts[name], 0, warmth_ratio, growth=False)
            for name in names
        ]
        wanted[meal] = max(needs)
    return wanted


def _met(trial: Plan, catalogue: Catalogue, ratios: Mapping[str, float]) -> Met:
    """What each entry's animals eat over what they need, in eight members, in the last days of a trial."""
    prepared = prepare(replace(trial, ration_ratios=tuple(sorted(ratios.items()))), catalogue)
    members = march_members(prepared, Draws(_SEED, LANES), PLANNING)
    found = {}
    for slot, cohort in enumerate(prepared.cohorts):
        course = cohort_course(prepared, members, slot)
        living = course.living[-_LAST_D:]
        days = np.maximum(living.sum(axis=0), 1)
        total = np.where(living, course.energy_met[-_LAST_D:], 0.0).sum(axis=0) / days
        found[cohort.entry.id] = np.where(living.any(axis=0), total, np.nan)
    return found
