"""What a plan can be asked about: figures by their names, and what each needs before it can be answered."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.company.engine import setting_of
from backreef.company.findings import Setting
from backreef.errors import Fault, InputFaults
from backreef.judgement.books import rows_of_books
from backreef.judgement.course import Course, judged_anew, run_course
from backreef.judgement.findings import findings_of
from backreef.judgement.least_food import with_least_food
from backreef.judgement.telling import beforehand, forecast_of, worst_first
from backreef.judgement.verdict import Forecast
from backreef.schedule.away import Absence
from backreef.simulation.draws import Draws
from backreef.simulation.layout import packaged_layout
from backreef.simulation.one_by_one import OneByOne, uncertain
from backreef.simulation.prepared import LaidOut, lay_out, prepare
from backreef.simulation.tables import Range
from backreef.usecases.check import catalogue_of, load_plan
from backreef.usecases.plan_desk import plan_of_text
from backreef.usecases.told_numbers import Number, numbers_of
from backreef.working.members import way_between
from backreef.working.record import leaf, named, not_recording, recording, told
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import Tree

Array = npt.NDArray[np.float64]
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What came in (positive) and left (negative) of an element by a door since the first day."""

    door: str
    element: str
    g_p05: float
    g_p50: float
    g_p95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A figure with its working."""

    tree: Tree
    shown: str
    """As a report shows it."""
    on: date | None = None
    """The day that it is of."""
    at: str = ""
    """The absence that it is of, as it is asked for."""
    by_member: tuple[InItsUnit, ...] = ()
    """The figure in every member, where the ensemble has one; for the tornado."""
    inputs: Mapping[str, Array] | None = None
    """What was drawn for these members, (members,) by name; None where it is what the forecast drew."""
    moved: tuple[Moved, ...] = ()
    """What came and left of the element behind a state, from the first day to this one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """Something that can be asked."""

    name: str
    """Without the day."""
    title: str
    daily: bool
    """Whether it may be asked of a day, as `name@2028-03-01`."""
    forecast: bool
    """Whether the plan has to be simulated first."""
    find: Callable[[Asking, date | None], Found] = field(repr=False)
    beside: Callable[[Asking, str], tuple[str, ...]] = field(default=lambda *_: (), repr=False)
    """Figures that are shown beside it, as they are asked for; it is given what stood after the @."""
    of_its_own: bool = True
    """Whether it is listed without --all, and worked out with all else of a day that is asked about."""
    over: Callable[[Asking, Days], Found] | None = field(default=None, repr=False)
    """Of days together, which may follow the name as `@2027-04`, `@2027-Q2` or `@2027-04-01..2027-06-30`."""
    away: Callable[[Asking, Absence], Found] | None = field(default=None, repr=False)
    """Of an absence, which may follow the name as `@2027-08-02..2027-08-16`; None where it is of none."""


def _tried(meal_id: str, ratio: InItsUnit) -> InItsUnit:
    """The size of a meal over what is reckoned, as a number that knows where it comes from."""
    about = About(
        symbol="tried_ratio",
        key=f"judgement.least_food.{meal_id}",
        kind="constant",
        what="least ration with which no mouth is short in a trial of some weeks, over the reckoned one",
        source="own trial in the simulation",
        status="calc",
    )
    return leaf(ratio, about)


class Asking:
    """A plan that is asked about: its numbers know where they stand; it is marched once if need be."""

    def __init__(
        self,
        plan: str | Path,
        *,
        members: int,
        seed: int,
        progress: Progress | None = None,
        text: str | None = None,
    ) -> None:
        """Take a plan's file, or a text that would stand there."""
        self.file = str(plan)
        self._text = text
        self.members = members
        self.seed = seed
        self.progress = progress
        self.draws = Draws(seed, members, nominal=members == 1)
        self.tried: dict[tuple[str, str], Any] = {}
        """Mishaps that were marched, by their names and absences."""
        read = self._read()
        self.plain = with_least_food(read, catalogue_of(read))
        with recording():
            tried = tuple((meal, _tried(meal, ratio)) for meal, ratio in self.plain.ration_ratios)
            self.plan: Plan = replace(self._read(), ration_ratios=tried)
            self.catalogue: Catalogue = told(catalogue_of(self.plain), "catalogue", kind="catalogue")

    def _read(self) -> Plan:
        """The plan as it is written."""
        if self._text is None:
            return load_plan(self.file)
        return plan_of_text(self._text, Path(self.file))[0]

    @cached_property
    def setting(self) -> Setting:
        """What rules look at, with numbers that know where they stand."""
        return setting_of(self.plan, self.catalogue)

    @cached_property
    def laid_out(self) -> LaidOut:
        """Cohorts, meals and chores, with numbers that know how they were worked out."""
        with recording():
            return lay_out(self.plan, self.catalogue)

    @cached_property
    def course(self) -> Course:
        """The plan as a forecast marches it."""
        tell = self.progress
        with not_recording():
            return run_course(
                self.plain,
                catalogue_of(self.plain),
                self.draws,
                progress=None if tell is None else lambda done, of: tell("the members", done, of),
                more_rows=rows_of_books(packaged_layout()),
            )

    @cached_property
    def told(self) -> Forecast:
        """The forecast, each of its numbers with its working; its remedies are not tried."""
        with recording():
            laid_out = self.laid_out
            prepared = replace(
                self.course.prepared,
                plan=self.plan,
                catalogue=self.catalogue,
                keeper=laid_out.keeper,
                foods=laid_out.foods,
                cohorts=laid_out.cohorts,
            )
            course, known = judged_anew(self.course, prepared), beforehand(prepared)
            return forecast_of(course, worst_first((*findings_of(course), *known.findings)), known)

    @cached_property
    def told_numbers(self) -> tuple[Number, ...]:
        """Every number of the lines of the forecast, by the name under which it can be asked."""
        return tuple(numbers_of(self.told))

    def own_figures(self) -> Iterator[Figure] | None:
        """All that can be asked, where that is not the plan and its forecast."""
        return None

    def moved_one_by_one(self) -> tuple[Asking, dict[str, Range]]:
        """The same plan asked in members that differ in one uncertain number each, and these numbers."""
        numbers = uncertain(prepare(self.plain, catalogue_of(self.plain)))
        draws = OneByOne(list(numbers))
        other = Asking(self.file, members=draws.members, seed=self.seed, progress=self.progress)
        other.draws = draws
        return other, numbers

    def day(self, on: date | None, otherwise: int) -> int:
        """The number of a day of the plan, the first being 0; `otherwise` where none was said."""
        return otherwise if on is None else (on - self.plan.start_on).days

    def on(self, day: int) -> date:
        """The date of a day of the plan."""
        return self.plan.start_on + timedelta(days=day)


def refused(asking: Asking, message: str) -> InputFaults:
    """What is raised where a figure cannot be answered."""
    return InputFaults([Fault(file=asking.file, line=None, key="", message=message)])


def shown(value: InItsUnit, unit: str) -> str:
    """A number with its unit, in as many digits as a report would print."""
    return f"{value:.4g} {unit}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Days:
    """Days of the plan that are asked about together."""

    first: int
    stop: int
    """One after the last."""
    at: str
    """As they are asked for: a month, a quarter, or the first and the last day."""

    @property
    def part(self) -> slice:
        """These days within an array of the horizon."""
        return slice(self.first, self.stop)


def point_of(
    values: Array,
    percent: int,
    of_member: Callable[[int], InItsUnit],
    about: About,
) -> InItsUnit:
    """A percentile of the members, from the two between which it falls; `of_member` gives their workings."""
    order = np.argsort(values, kind="stable")
    place = (len(order) - 1) * percent / 100.0
    below, members = math.floor(place), len(order)
    value = _of_rank(of_member, about, int(order[below]), members)
    if place > below:
        above = _of_rank(of_member, about, int(order[below + 1]), members)
        value = value + (above - value) * way_between(percent, members)
    return named(value, replace(about, what=f"{percent} % point of {members} members"))


def _of_rank(of_member: Callable[[int], InItsUnit], about: About, member: int, members: int) -> InItsUnit:
    words = f"member {member + 1}"
    return named(
        of_member(member),
        replace(
            about,
            symbol=f"{about.symbol}_of_{words.replace(' ', '_')}",
            key=f"{about.key}.{words}",
            what=f"in {words}, one of {members}",
        ),
    )


def middle_of(
    values: Array,
    of_member: Callable[[int], InItsUnit],
    about: About,
    *,
    words: Callable[[int], str] = lambda member: f"member {member + 1}",
    of: str = "members",
) -> InItsUnit:
    """The median of values, as a rule those of the members, from those in the middle.

    `of_member` gives the working of a value by its place, `words` says which it is, `of` what they all are.
    """
    order = np.argsort(values, kind="stable")
    middle = sorted({int(order[(len(order) - 1) // 2]), int(order[len(order) // 2])})
    each = [
        named(
            of_member(place),
            replace(
                about,
                symbol=f"{about.symbol}_of_{words(place).replace(' ', '_').replace('-', '_')}",
                key=f"{about.key}.{words(place)}",
                what=f"in {words(place)}, one in the middle of {len(order)}",
            ),
        )
        for place in middle
    ]
    median = replace(about, what=f"median of {len(order)} {of}")
    return named(each[0] if len(each) == 1 else (each[0] + each[1]) / 2.0, median)
