"""A marched plan with its series and what troubles it, before any words."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.corals import CoralLoss, coral_losses
from backreef.judgement.hands import Overrun, Work, overruns, work_of_members
from backreef.judgement.mouths import Hunger, hungers
from backreef.judgement.protein import DayBook, ProteinLack, protein_lacks, protein_ratios
from backreef.judgement.rules import rule
from backreef.judgement.sieve import Sieve
from backreef.judgement.spans import earliest
from backreef.judgement.verdict import BalanceName
from backreef.judgement.water import WaterTrouble, water_bands, water_troubles
from backreef.models.mathops import Quantity
from backreef.simulation.block import FORECAST
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import Keep, MarchBlock, Members, march_members
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.trajectories import CohortCourse, cohort_courses, rows_of_series, water_series
from backreef.simulation.worked_out import WorkedOut
from backreef.simulation.workers import Cores
from backreef.working.record import askable

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
By = Callable[[Prepared], MarchBlock]


@dataclass(slots=True, kw_only=True)
class Course:
    """A marched plan with its series, before any words."""

    prepared: Prepared
    members: Members
    draws: Draws
    series: Mapping[str, Array]
    courses: list[CohortCourse]
    waters: list[WaterTrouble]
    hungers: list[Hunger]
    proteins: Mapping[str, npt.NDArray[np.float32]]
    """Entry of fish -> crude protein eaten over what keeps them, last weeks, (days, members)."""
    protein_lacks: list[ProteinLack]
    corals: list[CoralLoss]
    work: Work
    overruns: list[Overrun]

    @property
    def broken_by(self) -> dict[BalanceName, list[tuple[str, IntArray]]]:
        """What harms, by balance: its name, and the first day of it in each member; -1 for never."""
        mouths: tuple[Hunger | CoralLoss, ...] = (*self.hungers, *self.corals)
        missed = [(f"hands.{each.chore.task_id}", each.first_day) for each in self.work.missed]
        return {
            "mouths": [(one.about, one.first_day) for one in mouths if one.harm],
            "water": [(one.about, one.first_day) for one in self.waters if one.harm],
            "hands": [*((one.about, one.first_day) for one in self.overruns if one.harm), *missed],
        }

    @property
    def broken_on(self) -> dict[BalanceName, IntArray]:
        """First day on which each member breaks, by balance; -1 for never."""
        count = self.members.count
        return {name: earliest([days for _, days in by], count) for name, by in self.broken_by.items()}


def run_course(
    plan: Plan,
    catalogue: Catalogue,
    draws: Draws,
    *,
    progress: Callable[[int, int], None] | None = None,
    more_rows: frozenset[int] = frozenset(),
    sieve: Sieve | None = None,
) -> Course:
    """March a plan and look at its balances; `more_rows` of the state are kept beside those of the series.

    With a sieve, members are marched only until more of them break than it allows: the course then has those
    that were marched, in whole blocks.
    """
    prepared = prepare(plan, catalogue)
    return course_of(prepared, draws, progress=progress, more_rows=more_rows, sieve=sieve)


def course_of(  # noqa: PLR0913  all that may be asked of it, by name
    prepared: Prepared,
    draws: Draws,
    *,
    progress: Callable[[int, int], None] | None = None,
    more_rows: frozenset[int] = frozenset(),
    sieve: Sieve | None = None,
    meanwhile: Callable[[], None] | None = None,
    by: By | None = None,
) -> Course:
    """March a plan that was laid out, and look at its balances; `meanwhile` is done once, beside the march.

    `by` gives what marches its blocks, in place of what usually does.

    The march lets go of Python's lock, which laying out does not: whoever marches several plans lays them out
    one after the other while those before are under way.
    """
    hits = list[int]()

    def give_up(members: Members) -> bool:
        asked = members.some(int((members.numbers < draws.members).sum()))
        hits.append(int(_breaks(_course(prepared, asked, _drawn(draws, asked), hasty=True)).sum()))
        return sieve is not None and sum(hits) > sieve.hits_allowed

    keep = Keep(
        rows=rows_of_series(prepared) | more_rows,
        audit=partial(DayBook, prepared),
        give_up=None if sieve is None else give_up,
        ahead=() if sieve is None else sieve.order,
        meanwhile=meanwhile,
        by=None if by is None else by(prepared),
    )
    members = march_members(prepared, draws, FORECAST, progress=progress, keep=keep)
    course = _course(prepared, members, _drawn(draws, members))
    if sieve is not None:
        broke = _breaks(course)
        blocks = members.numbers // LANES
        for block, marched in zip(np.unique(blocks).tolist(), members.blocks, strict=True):
            sieve.note(block, int(broke[blocks == block].sum()), int(marched.report["steps"]))
    return course


def _breaks(course: Course) -> npt.NDArray[np.bool_]:
    """Whether each member breaks."""
    return earliest(list(course.broken_on.values()), course.members.count) >= 0


def _drawn(draws: Draws, members: Members) -> Draws:
    """The draws of the members that were marched."""
    return draws if members.count == draws.members else draws.of_numbers(draws.first + members.numbers)


def _course(prepared: Prepared, members: Members, draws: Draws, *, hasty: bool = False) -> Course:
    """The course of members; in haste, while others march, without lacks of protein and on one core."""
    worked_out = WorkedOut(members)
    series = water_series(prepared, worked_out, {"turf_cover_frac": partial(turf_cover_frac, prepared)})
    courses = cohort_courses(prepared, worked_out)
    if not hasty and worked_out.keeps_all:
        deque(Cores().each(CohortCourse.work_out, courses), maxlen=0)
    work = work_of_members(prepared, members, draws)
    ratios = protein_ratios(prepared, worked_out)
    marched = (prepared, members, draws)
    return _judged(marched, series, courses, work=work, ratios=ratios, hasty=hasty)


def judged_anew(course: Course, prepared: Prepared) -> Course:
    """Look at the balances of a march again, with the same plan whose numbers know where they stand."""
    work = work_of_members(prepared, course.members, course.draws)
    marched = (prepared, course.members, course.draws)
    return _judged(marched, course.series, course.courses, work=work, ratios=course.proteins)


def _judged(
    marched: tuple[Prepared, Members, Draws],
    series: Mapping[str, Array],
    courses: list[CohortCourse],
    *,
    work: Work,
    ratios: Mapping[str, npt.NDArray[np.float32]],
    hasty: bool = False,
) -> Course:
    prepared, members, draws = marched
    plan, catalogue = prepared.plan, prepared.catalogue
    inhabited, died = lived_and_died(series, courses)
    return Course(
        prepared=prepared,
        members=members,
        draws=draws,
        series=series,
        courses=courses,
        waters=water_troubles(water_bands(plan), series, inhabited, died),
        hungers=hungers(prepared.cohorts, courses),
        proteins=ratios,
        protein_lacks=[] if hasty else protein_lacks(prepared.cohorts, courses, ratios),
        corals=coral_losses(plan, catalogue, series),
        work=work,
        overruns=overruns(work, plan.keeper.minutes_per_month),
    )


def lived_and_died(
    series: Mapping[str, Array], courses: Sequence[CohortCourse]
) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Give the days on which animals or corals live, and those on which animals die, (days, members)."""
    inhabited = series["coral_area_m2"] > rule("inhabited_coral_m2")
    died = np.zeros_like(inhabited)
    for course in courses:
        died |= course.died
        inhabited |= course.living | course.died
    return inhabited, died


def turf_cover_frac(prepared: Prepared, members: Members) -> Array:
    """Give turf against what covers the rock it grows on, (days, members). [-]"""
    layout = prepared.layout
    rock_m2 = members.parameters[layout.parameter("A_rock")]
    return np.asarray(turf_share(members.row(layout.address("A_T")), rock_m2))


@askable
def turf_share(turf_mmol_c: Quantity, rock_m2: Quantity) -> Quantity:
    """Turf over what covers the rock that it grows on. [-]

    Validity
    --------
    Over 1 it stands higher than a full cover.

    Source
    ------
    Own rules: `turf_rock_frac`, `turf_full_mmol_c_per_m2`.
    """
    full_mmol = rule("turf_rock_frac") * rock_m2 * rule("turf_full_mmol_c_per_m2")
    return turf_mmol_c / full_mmol
