"""A forecast put together: what is told of a marched plan, and what is told of it before it is marched."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from backreef.judgement.arrivals import additions
from backreef.judgement.assumptions import assumptions_of
from backreef.judgement.books import conservation, fluxes
from backreef.judgement.cautions import cautions_of
from backreef.judgement.course import Course
from backreef.judgement.crew import crew_sizes
from backreef.judgement.dropped import dropped_chores
from backreef.judgement.fasting import fasting_lines, warmth_notices
from backreef.judgement.feeder_lines import feeder_lines, gap_lines, ration_steps
from backreef.judgement.findings import allowed_frac, first_days
from backreef.judgement.food_price import food_price
from backreef.judgement.full_days import full_days
from backreef.judgement.mixed_hoppers import mixed_hoppers
from backreef.judgement.outcomes import animal_outcomes
from backreef.judgement.outcomes_food import crew_lines, meal_streams
from backreef.judgement.outcomes_hands import minutes_of
from backreef.judgement.pantry_lines import ShoppingLine
from backreef.judgement.shopping import shopping_lines, stale_packs
from backreef.judgement.sources import sources_of
from backreef.judgement.spans import IntArray, day_when_share_passed, earliest, wilson_interval
from backreef.judgement.static_findings import static_findings
from backreef.judgement.verdict import (
    BALANCES,
    Assumption,
    AwayStretch,
    BalanceVerdict,
    Band,
    FeederLine,
    Finding,
    Forecast,
    RationStep,
)
from backreef.judgement.water import water_bands
from backreef.schedule.presence import Presence
from backreef.simulation.ensemble import engine_name
from backreef.simulation.prepared import Prepared
from backreef.simulation.workers import Cores
from backreef.working.members import Seen, counted, seen_once
from backreef.working.record import named
from backreef.working.steps import About, InItsUnit

Array = npt.NDArray[np.float64]
NOT_SHOWN = ("volume_l",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beforehand:
    """What is told of a plan that was laid out, whatever becomes of its members."""

    findings: tuple[Finding, ...]
    """Those that no march is needed for, whose remedies are not tried."""
    assumptions: tuple[Assumption, ...]
    sources: tuple[str, ...]
    cautions: tuple[str, ...]
    rations: tuple[RationStep, ...]
    feeders: tuple[FeederLine, ...]
    shopping: tuple[ShoppingLine, ...]


def beforehand(prepared: Prepared) -> Beforehand:
    """Put together what can be told while the members march."""
    plan, catalogue = prepared.plan, prepared.catalogue
    more = (
        *mixed_hoppers(prepared),
        *stale_packs(prepared),
        *dropped_chores(prepared),
        *full_days(prepared),
    )
    return Beforehand(
        findings=tuple(
            static_findings(plan, catalogue, longest_absence_days(prepared.keeper.presence), more)
        ),
        assumptions=assumptions_of(prepared),
        sources=sources_of(prepared),
        cautions=cautions_of(plan, catalogue),
        rations=ration_steps(prepared),
        feeders=feeder_lines(prepared),
        shopping=shopping_lines(prepared),
    )


def worst_first(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """The gravest findings first."""
    return tuple(sorted(found, key=lambda finding: (-finding.harm, finding.id)))


def longest_absence_days(presence: Presence) -> int:
    """Days of the longest run without the keeper and without a helper."""
    anybody = np.logical_or.reduce([presence.present, *(helper.present for helper in presence.helpers)])
    there = np.flatnonzero(anybody)
    return int(np.diff(there, prepend=-1, append=presence.days).max()) - 1


def _band(values: Array) -> Band:
    low, middle, high = np.percentile(values, [5, 50, 95], axis=1)
    return Band(p05=low, p50=middle, p95=high)


def _verdicts(course: Course, findings: tuple[Finding, ...]) -> tuple[BalanceVerdict, ...]:
    verdicts = []
    start, hit = course.prepared.plan.start_on, first_days(course)
    for name in BALANCES:
        first = course.broken_on[name]
        day = day_when_share_passed(first, allowed_frac())
        causes = [finding for finding in findings if finding.balance == name]
        verdicts.append(
            BalanceVerdict(
                name=name,
                holds=day is None,
                share_holding=share_that_holds(course.broken_by[name], first),
                first_break=None if day is None else start + timedelta(days=day),
                cause="" if day is None else first_cause(causes, hit, day),
            )
        )
    return tuple(verdicts)


def first_cause(findings: Sequence[Finding], hit: Mapping[str, IntArray], by: int) -> str:
    """What had broken most members by a day; of as many, what began first."""
    harmed = {
        finding.what: [int(day) for day in hit[finding.id] if 0 <= day <= by]
        for finding in findings
        if finding.id in hit and (finding.breaks or finding.id.endswith(".harm"))
    }
    return min((what for what in harmed if harmed[what]), key=lambda what: _order(harmed[what]), default="")


def _order(days: list[int]) -> tuple[int, int]:
    return -len(days), min(days)


def _cause(
    verdicts: tuple[BalanceVerdict, ...], findings: tuple[Finding, ...], hit: Mapping[str, IntArray], by: int
) -> str:
    """Why a plan breaks: the cause of the balance that breaks first."""
    broken = [verdict for verdict in verdicts if not verdict.holds]
    first = min(broken, key=lambda verdict: verdict.first_break or date.max, default=None)
    return first.cause if first else first_cause(findings, hit, by)


def share_that_holds(broken_by: Iterable[tuple[str, IntArray]], first_break: IntArray) -> InItsUnit:
    """The share of the members in which nothing breaks: all, less those that each thing breaks first."""
    members = counted(first_break.size)
    left, told = members, np.zeros(first_break.size, dtype=np.bool_)
    for name, days in broken_by:
        mine = (first_break >= 0) & (days == first_break) & ~told
        told |= mine
        words = f"members in which {name.replace('_', ' ')} breaks, before the others"
        symbol = f"{re.sub(r'[^a-z0-9]+', '_', name.lower())}_first"
        left = left - seen_once(float(mine.sum()), Seen(symbol=symbol, what=words))
    about = About(symbol="share_holding", key="members.share_holding", kind="law", what="share that holds")
    return named(left / members, about)


def forecast_of(course: Course, findings: tuple[Finding, ...], known: Beforehand) -> Forecast:
    """The forecast of a plan that was marched, with its findings and what was known of it before."""
    prepared, plan = course.prepared, course.prepared.plan
    verdicts = _verdicts(course, findings)
    any_break = earliest(list(course.broken_on.values()), course.members.count)
    holding = share_that_holds(course.broken_on.items(), any_break)
    day = day_when_share_passed(any_break, allowed_frac())
    low, high = wilson_interval(holding * course.members.count, course.members.count)
    days = prepared.keeper.days
    shown = {name: values for name, values in course.series.items() if name not in NOT_SHOWN}
    series = dict(zip(shown, Cores().each(_band, shown.values()), strict=True))
    series["minutes_per_week"] = _band(course.work.per_week)
    drift = conservation(course.members)
    meals = meal_streams(prepared, course.courses)
    fasting = fasting_lines(prepared, course.members, course.courses)
    return Forecast(
        first_breaks=tuple(
            None if day < 0 else plan.start_on + timedelta(days=int(day)) for day in any_break
        ),
        plan_name=plan.tank.name,
        plan_file=plan.file,
        story=plan.story,
        start_on=plan.start_on,
        days=days,
        members=course.members.count,
        seed=course.draws.seed,
        engine=engine_name(),
        holds=day is None,
        share_holding=holding,
        share_low=low,
        share_high=high,
        first_break=None if day is None else plan.start_on + timedelta(days=day),
        first_break_cause="" if day is None else _cause(verdicts, findings, first_days(course), day),
        balances=verdicts,
        findings=findings,
        animals=animal_outcomes(prepared, course.courses, course.series, course.proteins),
        additions=additions(prepared, course.series),
        meals=meals,
        minutes=minutes_of(prepared, course.work),
        dates=tuple(plan.start_on + timedelta(days=number) for number in range(days)),
        series=series,
        water_bands=water_bands(plan),
        present=prepared.keeper.presence.present,
        away=tuple(
            AwayStretch(first_on=stretch.first_on, last_on=stretch.last_on, label=stretch.label)
            for stretch in prepared.keeper.presence.away
        ),
        crew_sizes=crew_sizes(prepared, course.courses, course.series),
        crew=crew_lines(prepared, course.courses, course.members, course.series),
        fluxes=fluxes(prepared, course.members),
        conservation_residual=max(drift.values()),
        conservation_by_element=drift,
        assumptions=known.assumptions,
        sources=known.sources,
        cautions=known.cautions,
        notices=warmth_notices(prepared, course.series["temperature_c"]),
        fasting=fasting,
        rations=known.rations,
        feeders=known.feeders,
        gaps=gap_lines(prepared, fasting),
        shopping=known.shopping,
        food_price=food_price(prepared, meals, course.series),
    )
