"""What differs between members at single instants: portions of feeders and hands, jams, errors of test kits, bodies."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from backreef.catalogue.entries import known
from backreef.simulation.draws import Draws
from backreef.simulation.system import system_table

if TYPE_CHECKING:
    from backreef.simulation.cohorts import CohortArrays
    from backreef.simulation.ensemble import Prepared

Array = npt.NDArray[np.float64]
KIT_ERRORS = {
    "S_NO3": "kit_error_nitrate_frac",
    "S_PO4": "kit_error_phosphate_frac",
    "S_ALK": "kit_error_alkalinity_frac",
}
JAM_LASTS_UNTIL_VISIT = 1.0


def drawn_rows(prepared: Prepared, draws: Draws, bodies: list[CohortArrays]) -> Array:
    """Give the table of drawn numbers that the timeline's events refer to, (rows, members)."""
    keys = prepared.timeline.drawn
    rows = np.ones((max(1, len(keys)), draws.members))
    slots = {cohort.entry.id: slot for slot, cohort in enumerate(prepared.cohorts)}
    portions: list[tuple[int, tuple[str, ...]]] = []
    kits: list[tuple[int, tuple[str, ...]]] = []
    for place, key in enumerate(keys):
        if key[0] == "body":
            body = bodies[slots[key[1]]]
            rows[place] = body.structure_mmol if key[2] == "structure" else body.reserve_mmol
        elif key[0] == "portion":
            portions.append((place, key))
        elif key[0] == "kit":
            kits.append((place, key))
    _fill_kits(rows, kits, draws)
    _fill_portions(rows, portions, prepared, draws)
    return rows


def _fill_kits(rows: Array, kits: list[tuple[int, tuple[str, ...]]], draws: Draws) -> None:
    table = system_table()
    for component in sorted({key[1] for _, key in kits}):
        places = [place for place, key in kits if key[1] == component]
        width = table[KIT_ERRORS.get(component, "kit_error_other_frac")].span.value
        errors = draws.normal(f"kit {component}", len(places))
        rows[places] = np.exp(width * np.clip(errors, -2.5, 2.5))


def _fill_portions(
    rows: Array, portions: list[tuple[int, tuple[str, ...]]], prepared: Prepared, draws: Draws
) -> None:
    """Each device's (or the hand's) bias for good, its error at each meal, its drift with the level, its jams."""
    occasions = {
        (meal.meal_id, meal.day, f"{meal.hour:.4f}"): meal for meal in prepared.keeper.meals.occasions
    }
    table = system_table()
    for giver in sorted({key[2] for _, key in portions}):
        own = [(place, key) for place, key in portions if key[2] == giver]
        places = [place for place, _ in own]
        traits = prepared.keeper.meals.feeders.get(giver)
        spread = known(traits.portion_cv_frac) if traits else None
        width = spread.value if spread else table["portion_hand_cv_frac"].span.value
        errors = np.clip(draws.normal(f"portions of {giver}", len(own)), -2.5, 2.5)
        meals = [occasions[key[1], int(key[3]), key[4]] for _, key in own]
        turns = np.array([max(1, meal.portions) for meal in meals], dtype=float)[:, None]
        sigma = np.sqrt(np.log1p(width**2 / turns))
        factor = np.exp(sigma * errors - sigma**2 / 2)
        if traits:
            weighed = any(upkeep.task == "feeder_calibrate" for upkeep in prepared.plan.upkeep)
            span = table["feeder_bias_weighed_ratio" if weighed else "feeder_bias_ratio"].span
            factor = factor * draws.value(f"bias of {giver}", span.value, span.low, span.high)
            levels = np.array([meal.hopper_frac for meal in meals])
            factor = factor * traits.drift_ratio(levels)[:, None]
            factor = factor * _unjammed(traits, meals, prepared, draws)
        rows[places] = factor


def _unjammed(traits: object, meals: list, prepared: Prepared, draws: Draws) -> Array:  # type: ignore[type-arg]
    """0 from a jam until somebody looks in, 1 otherwise; never in a nominal run."""
    chance = known(traits.jam_per_portion)  # type: ignore[attr-defined]
    clear = np.ones((len(meals), draws.members))
    if chance is None or draws.nominal:
        return clear
    luck = draws.uniform(f"jams of {traits.device_id}", len(meals))  # type: ignore[attr-defined]
    jams = luck < (1.0 - (1.0 - chance.value) ** np.array([max(1, m.portions) for m in meals])[:, None])
    present = _somebody_at_the_feeder(prepared)
    stuck = np.zeros(draws.members, dtype=bool)
    last_day = meals[0].day if meals else 0
    for number, meal in enumerate(meals):
        if meal.day != last_day and present[last_day : meal.day].any():
            stuck[:] = False
        last_day = meal.day
        stuck |= jams[number]
        clear[number, stuck] = 0.0
    return clear


def _somebody_at_the_feeder(prepared: Prepared) -> npt.NDArray[np.bool_]:
    """Days on which the keeper is there, or a helper who fills feeders and so sees that one has stopped, (days,)."""
    presence = prepared.keeper.presence
    there = presence.present.copy()
    for helper in presence.helpers:
        if not helper.tasks or "feeder_refill" in helper.tasks:
            there |= helper.present
    return there
