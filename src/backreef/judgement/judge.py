"""Judge a plan: march it for all members, ask the three balances, check remedies, and put the answer together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.assumptions import assumptions_of
from backreef.judgement.books import conservation, fluxes
from backreef.judgement.cautions import cautions_of
from backreef.judgement.course import Course, run_course
from backreef.judgement.findings import findings_of
from backreef.judgement.outcomes import additions, animal_outcomes, crew_lines, meal_streams, minutes_of
from backreef.judgement.remedies import mend
from backreef.judgement.sources import sources_of
from backreef.judgement.spans import day_when_share_passed, earliest, wilson_interval
from backreef.judgement.static_findings import static_findings
from backreef.judgement.verdict import (
    BALANCES,
    AwayStretch,
    BalanceVerdict,
    Band,
    Finding,
    Forecast,
)
from backreef.judgement.water import water_bands
from backreef.simulation.draws import Draws
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared

Array = npt.NDArray[np.float64]
Progress = Callable[[str, int, int], None]
HOLDS_SHARE = 0.95
"""A plan holds when at least this share of the members does not break. Source: our own rule (docs)."""
CHECKED_FINDINGS = 5


def judge_plan(
    plan: Plan,
    catalogue: Catalogue,
    *,
    members: int = 64,
    seed: int = 1,
    thorough: bool = False,
    progress: Progress | None = None,
) -> Forecast:
    """Give the forecast of a plan with its verdict, findings and checked remedies."""

    def tell(phrase: str) -> Callable[[int, int], None]:
        return lambda done, total: progress(phrase, done, total) if progress else None

    course = run_course(plan, catalogue, Draws(seed, members), progress=tell("three years, member by member"))
    found = findings_of(course)
    found = _check_remedies(found, course, catalogue, thorough=thorough, progress=tell("checking remedies"))
    found += static_findings(plan, catalogue, _longest_absence(course.prepared))
    found = tuple(sorted(found, key=lambda finding: (-finding.harm, finding.id)))
    return _forecast(course, found)


def _longest_absence(prepared: Prepared) -> int:
    return max((stretch.days for stretch in prepared.keeper.presence.away), default=0)


def _check_remedies(
    found: tuple[Finding, ...],
    course: Course,
    catalogue: Catalogue,
    *,
    thorough: bool,
    progress: Callable[[int, int], None],
) -> tuple[Finding, ...]:
    """Simulate the first remedy of each of the worst findings (all of them if thorough) with common draws."""
    ranked = sorted((finding for finding in found if finding.remedies), key=lambda f: (-f.harm, f.id))
    worst = {finding.id for finding in (ranked if thorough else ranked[:CHECKED_FINDINGS])}
    names = sorted(
        {
            remedy.effect
            for finding in found
            if finding.id in worst
            for remedy in (finding.remedies if thorough else finding.remedies[:1])
        }
    )
    outcomes: dict[str, Course | None] = {}
    few = Draws(course.draws.seed, min(LANES, course.draws.members))
    for done, name in enumerate(names):
        mended = mend(name, course.prepared.plan)
        outcomes[name] = None if mended is None else run_course(mended, catalogue, few)
        progress(done + 1, len(names))
    return tuple(_with_outcomes(finding, outcomes, finding.id in worst) for finding in found)


def _with_outcomes(finding: Finding, outcomes: dict[str, Course | None], checked: bool) -> Finding:
    remedies = []
    for remedy in finding.remedies:
        outcome = outcomes.get(remedy.effect) if checked else None
        if outcome is None:
            remedies.append(replace(remedy, effect=""))
            continue
        left = {other.id: other for other in findings_of(outcome)}
        still = left.get(finding.id)
        gone = still is None or still.share_of_members <= 1 - HOLDS_SHARE
        new = [o.what for o in left.values() if o.breaks and o.id != finding.id]
        words = (
            "the finding is gone in simulation"
            if gone
            else f"still so in {still.share_of_members:.0%} of the members"
            if still
            else ""
        )
        if new:
            words += "; but then: " + new[0]
        remedies.append(replace(remedy, checked=True, holds_after=gone, effect=words))
    return replace(finding, remedies=tuple(remedies))


def _band(values: Array) -> Band:
    low, middle, high = np.percentile(values, [5, 50, 95], axis=1)
    return Band(p05=low, p50=middle, p95=high)


def _verdicts(course: Course, findings: tuple[Finding, ...]) -> tuple[BalanceVerdict, ...]:
    verdicts = []
    start = course.prepared.plan.start_on
    for name in BALANCES:
        first = course.broken_on[name]
        day = day_when_share_passed(first, 1 - HOLDS_SHARE)
        causes = [f for f in findings if f.balance == name and f.breaks]
        verdicts.append(
            BalanceVerdict(
                name=name,
                holds=day is None,
                share_holding=float((first < 0).mean()),
                first_break=None if day is None else start + timedelta(days=day),
                cause=_first_cause(causes),
            )
        )
    return tuple(verdicts)


def _first_cause(causes: list[Finding]) -> str:
    dated = [finding for finding in causes if finding.first_on is not None]
    if not dated:
        return causes[0].what if causes else ""
    return min(dated, key=lambda finding: (finding.first_on or date.max, -finding.harm)).what


def _forecast(course: Course, findings: tuple[Finding, ...]) -> Forecast:
    prepared, plan = course.prepared, course.prepared.plan
    verdicts = _verdicts(course, findings)
    any_break = earliest(list(course.broken_on.values()), course.members.count)
    holding = int((any_break < 0).sum())
    day = day_when_share_passed(any_break, 1 - HOLDS_SHARE)
    low, high = wilson_interval(holding, course.members.count)
    broken = [verdict for verdict in verdicts if not verdict.holds]
    first = min(broken, key=lambda v: v.first_break or date.max, default=None)
    days = prepared.keeper.days
    series = {name: _band(values) for name, values in course.series.items() if name != "volume_l"}
    series["minutes_per_week"] = _band(course.work.per_week)
    drift = conservation(prepared, course.members)
    return Forecast(
        plan_name=plan.tank.name,
        plan_file=plan.file,
        story=plan.story,
        start_on=plan.start_on,
        days=days,
        members=course.members.count,
        seed=course.draws.seed,
        engine="compiled",
        holds=day is None,
        share_holding=holding / course.members.count,
        share_low=low,
        share_high=high,
        first_break=None if day is None else plan.start_on + timedelta(days=day),
        first_break_cause=first.cause
        if first
        else (_first_cause([f for f in findings if f.breaks]) if day is not None else ""),
        balances=verdicts,
        findings=findings,
        animals=animal_outcomes(prepared, course.courses, course.members, course.series),
        additions=additions(prepared, course.series),
        meals=meal_streams(prepared, course.courses),
        minutes=minutes_of(prepared, course.work),
        dates=tuple(plan.start_on + timedelta(days=number) for number in range(days)),
        series=series,
        water_bands=water_bands(plan),
        present=prepared.keeper.presence.present,
        away=tuple(
            AwayStretch(first_on=stretch.first_on, last_on=stretch.last_on, label=stretch.label)
            for stretch in prepared.keeper.presence.away
        ),
        crew=crew_lines(prepared, course.courses, course.members, course.series),
        fluxes=fluxes(prepared, course.members),
        conservation_residual=max(drift.values()),
        conservation_by_element=drift,
        assumptions=assumptions_of(prepared),
        sources=sources_of(prepared),
        cautions=cautions_of(plan, prepared.catalogue),
    )
