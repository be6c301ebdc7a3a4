"""The protein that each animal ate, day by day, against what keeps its flesh."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.judgement.books import Drift, contents_of
from backreef.judgement.rules import all_rules, rule
from backreef.judgement.spans import first_run_end, share
from backreef.models.body_values import body_numbers
from backreef.models.mouths import BOTTOM, POOLS
from backreef.models.ration import clownfish_protein, scaled_need
from backreef.models.tables import ELEMENTS
from backreef.simulation.cohorts import Cohort
from backreef.simulation.ensemble import Members
from backreef.simulation.prepared import Prepared
from backreef.simulation.trajectories import CohortCourse, cohort_course
from backreef.simulation.worked_out import Named, WorkedOut
from backreef.units import atomic_mass_g_per_mol
from backreef.working.members import Seen, middle

Array = npt.NDArray[np.float64]
_LOWEST = Seen(symbol="lowest_protein", what="least protein eaten over what keeps it, in a member hit")
_DAYS = Seen(symbol="days_short", what="days on which it is short, in a member hit", unit="d")
IntArray = npt.NDArray[np.int64]
NITROGEN = ELEMENTS.index("nitrogen")
LYING = ("X_FP", "X_FL", "X_FC")
"""What food on the bottom consists of; the first is its protein."""
LEAST_MMOL = 1e-9
MG_PER_G = 1000.0


class DayBook:
    """Looks at the days of a block as they come: whether its books close, and who ate how much protein."""

    def __init__(self, prepared: Prepared, parameters: Array) -> None:
        layout, slots = prepared.layout, len(prepared.cohorts)
        self.drift = Drift(prepared, parameters)
        self.slots, self.lanes = slots, parameters.shape[1]
        self.rows = [
            layout.slot_address(slot, f"ate_{pool}", slots) for slot in range(slots) for pool in POOLS
        ]
        self.lying = [layout.address(name) for name in LYING]
        contents = contents_of(layout, parameters)
        flesh = contents[LYING[0]][NITROGEN]
        per_pool = [flesh if pool == BOTTOM else contents[pool][NITROGEN] for pool in POOLS]
        mg_per_mmol = atomic_mass_g_per_mol()["N"] * body_numbers()["protein_per_nitrogen.feed_ratio"]
        self.protein = mg_per_mmol * np.stack([np.broadcast_to(one, self.lanes) for one in per_pool])
        self.before: Array | None = None
        self.eaten: list[npt.NDArray[np.float32]] = []

    def look(self, days: Array) -> None:
        """Look at days, (days, rows, lanes), that follow those looked at before."""
        self.drift.look(days)
        ate = days[:, self.rows]
        before = ate[:1] if self.before is None else self.before
        self.before = ate[-1:]
        each = np.diff(ate, axis=0, prepend=before).reshape(len(days), self.slots, len(POOLS), self.lanes)
        worth = np.broadcast_to(self.protein, (len(days), *self.protein.shape)).copy()
        worth[:, POOLS.index(BOTTOM)] *= self._in_protein(days)
        self.eaten.append((each * worth[:, None]).sum(axis=2, dtype=np.float32))

    def _in_protein(self, days: Array) -> Array:
        """Share of the carbon lying on the bottom that is protein, (days, lanes)."""
        lying = days[:, self.lying]
        return np.asarray(lying[:, 0] / np.maximum(lying.sum(axis=1), LEAST_MMOL))

    @property
    def found(self) -> Array:
        """The drift of the elements, (elements, lanes). [-]"""
        return self.drift.found

    @property
    def daily(self) -> npt.NDArray[np.float32]:
        """The protein that each cohort ate, (cohorts, days, lanes). [mg/d]"""
        if not self.eaten:
            return np.zeros((self.slots, 0, self.lanes), dtype=np.float32)
        return np.concatenate(self.eaten).swapaxes(0, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProteinLack:
    """A cohort of fish that eats less protein than keeps its flesh."""

    cohort: Cohort
    first_day: IntArray
    lowest_ratio: float
    """Lowest protein over the need, over some weeks, median of the members hit."""
    bound_ratio: float
    days: float
    harm: bool = False

    @property
    def about(self) -> str:
        """Balance and entry of the plan."""
        return f"mouths.{self.cohort.entry.id}.protein"

    @property
    def share(self) -> float:
        """Share of the members in which it happens."""
        return share(self.first_day >= 0)

    @property
    def said_by(self) -> str:
        """On whose word it counts."""
        return all_rules()["protein_short_ratio"].said_by


def protein_ratios(prepared: Prepared, worked_out: WorkedOut) -> Mapping[str, npt.NDArray[np.float32]]:
    """Give, for each entry of fish, crude protein eaten over what keeps them, (days, members). [-]

    Over the last weeks that a rule names, or since they came. Fish of all kinds are taken to need what a
    clownfish of their mass needs; of other animals nobody knows.
    """
    if worked_out.members.audits is None:
        return {}
    fish = {
        cohort.entry.id: partial(_protein_ratio, prepared, slot)
        for slot, cohort in enumerate(prepared.cohorts)
        if cohort.species.kind == "fish"
    }
    return Named(worked_out, fish, about="protein of ")


def _protein_ratio(prepared: Prepared, slot: int, members: Members) -> npt.NDArray[np.float32]:
    weeks_d, need = int(rule("protein_d")), clownfish_protein(body_numbers())
    course, since = cohort_course(prepared, WorkedOut(members), slot), prepared.cohorts[slot].arrives_day
    alive = np.where(course.living, course.count, 0.0)
    needed = alive * scaled_need(np.maximum(course.mass_g, LEAST_MMOL), need)
    met, wanted = (_last(each, weeks_d) for each in (members.daily(slot), needed))
    ratio = np.where(wanted > 0.0, met / np.maximum(wanted, LEAST_MMOL), 1.0)
    ratio[: since + weeks_d] = np.maximum(ratio[: since + weeks_d], 1.0)
    return ratio.astype(np.float32)


def _last(per_day: Array, days: int) -> Array:
    """Sums over the last so many days."""
    total = np.cumsum(per_day, axis=0, dtype=np.float64)
    result = total.copy()
    result[days:] -= total[:-days]
    return result


def protein_lacks(
    cohorts: list[Cohort], courses: list[CohortCourse], ratios: Mapping[str, npt.NDArray[np.float32]]
) -> list[ProteinLack]:
    """Give the fish that eat too little protein for too long; none whose prey the model has not."""
    bound, found = rule("protein_short_ratio"), []
    for cohort, course in zip(cohorts, courses, strict=True):
        ratio = ratios.get(cohort.entry.id)
        if ratio is None or cohort.guild.prey_not_modelled:
            continue
        below = course.living & (ratio < bound)
        first = first_run_end(below, int(rule("protein_short_d")))
        hit = first >= 0
        if hit.any():
            lowest = ratio.min(axis=0, where=course.living, initial=np.inf)
            found.append(
                ProteinLack(
                    cohort=cohort,
                    first_day=first,
                    lowest_ratio=middle(lowest[hit], _LOWEST),
                    bound_ratio=bound,
                    days=middle(below.sum(axis=0)[hit], _DAYS),
                )
            )
    return found
