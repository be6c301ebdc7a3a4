"""Findings of a marched plan: each trouble in words, with its date, its number against its bound, and remedies."""

from __future__ import annotations

import tomllib
from datetime import date, timedelta
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.judgement.course import Course
from backreef.judgement.hands import Overrun
from backreef.judgement.mouths import Hunger, mouth_rules
from backreef.judgement.remedies import says
from backreef.judgement.verdict import Finding, Remedy
from backreef.judgement.water import WaterTrouble
from backreef.schedule.chores import Chore

IntArray = npt.NDArray[np.int64]
ALLOWED_SHARE = 0.05
"""A bound left in more members than this breaks the plan."""


@cache
def _why() -> dict[str, dict[str, Any]]:
    with (files("backreef.judgement") / "data" / "why.toml").open("rb") as file:
        return tomllib.load(file)


def findings_of(course: Course) -> tuple[Finding, ...]:
    """Give the findings of the three balances, unranked."""
    start = course.prepared.plan.start_on
    found = [*_water(course.waters, start), *_mouths(course.hungers, start), *_hands(course, start)]
    return tuple(found)


def _on(first: IntArray, start: date) -> date | None:
    """The median first day of the members that are hit."""
    hit = first[first >= 0]
    return start + timedelta(days=int(np.median(hit))) if hit.size else None


def _harm(*, harm: bool, share: float) -> float:
    if not harm:
        return 0.1 + 0.2 * share
    return 0.6 + 0.4 * share if share > ALLOWED_SHARE else 0.35


def _remedies(names: list[str]) -> tuple[Remedy, ...]:
    """The name travels in `effect` until the remedy has been simulated."""
    return tuple(Remedy(what=says(name), effect=name) for name in names)


def _water(troubles: list[WaterTrouble], start: date) -> list[Finding]:
    harmed = {(t.band.series, t.low_side) for t in troubles if t.harm and t.share > ALLOWED_SHARE}
    found = []
    for trouble in troubles:
        if not trouble.harm and (trouble.band.series, trouble.low_side) in harmed:
            continue
        side = "low" if trouble.low_side else "high"
        words = _why().get(trouble.band.series, {}).get(side, {})
        direction = "falls below" if trouble.low_side else "rises above"
        bound = f"{trouble.bound:g} {trouble.band.unit}"
        what = f"{trouble.band.label} {direction} {bound}"
        found.append(
            Finding(
                id=f"water.{trouble.band.series}.{side}.{'harm' if trouble.harm else 'act'}",
                balance="water",
                harm=_harm(harm=trouble.harm, share=trouble.share),
                breaks=trouble.harm and trouble.share > ALLOWED_SHARE,
                who="the tank",
                first_on=_on(trouble.first_day, start),
                days=int(trouble.days),
                share_of_members=trouble.share,
                value=trouble.worst,
                bound=trouble.bound,
                unit=trouble.band.unit,
                what=what[0].upper() + what[1:],
                why=str(words.get("why", "")),
                source=trouble.band.source,
                remedies=_remedies(list(words.get("remedies", []))),
            )
        )
    return found


def _mouths(hungers: list[Hunger], start: date) -> list[Finding]:
    harmed = {h.cohort.entry.id for h in hungers if h.harm and h.share > ALLOWED_SHARE}
    found = []
    for hunger in hungers:
        entry = hunger.cohort.entry
        if not hunger.harm and entry.id in harmed:
            continue
        name = hunger.cohort.species.common_name
        grazes = max(hunger.cohort.likings, key=lambda pool: hunger.cohort.likings[pool]) in ("A_F", "A_T")
        state = "starves" if hunger.harm else "grows thin"
        rule = mouth_rules()["harm_fullness" if hunger.harm else "hungry_fullness"]
        why = (
            "The tank does not grow the film and turf that it grazes as fast as it burns them."
            if grazes
            else "Too little of what it eats reaches it: the meals are too small or too few, faster animals take them, or it lives on what the tank does not grow."
        )
        found.append(
            Finding(
                id=f"mouths.{entry.id}.{'harm' if hunger.harm else 'act'}",
                balance="mouths",
                harm=_harm(harm=hunger.harm, share=hunger.share),
                breaks=hunger.harm and hunger.share > ALLOWED_SHARE,
                who=name,
                first_on=_on(hunger.first_day, start),
                days=int(hunger.days),
                share_of_members=hunger.share,
                value=hunger.lowest,
                bound=hunger.bound,
                unit="of a well-fed animal's reserve",
                what=f"{name} {state}",
                why=why,
                source=rule["source"],
                remedies=_remedies(["feed_more", "more_meals"]),
            )
        )
    return found


def _hands(course: Course, start: date) -> list[Finding]:
    budget = course.prepared.plan.keeper.minutes_per_month
    found = [_overrun(overrun, budget, start) for overrun in course.overruns]
    if any(finding.id.endswith("harm") for finding in found):
        found = [finding for finding in found if finding.id.endswith("harm")]
    by_task: dict[str, list[Chore]] = {}
    for chore in course.work.missed:
        by_task.setdefault(chore.task_id, []).append(chore)
    return [*found, *(_missed(task, chores, course, start) for task, chores in by_task.items())]


def _overrun(overrun: Overrun, budget: float, start: date) -> Finding:
    over = (
        "a quarter of a year takes more than the minutes given"
        if overrun.harm
        else "a month takes more than the minutes given"
    )
    return Finding(
        id=f"hands.minutes.{'harm' if overrun.harm else 'act'}",
        balance="hands",
        harm=_harm(harm=overrun.harm, share=overrun.share),
        breaks=overrun.harm and overrun.share > ALLOWED_SHARE,
        who="the keeper",
        first_on=_on(overrun.first_day, start),
        days=0,
        share_of_members=overrun.share,
        value=overrun.worst_per_month,
        bound=budget,
        unit="min per month",
        what=over[0].upper() + over[1:],
        why="The chores of this plan, with their set-up, add up to more than the budget; see the minutes by chore.",
        source="tasks of the catalogue: common practice, no source",
        remedies=_remedies(["less_glass", "more_time"]),
    )


def _missed(task: str, chores: list[Chore], course: Course, start: date) -> Finding:
    first = min(chores, key=lambda chore: chore.due_day)
    name = first.name
    entry = course.prepared.catalogue.tasks[task]
    return Finding(
        id=f"hands.missed.{task}",
        balance="hands",
        harm=1.0,
        breaks=True,
        who="the keeper",
        first_on=start + timedelta(days=max(0, first.due_day)),
        days=len(chores),
        share_of_members=1.0,
        value=float(len(chores)),
        bound=0.0,
        unit="times",
        what=f"{name}: falls on days when nobody is there, and cannot wait",
        why=f"If it is left: {entry.consequence}"
        if entry.consequence
        else "Nobody is there within the time it can wait.",
        source="presence as the plan gives it; how long a task can wait: common practice, no source",
        remedies=_remedies(["sitter"]),
    )
