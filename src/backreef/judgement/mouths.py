"""The balance of Mouths: who goes hungry, in which members, from which day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.judgement.rules import all_rules, rule
from backreef.judgement.spans import first_run_end, share
from backreef.simulation.cohorts import Cohort
from backreef.simulation.trajectories import CohortCourse
from backreef.working.members import Seen, middle

IntArray = npt.NDArray[np.int64]
_LOWEST = Seen(symbol="lowest_reserve", what="lowest reserve over a well-fed one's, in a member hit")
_DAYS = Seen(symbol="days_thin", what="days on which it is thin, in a member hit", unit="d")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hunger:
    """A cohort whose reserve falls."""

    cohort: Cohort
    harm: bool
    """True: below the harm level for its days; False: thin for too long."""
    first_day: IntArray
    lowest_ratio: float
    """Lowest reserve over that of a well-fed animal, median of the members hit."""
    bound_ratio: float
    days: float

    @property
    def about(self) -> str:
        """Balance and entry of the plan."""
        return f"mouths.{self.cohort.entry.id}"

    @property
    def share(self) -> float:
        """Share of the members in which it happens."""
        return share(self.first_day >= 0)

    @property
    def said_by(self) -> str:
        """On whose word it counts."""
        return all_rules()[_LEVELS[self.harm]].said_by


_LEVELS = {True: "harm_fullness_ratio", False: "hungry_fullness_ratio"}
_WAITS = {True: "harm_d", False: "hungry_d"}


def hungers(cohorts: list[Cohort], courses: list[CohortCourse]) -> list[Hunger]:
    """Give the cohorts that are thin for too long, or harmed; none whose prey the model has not."""
    found = []
    for cohort, course in zip(cohorts, courses, strict=True):
        if not cohort.guild.prey_not_modelled:
            found += [_hunger(cohort, course, harm=harm) for harm in (True, False)]
    return [hunger for hunger in found if hunger is not None]


def _hunger(cohort: Cohort, course: CohortCourse, *, harm: bool) -> Hunger | None:
    bound, living = rule(_LEVELS[harm]), course.living
    below = living & (course.fullness < bound)
    first = first_run_end(below, int(rule(_WAITS[harm])))
    hit = first >= 0
    if not hit.any():
        return None
    lowest = course.fullness.min(axis=0, where=living, initial=np.inf)
    return Hunger(
        cohort=cohort,
        harm=harm,
        first_day=first,
        lowest_ratio=middle(lowest[hit], _LOWEST),
        bound_ratio=bound,
        days=middle(below.sum(axis=0)[hit], _DAYS),
    )
