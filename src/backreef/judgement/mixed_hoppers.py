"""Foods of unlike size in one feeder: the finer leave first, and diets err before the hopper is empty."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from backreef.catalogue.entries import Species, known
from backreef.company.findings import CheckFinding
from backreef.judgement.rules import rule
from backreef.schedule.feeders import FeederTraits
from backreef.schedule.segregation import delivered_shares, eagerness_to_leave, out_until_off_frac
from backreef.schedule.tables import laid_out_feeders, segregation_exponent
from backreef.simulation.prepared import Prepared

Array = npt.NDArray[np.float64]
QUARTERS = 4
_PLACES = 8
"""Points of a quarter at which the delivered mix is looked at."""


def mixed_hoppers(prepared: Prepared) -> Iterator[CheckFinding]:
    """Give, per feeder with several foods, how they part and from which day whose diet is off."""
    for traits in prepared.keeper.meals.feeders.values():
        grams: dict[str, float] = {}
        for meal in prepared.keeper.meals.occasions:
            if meal.by == traits.device_id:
                grams[meal.food_id] = grams.get(meal.food_id, 0.0) + meal.food_g
        foods = tuple(food for food, total in grams.items() if total > 0)
        eagerness = eagerness_to_leave(foods, prepared.catalogue) if len(foods) > 1 else None
        if eagerness is None or traits.kind in laid_out_feeders() or np.ptp(eagerness) == 0.0:
            continue
        mix = np.array([grams[food] for food in foods])
        yield _finding(prepared, traits, foods, mix=mix / mix.sum(), eagerness=eagerness)


def quarter_share(quarter: int, place: int, mix: Array, eagerness: Array) -> float:
    """Share of a food in what comes out in a quarter of a filling, the first being 0. [-]"""
    middles = (np.arange(_PLACES) + 0.5) / (_PLACES * QUARTERS)
    levels = 1.0 - quarter / QUARTERS - middles
    return float(np.mean([delivered_shares(level, mix, eagerness)[place] for level in levels]))


def _finding(
    prepared: Prepared,
    traits: FeederTraits,
    foods: tuple[str, ...],
    *,
    mix: Array,
    eagerness: Array,
) -> CheckFinding:
    finest = int(np.argmax(eagerness))
    first, last = (quarter_share(quarter, finest, mix, eagerness) for quarter in (0, QUARTERS - 1))
    words = [prepared.catalogue.foods[food].name for food in foods]
    off = _first_off(prepared, traits, foods, mix=mix, eagerness=eagerness)
    number = segregation_exponent()
    return CheckFinding(
        id=f"mixed.{traits.device_id}",
        balance="mouths",
        weight="caution" if off else "note",
        who=traits.device_id,
        what=f"{traits.device_id}: the finer of its foods leave first",
        why=f"{' and '.join(words)} lie in one hopper; of what comes out, the finest is {first:.0%} in the "
        f"first quarter of a filling and {last:.0%} in the last, where {mix[finest]:.0%} was filled in" + off,
        source=number.source,
        status=number.status,
    )


def _first_off(
    prepared: Prepared,
    traits: FeederTraits,
    foods: tuple[str, ...],
    *,
    mix: Array,
    eagerness: Array,
) -> str:
    """From which day of a filling whose diet is off by more than a tenth, in words; empty for nobody's."""
    per_day_g = _grams_per_day(prepared, traits)
    lasts_d = traits.hopper_g / per_day_g if traits.hopper_g and per_day_g > 0 else None
    worst: tuple[float, str] | None = None
    for entry in prepared.plan.animals:
        species = prepared.catalogue.species[entry.species]
        wanted = [1.0 if _takes(species, food, prepared) else 0.0 for food in foods]
        out = out_until_off_frac(wanted, mix, eagerness, tolerated_frac=rule("diet_off_frac"))
        if out is not None and (worst is None or out < worst[0]):
            worst = (out, species.common_name)
    if worst is None:
        return ""
    if lasts_d is None:
        return f"; the diet of {worst[1]} is off by a tenth after {worst[0]:.0%} of a filling"
    return (
        f"; the diet of {worst[1]} is off by a tenth from day {int(worst[0] * lasts_d) + 1} after a filling"
    )


def _grams_per_day(prepared: Prepared, traits: FeederTraits) -> float:
    meals = prepared.keeper.meals.occasions
    return sum(meal.food_g for meal in meals if meal.by == traits.device_id) / prepared.keeper.days


def _takes(species: Species, food: str, prepared: Prepared) -> bool:
    """Whether grains of this food are of a size and class that the animal takes."""
    entry = prepared.catalogue.foods[food]
    grain, pieces = known(entry.particle_mm), known(species.food_mm)
    refused = species.takes.get(entry.food_class, "unknown") in ("no", "rarely")
    if grain is None or pieces is None:
        return not refused
    return not refused and pieces.lowest <= grain.value <= pieces.highest
