"""Judge a plan: march it for all members, ask the three balances, check remedies, put the answer together."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
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
from backreef.judgement.findings import allowed_frac, findings_of
from backreef.judgement.outcomes import additions, animal_outcomes, crew_lines, meal_streams, minutes_of
from backreef.judgement.remedies import mend
from backreef.judgement.rules import rule
from backreef.judgement.shortened import notice, shortened
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
    Remedy,
)
from backreef.judgement.water import water_bands
from backreef.simulation.draws import Draws
from backreef.simulation.engine import why_unavailable
from backreef.simulation.ensemble import engine_name
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared

Array = npt.NDArray[np.float64]
Progress = Callable[[str, int, int], None]
BlockProgress = Callable[[int, int], None]
NOT_SHOWN = ("volume_l",)


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

    reason = why_unavailable()
    if reason:
        plan, members = shortened(plan, members)
    phrase = "one year with the slow engine" if reason else "three years, member by member"
    course = run_course(plan, catalogue, Draws(seed, members), progress=tell(phrase))
    found = findings_of(course)
    if not reason:
        found = _check_remedies(
            found, course, catalogue, thorough=thorough, progress=tell("checking remedies")
        )
    found += static_findings(plan, catalogue, _longest_absence(course.prepared))
    found = tuple(sorted(found, key=lambda finding: (-finding.harm, finding.id)))
    forecast = _forecast(course, found)
    if reason:
        forecast = replace(forecast, notices=(notice(reason, plan, members), *forecast.notices))
    return forecast


def _longest_absence(prepared: Prepared) -> int:
    return max((stretch.days for stretch in prepared.keeper.presence.away), default=0)


def _check_remedies(
    found: tuple[Finding, ...],
    course: Course,
    catalogue: Catalogue,
    *,
    thorough: bool,
    progress: BlockProgress,
) -> tuple[Finding, ...]:
    """Simulate the first remedy of each of the worst findings (all of them if thorough) with common draws."""
    ranked = sorted(
        (finding for finding in found if _to_try(finding, thorough=True)), key=lambda f: (-f.harm, f.id)
    )
    worst = ranked if thorough else ranked[: int(rule("checked_findings_count"))]
    tried = {remedy.id for finding in worst for remedy in _to_try(finding, thorough=thorough)}
    few = Draws(course.draws.seed, min(LANES, course.draws.members))

    def after(name: str) -> tuple[Finding, ...] | None:
        mended = mend(name, course.prepared.plan)
        return None if mended is None else findings_of(run_course(mended, catalogue, few))

    outcomes: dict[str, tuple[Finding, ...]] = {}
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        for done, (name, found_after) in enumerate(
            zip(sorted(tried), pool.map(after, sorted(tried)), strict=True)
        ):
            if found_after is not None:
                outcomes[name] = found_after
            progress(done + 1, len(tried))
    checked = {finding.id for finding in worst}
    return tuple(_with_outcomes(finding, outcomes) if finding.id in checked else finding for finding in found)


def _to_try(finding: Finding, *, thorough: bool) -> tuple[Remedy, ...]:
    """The remedies of a finding that are simulated: the first that can be, or all of them."""
    able = tuple(remedy for remedy in finding.remedies if not remedy.advice)
    return able if thorough else able[:1]


def _with_outcomes(finding: Finding, outcomes: dict[str, tuple[Finding, ...]]) -> Finding:
    """A finding whose remedies say what they did, where they were simulated."""
    remedies = tuple(
        _tried(remedy, finding, outcomes[remedy.id]) if remedy.id in outcomes else remedy
        for remedy in finding.remedies
    )
    return replace(finding, remedies=remedies)


def _tried(remedy: Remedy, finding: Finding, after: tuple[Finding, ...]) -> Remedy:
    still = next((other for other in after if other.id == finding.id), None)
    gone = still is None or still.share_of_members <= allowed_frac()
    words = "the finding is gone in simulation"
    if still is not None and not gone:
        words = f"still so in {still.share_of_members:.0%} of the members"
    new = [other.what for other in after if other.breaks and other.id != finding.id]
    if new:
        words += "; but then: " + new[0]
    return replace(remedy, checked=True, holds_after=gone, effect=words)


def _band(values: Array) -> Band:
    low, middle, high = np.percentile(values, [5, 50, 95], axis=1)
    return Band(p05=low, p50=middle, p95=high)


def _verdicts(course: Course, findings: tuple[Finding, ...]) -> tuple[BalanceVerdict, ...]:
    verdicts = []
    start = course.prepared.plan.start_on
    for name in BALANCES:
        first = course.broken_on[name]
        day = day_when_share_passed(first, allowed_frac())
        causes = [finding for finding in findings if finding.balance == name]
        verdicts.append(
            BalanceVerdict(
                name=name,
                holds=day is None,
                share_holding=float((first < 0).mean()),
                first_break=None if day is None else start + timedelta(days=day),
                cause="" if day is None else _first_cause(causes),
            )
        )
    return tuple(verdicts)


def _first_cause(findings: Sequence[Finding]) -> str:
    """What breaks first; where each harm hits too few members to break a plan alone, the first of them."""
    breaking = [finding for finding in findings if finding.breaks]
    causes = breaking or [finding for finding in findings if finding.id.endswith(".harm")]
    first = min(causes, key=lambda one: (one.first_on or date.max, -one.harm), default=None)
    return first.what if first else ""


def _cause(verdicts: tuple[BalanceVerdict, ...], findings: tuple[Finding, ...]) -> str:
    """Why a plan breaks: the cause of the balance that breaks first."""
    broken = [verdict for verdict in verdicts if not verdict.holds]
    first = min(broken, key=lambda verdict: verdict.first_break or date.max, default=None)
    return first.cause if first else _first_cause(findings)


def _forecast(course: Course, findings: tuple[Finding, ...]) -> Forecast:
    prepared, plan = course.prepared, course.prepared.plan
    verdicts = _verdicts(course, findings)
    any_break = earliest(list(course.broken_on.values()), course.members.count)
    holding = int((any_break < 0).sum())
    day = day_when_share_passed(any_break, allowed_frac())
    low, high = wilson_interval(holding, course.members.count)
    days = prepared.keeper.days
    series = {name: _band(values) for name, values in course.series.items() if name not in NOT_SHOWN}
    series["minutes_per_week"] = _band(course.work.per_week)
    drift = conservation(course.members)
    return Forecast(
        plan_name=plan.tank.name,
        plan_file=plan.file,
        story=plan.story,
        start_on=plan.start_on,
        days=days,
        members=course.members.count,
        seed=course.draws.seed,
        engine=engine_name(),
        holds=day is None,
        share_holding=holding / course.members.count,
        share_low=low,
        share_high=high,
        first_break=None if day is None else plan.start_on + timedelta(days=day),
        first_break_cause="" if day is None else _cause(verdicts, findings),
        balances=verdicts,
        findings=findings,
        animals=animal_outcomes(prepared, course.courses, course.series),
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
