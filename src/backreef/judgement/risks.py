"""When and why animals come to risk in a stretch that is watched hour by hour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cache

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.rules import rows_of, rule
from backreef.judgement.spans import first_run_end
from backreef.judgement.water import water_bands
from backreef.models.mathops import Quantity
from backreef.simulation.cohorts import Cohort, lives_on_light
from backreef.simulation.trajectories import CohortCourse, cohort_course, water_series
from backreef.simulation.windows import Watched
from backreef.simulation.worked_out import WorkedOut
from backreef.units import unit_words
from backreef.working.record import askable

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]
NEVER = np.iinfo(np.int64).max
HALF = 0.5
STARVING_H = 24
"""Hours below the reserve of harm before an animal counts as starving."""
DEATH_H = 1
"""A death counts in its hour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """One way in which animals of a kind are harmed."""

    series: str
    hours: int
    kinds: tuple[str, ...]
    """The most sensitive first."""
    what: str
    source: str
    status: str


@cache
def all_risks() -> tuple[Risk, ...]:
    """The table of risks."""
    return tuple(
        Risk(
            series=row["series"],
            hours=int(row["hours"]),
            kinds=tuple(row["kinds"].split()),
            what=row["what"],
            source=row["source"],
            status=row["status"],
        )
        for row in rows_of("risks.csv")
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measure:
    """A quantity hour by hour, with the bounds of harm."""

    label: str
    unit: str
    values: Array
    """(hours, members), NaN where nothing is left to measure."""
    harm_low: float | None
    harm_high: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Danger:
    """A risk that some members run: when it begins, for whom, and what happens."""

    first_h: IntArray
    """(members,) hour at which it begins; `NEVER` where it does not."""
    who: str
    what: str
    heads: Array
    """(members,) animals it concerns."""
    lasts_h: int = DEATH_H
    """So long it is borne. [h]"""
    risk: Risk | None = None
    """Its row of the table; None where hunger or death is the danger."""
    by_chance: bool = False
    """A death, which comes by chance too; alone it says nothing against an absence."""
    measure: Measure | None = None
    """What is measured of it; None for a death."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """A watched stretch as series and cohorts, and the dangers in it."""

    series: Mapping[str, Array]
    """(hours, members)"""
    courses: tuple[tuple[Cohort, CohortCourse], ...]
    dangers: tuple[Danger, ...]

    @property
    def first_h(self) -> IntArray:
        """(members,) hour of the first danger."""
        return np.asarray(np.min([danger.first_h for danger in self.dangers], axis=0))

    @property
    def without_chance(self) -> Seen:
        """The same without deaths, which may come at any time."""
        return replace(self, dangers=tuple(each for each in self.dangers if not each.by_chance))


def look(watched: Watched, hours: int) -> Seen:
    """The dangers of the first hours of a stretch."""
    prepared, members = watched.prepared, watched.members
    worked_out = WorkedOut(members)
    series = {name: values[:hours] for name, values in water_series(prepared, worked_out).items()}
    series["spilled_l"] = members.row(prepared.layout.address("spilled_l"))[:hours]
    courses = []
    for slot, cohort in enumerate(prepared.cohorts):
        course = cohort_course(prepared, worked_out, slot)
        if (course.count[0] > HALF).any():
            courses.append((cohort, course))
    none = Danger(first_h=np.full(members.count, NEVER), who="", what="", heads=np.zeros(members.count))
    dangers = [none, *_waters(watched, series, courses), *_hungers(courses, hours), *_losses(courses, hours)]
    return Seen(series=series, courses=tuple(courses), dangers=tuple(dangers))


def _waters(
    watched: Watched, series: Mapping[str, Array], courses: list[tuple[Cohort, CohortCourse]]
) -> list[Danger]:
    plan, catalogue = watched.prepared.plan, watched.prepared.catalogue
    bands = {band.series: band for band in water_bands(plan)}
    lit = lit_there(plan, catalogue, watched.first_day)
    found = []
    for risk in all_risks():
        band = bands[risk.series]
        who = _most_sensitive(risk, courses, lit)
        if not who:
            continue
        values = series[risk.series]
        outside = np.zeros(values.shape, dtype=np.bool_)
        if band.harm_low is not None:
            outside |= values < band.harm_low
        if band.harm_high is not None:
            outside |= values > band.harm_high
        heads = np.sum(
            [course.count[0] for cohort, course in courses if cohort.species.kind in risk.kinds]
            or [np.ones(values.shape[1])],
            axis=0,
        )
        measure = Measure(
            label=band.label.replace("of the day", "of the hour"),
            unit=unit_words(band.unit),
            values=values,
            harm_low=band.harm_low,
            harm_high=band.harm_high,
        )
        first_h = _first(outside, risk.hours)
        found.append(
            Danger(
                first_h=first_h,
                who=who,
                what=risk.what,
                heads=heads,
                lasts_h=risk.hours,
                risk=risk,
                measure=measure,
            )
        )
    return found


def lit_there(plan: Plan, catalogue: Catalogue, day: int) -> dict[str, str]:
    """Kind of animals that live on light -> the name of one that is there when a day of the plan begins."""
    on = plan.start_on + timedelta(days=day)
    there = [entry for entry in plan.animals if entry.arrives_on is None or entry.arrives_on < on]
    species = [catalogue.species[entry.species] for entry in there]
    return {
        each.kind: each.common_name for each in species if lives_on_light(each, catalogue.guilds[each.guild])
    }


def _most_sensitive(risk: Risk, courses: list[tuple[Cohort, CohortCourse]], lit: Mapping[str, str]) -> str:
    """The animals there that suffer first: by kind in the order of the table, then the heaviest."""
    for kind in risk.kinds:
        own = [(course.mass_g[0].mean(), cohort) for cohort, course in courses if cohort.species.kind == kind]
        if own:
            return str(max(own, key=lambda pair: (pair[0], pair[1].entry.id))[1].species.common_name)
        if kind in lit:
            return lit[kind]
    return ""


def _hungers(courses: list[tuple[Cohort, CohortCourse]], hours: int) -> list[Danger]:
    bound = rule("harm_fullness_ratio")
    return [
        Danger(
            first_h=_first(course.living[:hours] & (course.fullness[:hours] < bound), STARVING_H),
            who=cohort.species.common_name,
            what="starving",
            heads=course.count[0],
            lasts_h=STARVING_H,
            measure=Measure(
                label=f"reserve of {cohort.species.common_name}",
                unit="of a well-fed animal's",
                values=np.where(course.living[:hours], course.fullness[:hours], np.nan),
                harm_low=bound,
                harm_high=None,
            ),
        )
        for cohort, course in courses
        if not cohort.guild.prey_not_modelled
    ]


def _losses(courses: list[tuple[Cohort, CohortCourse]], hours: int) -> list[Danger]:
    """Deaths after the first hour; what a mishap itself kills is gone by then."""
    return [
        Danger(
            first_h=_first(course.lost[:hours] > course.lost[0] + HALF, DEATH_H),
            who=cohort.species.common_name,
            what="dying",
            heads=np.maximum(0.0, course.lost[hours - 1] - course.lost[0]),
            by_chance=True,
        )
        for cohort, course in courses
    ]


def _first(outside: BoolArray, hours: int) -> IntArray:
    """(members,) hours after which a run outside has lasted so long; `NEVER` where none does."""
    row = first_run_end(outside, hours)
    return np.asarray(np.where(row < 0, NEVER, at_risk_h(row + 1 - hours, hours)))


@askable
def at_risk_h(began_h: Quantity, lasts_h: Quantity) -> Quantity:
    """Hour since leaving from which animals are at risk: harm has lasted as long as they bear it. [h]

    Validity
    --------
    Of harm that goes on from hour to hour.

    Source
    ------
    Definition.
    """
    return began_h + lasts_h
