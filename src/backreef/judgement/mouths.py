"""The balance of Mouths: who goes hungry, in which members, from which day."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from backreef.judgement.spans import first_run_end, share
from backreef.simulation.cohorts import Cohort
from backreef.simulation.trajectories import CohortCourse

IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hunger:
    """A cohort whose reserve falls."""

    cohort: Cohort
    harm: bool
    first_day: IntArray
    lowest: float
    """Lowest reserve over that of a well-fed animal, median of the members hit."""
    bound: float
    days: float

    @property
    def share(self) -> float:
        """Share of the members in which it happens."""
        return share(self.first_day >= 0)


@cache
def mouth_rules() -> Mapping[str, dict[str, str]]:
    """Give the rules of the balance by name."""
    with (files("backreef.judgement") / "data" / "mouths.csv").open(encoding="utf-8") as file:
        return {row["name"]: row for row in csv.DictReader(file)}


def rule(name: str) -> float:
    """Give the number of a rule."""
    return float(mouth_rules()[name]["value"])


def hungers(cohorts: list[Cohort], courses: list[CohortCourse]) -> list[Hunger]:
    """Give the cohorts that are thin for too long, or harmed. What a kind eats that no pool holds is not judged."""
    found = []
    for cohort, course in zip(cohorts, courses, strict=True):
        if cohort.guild.prey_not_modelled:
            continue
        living = course.count > 0.5
        for harm in (True, False):
            bound = rule("harm_fullness" if harm else "hungry_fullness")
            below = living & (course.fullness < bound)
            first = first_run_end(below, int(rule("harm_days" if harm else "hungry_days")))
            hit = first >= 0
            if hit.any():
                lowest = np.where(living, course.fullness, np.inf).min(axis=0)
                found.append(
                    Hunger(
                        cohort=cohort,
                        harm=harm,
                        first_day=first,
                        lowest=float(np.median(lowest[hit])),
                        bound=bound,
                        days=float(np.median(below.sum(axis=0)[hit])),
                    )
                )
    return found
