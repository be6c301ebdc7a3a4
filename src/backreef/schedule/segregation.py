"""Foods of unlike size in one hopper: the finer grains leave first.

Each kind leaves in proportion to what is left of it times its eagerness, a power of the size ratio. Turn by
turn that is `came_over_planned`; for one filling from full to empty it has the closed form of
`delivered_shares`: what is left of kind i is mix_i u^eagerness_i, with one depth u for all.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Meal
from backreef.catalogue.entries import Catalogue, known
from backreef.schedule.tables import segregation_exponent

Array = npt.NDArray[np.float64]
Turn = tuple[str, float, float]
"""Food, share of a full hopper that the meal takes by the plan, and how full the hopper was before."""
_EMPTY = 1e-12
_HALVINGS = 60
"""Of the interval in which the common depth is sought; more than a number resolves."""
_STEPS = 200
"""Of a filling, in which the first too large error is sought."""


def mixed_foods(meals: Sequence[Meal]) -> tuple[str, ...]:
    """Foods that lie in one hopper together; none where there is only one."""
    foods = tuple(dict.fromkeys(meal.food for meal in meals))
    return foods if len(foods) > 1 else ()


def eagerness_to_leave(foods: Sequence[str], catalogue: Catalogue) -> Array | None:
    """How readily each food leaves, against the coarsest; None where the size of one is not known. [-]"""
    found = [known(catalogue.foods[food].particle_mm) for food in foods]
    sizes = np.array([size.value for size in found if size is not None])
    if len(sizes) != len(foods):
        return None
    return np.asarray((sizes.max() / sizes) ** segregation_exponent().value)


def delivered_shares(level_frac: float, mix_frac: npt.ArrayLike, eagerness: npt.ArrayLike) -> Array:
    """Share of each kind in what comes out when so much of a filling is left. [-]"""
    mix, eager = np.asarray(mix_frac, dtype=np.float64), np.asarray(eagerness, dtype=np.float64)
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        depth = 0.5 * (low + high)
        low, high = (low, depth) if float((mix * depth**eager).sum()) > level_frac else (depth, high)
    leaving = eager * mix * high ** (eager - eager.min())
    return np.asarray(leaving / leaving.sum())


def out_until_off_frac(
    wanted: npt.ArrayLike, mix_frac: npt.ArrayLike, eagerness: npt.ArrayLike, *, tolerated_frac: float
) -> float | None:
    """Share of a filling let out until a diet is off by more than is tolerated; None: never. [-]

    `wanted` says which of the foods the animal takes, 1 or 0; its diet is what comes of those.
    """
    taken = np.asarray(wanted, dtype=np.float64)
    planned = float((taken * np.asarray(mix_frac)).sum())
    for step in range(_STEPS):
        came = float((taken * delivered_shares(1.0 - step / _STEPS, mix_frac, eagerness)).sum())
        if planned > 0.0 and abs(came / planned - 1.0) > tolerated_frac:
            return step / _STEPS
    return None


def came_over_planned(
    turns: Sequence[Turn], foods: Sequence[str], mix_frac: npt.ArrayLike, eagerness: npt.ArrayLike
) -> list[float]:
    """What of its food comes with each meal over what the plan says, in order of time. [-]

    A refill adds the plan's mix on top of what was left.
    """
    mix, eager = np.asarray(mix_frac, dtype=np.float64), np.asarray(eagerness, dtype=np.float64)
    left, result = mix.copy(), []
    for food, share, level in turns:
        left = left + max(level - float(left.sum()), 0.0) * mix
        leaving = eager * left
        total = float(leaving.sum())
        if total <= _EMPTY or share <= 0.0:
            result.append(1.0)
            continue
        shares = leaving / total
        place = foods.index(food)
        result.append(float(shares[place] / mix[place]))
        left = np.maximum(left - share * shares, 0.0)
    return result
