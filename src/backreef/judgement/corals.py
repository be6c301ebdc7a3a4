"""Corals in the balance of Mouths: whether their living surface holds, in which members, until when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.rules import all_rules, rule
from backreef.judgement.spans import first_run_end, in_turn, share
from backreef.simulation.cohorts import lives_on_light
from backreef.working.members import Seen, middle

Array = npt.NDArray[np.float64]
_LOWEST = Seen(symbol="lowest_surface", what="least living surface over what came, in a member hit")
_DAYS = Seen(symbol="days_below", what="days below the bound, in a member hit", unit="d")
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoralLoss:
    """The corals, anemones and clams of the plan lose living surface."""

    harm: bool
    first_day: IntArray
    """(members,) first day on which it counts; -1 where it never does."""
    lowest_ratio: float
    """Smallest surface over that of the start, median of the members hit."""
    bound_ratio: float
    days: float
    said_by: str
    """Where the bound comes from, in words."""

    @property
    def about(self) -> str:
        """Balance and who."""
        return "mouths.corals"

    @property
    def share(self) -> float:
        """Share of the members in which it happens."""
        return share(self.first_day >= 0)


def coral_losses(plan: Plan, catalogue: Catalogue, series: Mapping[str, Array]) -> list[CoralLoss]:
    """Give the losses of coral surface against what came; none where the plan keeps no corals."""
    if not keeps_corals(plan, catalogue):
        return []
    area_m2 = series["coral_area_m2"]
    names = {True: "coral_harm_ratio", False: "coral_thin_ratio"}
    bounds = {harm: rule(name) for harm, name in names.items()}
    beneath = {harm: np.zeros(area_m2.shape, dtype=bool) for harm in bounds}
    lowest = np.zeros(area_m2.shape[1])
    for some in in_turn(area_m2.shape[1]):
        relative = surface_ratio(plan, catalogue, area_m2[:, some])
        lowest[some] = relative.min(axis=0)
        for harm, bound in bounds.items():
            beneath[harm][:, some] = relative < bound
    found = []
    for harm, bound in bounds.items():
        below = beneath[harm]
        first = first_run_end(below, int(rule("coral_days")))
        hit = first >= 0
        if hit.any():
            found.append(
                CoralLoss(
                    harm=harm,
                    first_day=first,
                    lowest_ratio=middle(lowest[hit], _LOWEST),
                    bound_ratio=bound,
                    days=middle(below.sum(axis=0)[hit], _DAYS),
                    said_by=all_rules()[names[harm]].said_by,
                )
            )
    return found


def keeps_corals(plan: Plan, catalogue: Catalogue) -> bool:
    """Whether a plan keeps corals, anemones or clams that live on light."""
    return any(_lit(entry, catalogue) for entry in plan.animals)


def surface_ratio(plan: Plan, catalogue: Catalogue, area_m2: Array) -> Array:
    """Give the living surface over the one that came; 1 where none came, (days, members). [-]"""
    least_m2 = rule("inhabited_coral_m2")
    kept = _started(area_m2, plan, catalogue)
    return np.asarray(np.where(kept > least_m2, area_m2 / np.maximum(kept, least_m2), 1.0))


def _lit(entry: AnimalEntry, catalogue: Catalogue) -> bool:
    species = catalogue.species[entry.species]
    return lives_on_light(species, catalogue.guilds[species.guild])


def _started(area: Array, plan: Plan, catalogue: Catalogue) -> Array:
    """Surface of the first day, and what came on each arrival day on top of it, (days, members).

    Where more is there on an arrival day than ever came, that is weighed: but what was lost before, newcomers
    do not make good.
    """
    days = {0}
    for entry in plan.animals:
        if entry.arrives_on is not None and _lit(entry, catalogue):
            days.add(min(max(0, (entry.arrives_on - plan.start_on).days), len(area) - 1))
    base, kept = np.zeros_like(area), np.zeros(area.shape[1:])
    for day in sorted(days):
        there = area[min(day + 1, len(area) - 1)]
        came = there - area[day - 1] if day else there
        kept = np.maximum(kept + np.maximum(came, 0.0), there)
        base[day:] = kept
    return base
