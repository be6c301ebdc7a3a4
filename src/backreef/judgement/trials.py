"""Remedies tried by simulation: each in the eight members that its finding hits most, before and after.

Members are marched in blocks of eight, and a member's number decides its draws; so the same eight are marched
again with the mended plan, and whatever differs is the remedy's doing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from backreef.catalogue.entries import Catalogue
from backreef.judgement.course import Course, course_of
from backreef.judgement.findings import findings_of, hit_members
from backreef.judgement.remedies import mend
from backreef.judgement.rules import rule
from backreef.judgement.verdict import Finding, Remedy
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.workers import Cores

BoolArray = npt.NDArray[np.bool_]
Tried = Literal["none", "worst", "all"]
"""Of which findings the remedies are simulated."""
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Trial:
    """A remedy in one block of members."""

    remedy: str
    block: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a block of members found with a remedy."""

    hit: dict[str, BoolArray]
    """By finding, which of the members."""
    breaking: tuple[Finding, ...]


def with_trials(
    found: Sequence[Finding],
    course: Course,
    catalogue: Catalogue,
    *,
    tried: Tried,
    progress: Progress,
    meanwhile: Callable[[], None] = lambda: None,
) -> tuple[Finding, ...]:
    """Give the findings with what simulation showed of their remedies.

    With 'worst', of each of the worst findings the first remedy that can be simulated is tried; with 'all',
    of all findings all of them. `meanwhile` is done once, as soon as a core has nothing else to do.
    """
    if tried == "none":
        meanwhile()
        return tuple(found)
    thorough = tried == "all"
    ranked = sorted((one for one in found if _able(one, thorough=True)), key=lambda one: (-one.harm, one.id))
    worst = ranked if thorough else ranked[: int(rule("checked_findings_count"))]
    hit = hit_members(course)
    wanted = {
        one.id: {remedy.id: Trial(remedy.id, _block(one, hit)) for remedy in _able(one, thorough=thorough)}
        for one in worst
    }
    outcomes = _outcomes(
        {trial for trials in wanted.values() for trial in trials.values()},
        course,
        catalogue,
        progress,
        meanwhile,
    )

    def mended(finding: Finding, remedy: Remedy) -> Remedy:
        trial = wanted.get(finding.id, {}).get(remedy.id)
        outcome = outcomes.get(trial) if trial else None
        if trial is None or outcome is None:
            return remedy
        before = {name: _of_block(mask, trial.block) for name, mask in hit.items()}
        return told(remedy, finding, before, outcome)

    return tuple(
        replace(one, remedies=tuple(mended(one, remedy) for remedy in one.remedies)) for one in found
    )


def _able(finding: Finding, *, thorough: bool) -> tuple[Remedy, ...]:
    """The remedies of a finding that are simulated: the first that can be, or all of them."""
    able = tuple(remedy for remedy in finding.remedies if not remedy.advice)
    return able if thorough else able[:1]


def _of_block(mask: BoolArray, block: int) -> BoolArray:
    return mask[block * LANES : (block + 1) * LANES]


def _block(finding: Finding, hit: dict[str, BoolArray]) -> int:
    """The block of members in which most have the finding."""
    mask = hit[finding.id]
    hits = [int(_of_block(mask, block).sum()) for block in range(-(-len(mask) // LANES))]
    return hits.index(max(hits))


def _outcomes(
    trials: set[Trial],
    course: Course,
    catalogue: Catalogue,
    progress: Progress,
    meanwhile: Callable[[], None],
) -> dict[Trial, Outcome]:
    """What each trial found, marched on all cores; a remedy that does not fit the plan has no outcome."""
    ordered = sorted(trials, key=lambda trial: (trial.remedy, trial.block))

    def laid_out() -> Iterator[tuple[Trial, Prepared | None]]:
        for trial in ordered:
            plan = mend(trial.remedy, course.prepared.plan)
            yield trial, prepare(plan, catalogue) if plan is not None else None
        when_idle(0)

    def tried(laid: tuple[Trial, Prepared | None]) -> tuple[Trial, Outcome | None]:
        trial, prepared = laid
        if prepared is None:
            return trial, None
        return trial, _outcome(prepared, trial.block, course)

    cores, waiting = Cores(), [meanwhile]

    def when_idle(done: int) -> None:
        if waiting and len(ordered) - done < cores.count:
            waiting.pop()()

    outcomes: dict[Trial, Outcome] = {}
    for done, (trial, outcome) in enumerate(cores.each(tried, laid_out())):
        if outcome is not None:
            outcomes[trial] = outcome
        progress(done + 1, len(ordered))
        when_idle(done + 1)
    return outcomes


def _outcome(prepared: Prepared, block: int, course: Course) -> Outcome:
    """What a block of members finds with a mended plan."""
    first = block * LANES
    few = course.draws.some(first, min(LANES, course.draws.members - first))
    after = course_of(prepared, few)
    breaking = tuple(one for one in findings_of(after) if one.breaks)
    return Outcome(hit=hit_members(after), breaking=breaking)


def try_one(
    finding: Finding, remedy: str, course: Course, catalogue: Catalogue
) -> tuple[BoolArray, BoolArray] | None:
    """Which members of the block that a finding hits most had it, and which have it with a remedy.

    None where no simulation can try that.
    """
    hit = hit_members(course)
    plan = mend(remedy, course.prepared.plan)
    if finding.id not in hit or plan is None:
        return None
    block = _block(finding, hit)
    had = _of_block(hit[finding.id], block)
    has = _outcome(prepare(plan, catalogue), block, course).hit.get(finding.id)
    return had, np.zeros_like(had) if has is None else has


def told(remedy: Remedy, finding: Finding, before: dict[str, BoolArray], outcome: Outcome) -> Remedy:
    """A remedy with what its trial showed; `before` says which of the same members had what."""
    had, members = int(before[finding.id].sum()), len(before[finding.id])
    has = int(outcome.hit[finding.id].sum()) if finding.id in outcome.hit else 0
    still = "still " if has <= had else "now "
    now = f"{has} {still}{'has' if has == 1 else 'have'} it" if has else "none has it now"
    words = f"{had} of the {members} members tried had it, {now}"
    old = {name for name, mask in before.items() if mask.any()}
    new = [one.what for one in outcome.breaking if one.id not in old]
    if new:
        words += "; but then: " + new[0]
    return replace(remedy, checked=True, holds_after=has == 0, effect=words)
