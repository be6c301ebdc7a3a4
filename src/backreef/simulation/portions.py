"""What differs between members at single instants: portions, jams, errors of test kits, bodies on arrival."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from backreef.catalogue.entries import known
from backreef.schedule.feeders import FeederTraits
from backreef.schedule.meals import MealOccasion
from backreef.simulation.cohorts import CohortArrays
from backreef.simulation.damp import jam_of
from backreef.simulation.dangers import KEY as HAZARD
from backreef.simulation.dangers import drawn_rate_per_y
from backreef.simulation.draws import Draws
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import system_number, system_table

Array = npt.NDArray[np.float64]
KIT_ERRORS = {
    "S_NO3": "kit_error_nitrate_frac",
    "S_PO4": "kit_error_phosphate_frac",
    "S_ALK": "kit_error_alkalinity_frac",
}
OUTLIER = 2.5
"""Errors beyond so many standard deviations are cut off; a numerical choice."""
Key = tuple[str, ...]


def drawn_rows(prepared: Prepared, draws: Draws, bodies: list[CohortArrays]) -> Array:
    """Give the table of drawn numbers that the timeline's events refer to, (rows, members)."""
    keys = prepared.timeline.drawn
    rows = np.ones((max(1, len(keys)), draws.members))
    slots = {cohort.entry.id: slot for slot, cohort in enumerate(prepared.cohorts)}
    portions: list[tuple[int, Key]] = []
    kits: list[tuple[int, Key]] = []
    for place, key in enumerate(keys):
        if key[0] == "body":
            body = bodies[slots[key[1]]]
            rows[place] = body.structure_mmol if key[2] == "structure" else body.reserve_mmol
        elif key[0] == "portion":
            portions.append((place, key))
        elif key[0] == "kit":
            kits.append((place, key))
        elif key[0] == HAZARD:
            rows[place] = drawn_rate_per_y(prepared.timeline.hazards[int(key[1])], draws)
    _fill_kits(rows, kits, draws)
    _fill_portions(rows, portions, prepared, draws)
    return rows


def _fill_kits(rows: Array, kits: list[tuple[int, Key]], draws: Draws) -> None:
    for component in sorted({key[1] for _, key in kits}):
        places = [place for place, key in kits if key[1] == component]
        width = system_number(KIT_ERRORS.get(component, "kit_error_other_frac"))
        errors = draws.normal(f"kit {component}", len(places))
        rows[places] = np.exp(width * np.clip(errors, -OUTLIER, OUTLIER))


def _fill_portions(rows: Array, portions: list[tuple[int, Key]], prepared: Prepared, draws: Draws) -> None:
    """Fill in, giver by giver, what comes out at each meal over what was set."""
    occasions = {
        (meal.meal_id, meal.day, f"{meal.hour:.4f}"): meal for meal in prepared.keeper.meals.occasions
    }
    for giver in sorted({key[2] for _, key in portions}):
        own = [(place, key) for place, key in portions if key[2] == giver]
        meals = [occasions[key[1], int(key[3]), key[4]] for _, key in own]
        factor = _portion_errors(giver, meals, prepared, draws)
        feeder = prepared.keeper.meals.feeders.get(giver)
        if feeder is not None:
            factor = factor * feeder_bias(feeder, prepared, draws)
            levels = np.array([meal.hopper_frac for meal in meals])
            factor = factor * feeder.drift_ratio(levels)[:, None]
            factor = factor * np.array([meal.mix_ratio for meal in meals])[:, None]
            factor = factor * _unjammed(feeder, meals, prepared, draws)
        rows[[place for place, _ in own]] = factor


def _portion_errors(giver: str, meals: list[MealOccasion], prepared: Prepared, draws: Draws) -> Array:
    """The error of each meal, 1 on the mean: many turns even out."""
    feeder = prepared.keeper.meals.feeders.get(giver)
    spread = known(feeder.portion_cv_frac) if feeder else None
    width = spread.value if spread else system_number("portion_hand_cv_frac")
    errors = np.clip(draws.normal(f"portions of {giver}", len(meals)), -OUTLIER, OUTLIER)
    turns = np.array([max(1, meal.portions) for meal in meals], dtype=float)[:, None]
    sigma = np.sqrt(np.log1p(width**2 / turns))
    factor = np.asarray(np.exp(sigma * errors - sigma**2 / 2))
    factor[:, draws.certain] = 1.0
    return factor


def feeder_bias(feeder: FeederTraits, prepared: Prepared, draws: Draws) -> Array:
    """What a feeder gives over its setting, for good; less wrong where its portions are weighed."""
    weighed = any(upkeep.task == "feeder_calibrate" for upkeep in prepared.plan.upkeep)
    span = system_table()["feeder_bias_weighed_ratio" if weighed else "feeder_bias_ratio"].span
    return draws.value(f"bias of {feeder.device_id}", span.value, span.low, span.high)


def _unjammed(feeder: FeederTraits, meals: list[MealOccasion], prepared: Prepared, draws: Draws) -> Array:
    """0 from a jam until somebody looks in, 1 otherwise."""
    chance = jam_of(feeder, prepared.plan, prepared.catalogue)
    if chance is None or not meals:
        return np.ones((len(meals), draws.members))
    luck = draws.uniform(f"jams of {feeder.device_id}", len(meals))
    jams = luck < (1.0 - (1.0 - chance.value) ** np.array([max(1, m.portions) for m in meals])[:, None])
    looks_before = np.concatenate(([0], np.cumsum(_somebody_at_the_feeder(prepared))))
    looks = looks_before[[meal.day for meal in meals]]
    number = np.arange(len(meals))
    since_look = np.maximum.accumulate(np.where(np.diff(looks, prepend=looks[0]) > 0, number, 0))
    last_jam = np.maximum.accumulate(np.where(jams, number[:, None], -1), axis=0)
    return np.where(last_jam >= since_look[:, None], 0.0, 1.0)


def _somebody_at_the_feeder(prepared: Prepared) -> npt.NDArray[np.bool_]:
    """Days on which the keeper is there, or a helper who fills feeders and so sees that one has stopped."""
    presence = prepared.keeper.presence
    there = presence.present.copy()
    for helper in presence.helpers:
        if not helper.tasks or "feeder_refill" in helper.tasks:
            there |= helper.present
    return there
