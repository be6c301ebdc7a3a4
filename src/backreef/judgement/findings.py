"""Findings of a marched plan: each trouble in words, with date, number against bound, and remedies."""

from __future__ import annotations

import tomllib
from datetime import date, timedelta
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.judgement.corals import CoralLoss
from backreef.judgement.course import Course
from backreef.judgement.hands import Overrun
from backreef.judgement.mouths import Hunger
from backreef.judgement.remedies import says
from backreef.judgement.rules import rule
from backreef.judgement.verdict import Finding, Remedy
from backreef.judgement.water import WaterTrouble
from backreef.schedule.chores import Chore

IntArray = npt.NDArray[np.int64]
GRAZED = ("A_F", "A_T")


@cache
def words() -> dict[str, dict[str, Any]]:
    """Give why things go wrong and what helps, in words."""
    with (files("backreef.judgement") / "data" / "why.toml").open("rb") as file:
        return tomllib.load(file)


def findings_of(course: Course) -> tuple[Finding, ...]:
    """Give the findings of the three balances, unranked; their remedies are not tried yet."""
    start = course.prepared.plan.start_on
    return (
        *(_water(trouble, start) for trouble in _gravest_troubles(course.waters)),
        *(_hunger(hunger, start) for hunger in _gravest_hungers(course.hungers)),
        *(_corals(loss, start) for loss in _gravest_losses(course.corals)),
        *_hands(course, start),
    )


def allowed_frac() -> float:
    """Share of the members that may break while the plan holds."""
    return 1.0 - rule("holds_share_frac")


def breaks(*, harm: bool, share: float) -> bool:
    """Whether a harm in this share of the members breaks the plan."""
    return harm and share > allowed_frac()


def rank(*, harm: bool, share: float) -> float:
    """How grave a finding is, 0 (a note) to 1 (harm in all members)."""
    if not harm:
        return rule("rank_act") + rule("rank_act_span") * share
    if not breaks(harm=harm, share=share):
        return rule("rank_rare_harm")
    return rule("rank_harm") + rule("rank_harm_span") * share


def sentence(text: str) -> str:
    """The text with a capital letter at its beginning, unless its first word has its own way, as pH does."""
    first = text.partition(" ")[0]
    return text if any(letter.isupper() for letter in first) else text[:1].upper() + text[1:]


def _on(first: IntArray, start: date) -> date | None:
    """The median first day of the members that are hit."""
    hit = first[first >= 0]
    return start + timedelta(days=int(np.median(hit))) if hit.size else None


def _remedies(names: list[str]) -> tuple[Remedy, ...]:
    return tuple(Remedy(what=says(name)) for name in names)


def _kind(*, harm: bool) -> str:
    return "harm" if harm else "act"


def _gravest_troubles(troubles: list[WaterTrouble]) -> list[WaterTrouble]:
    """Leave out act bounds of what already breaks the plan on the same side."""
    broken = {(t.band.series, t.low_side) for t in troubles if breaks(harm=t.harm, share=t.share)}
    return [t for t in troubles if t.harm or (t.band.series, t.low_side) not in broken]


def _water(trouble: WaterTrouble, start: date) -> Finding:
    band, side = trouble.band, "low" if trouble.low_side else "high"
    said = words()["water"].get(band.series, {}).get(side, {})
    direction = "falls below" if trouble.low_side else "rises above"
    return Finding(
        id=f"water.{band.series}.{side}.{_kind(harm=trouble.harm)}",
        balance="water",
        harm=rank(harm=trouble.harm, share=trouble.share),
        breaks=breaks(harm=trouble.harm, share=trouble.share),
        who="the tank",
        first_on=_on(trouble.first_day, start),
        days=int(trouble.days),
        share_of_members=trouble.share,
        value=trouble.worst,
        bound=trouble.bound,
        unit=band.unit,
        what=sentence(f"{band.label} {direction} {trouble.bound:g} {band.unit}"),
        why=str(said.get("why", "")),
        source=band.source,
        remedies=_remedies(list(said.get("remedies", []))),
    )


def _gravest_hungers(hungers: list[Hunger]) -> list[Hunger]:
    """Leave out who is thin where it already breaks the plan by starving."""
    broken = {h.cohort.entry.id for h in hungers if breaks(harm=h.harm, share=h.share)}
    return [h for h in hungers if h.harm or h.cohort.entry.id not in broken]


def _hunger(hunger: Hunger, start: date) -> Finding:
    entry, name = hunger.cohort.entry, hunger.cohort.species.common_name
    likings = hunger.cohort.likings
    grazes = max(likings, key=lambda pool: likings[pool]) in GRAZED
    said = words()["mouths"]["grazer" if grazes else "eater"]
    return Finding(
        id=f"mouths.{entry.id}.{_kind(harm=hunger.harm)}",
        balance="mouths",
        harm=rank(harm=hunger.harm, share=hunger.share),
        breaks=breaks(harm=hunger.harm, share=hunger.share),
        who=name,
        first_on=_on(hunger.first_day, start),
        days=int(hunger.days),
        share_of_members=hunger.share,
        value=hunger.lowest_ratio,
        bound=hunger.bound_ratio,
        unit="of a well-fed animal's reserve",
        what=f"{name} {'starves' if hunger.harm else 'grows thin'}",
        why=said["why"],
        source=hunger.said_by,
        remedies=_remedies(said["remedies"]),
    )


def _gravest_losses(losses: list[CoralLoss]) -> list[CoralLoss]:
    """Leave out wasting where it already breaks the plan by loss."""
    grave = [loss for loss in losses if breaks(harm=loss.harm, share=loss.share)]
    return grave or losses


def _corals(loss: CoralLoss, start: date) -> Finding:
    said = words()["mouths"]["coral"]
    return Finding(
        id=f"mouths.corals.{_kind(harm=loss.harm)}",
        balance="mouths",
        harm=rank(harm=loss.harm, share=loss.share),
        breaks=breaks(harm=loss.harm, share=loss.share),
        who="the corals",
        first_on=_on(loss.first_day, start),
        days=int(loss.days),
        share_of_members=loss.share,
        value=loss.lowest_ratio,
        bound=loss.bound_ratio,
        unit="of the surface they came with",
        what=f"The corals {'lose their living surface' if loss.harm else 'shrink'}",
        why=said["why"],
        source=loss.said_by,
        remedies=_remedies(said["remedies"]),
    )


def _hands(course: Course, start: date) -> list[Finding]:
    budget = course.prepared.plan.keeper.minutes_per_month
    over = [_overrun(overrun, budget, start) for overrun in course.overruns]
    grave = [finding for finding in over if finding.id.endswith("harm")]
    by_task: dict[str, list[Chore]] = {}
    for chore in course.work.missed:
        by_task.setdefault(chore.task_id, []).append(chore)
    return [*(grave or over), *(_missed(task, chores, course, start) for task, chores in by_task.items())]


def _overrun(overrun: Overrun, budget_min: float, start: date) -> Finding:
    said = words()["hands"]["quarter" if overrun.harm else "month"]
    return Finding(
        id=f"hands.minutes.{_kind(harm=overrun.harm)}",
        balance="hands",
        harm=rank(harm=overrun.harm, share=overrun.share),
        breaks=breaks(harm=overrun.harm, share=overrun.share),
        who="the keeper",
        first_on=_on(overrun.first_day, start),
        days=0,
        share_of_members=overrun.share,
        value=overrun.worst_min_per_month,
        bound=budget_min,
        unit="min per month",
        what=said["what"],
        why=said["why"],
        source=said["said_by"],
        remedies=_remedies(said["remedies"]),
    )


def _missed(task: str, chores: list[Chore], course: Course, start: date) -> Finding:
    first = min(chores, key=lambda chore: chore.due_day)
    consequence = course.prepared.catalogue.tasks[task].consequence
    said = words()["hands"]["missed"]
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
        what=f"{first.name}: {said['what']}",
        why=f"If it is left: {consequence}" if consequence else said["why"],
        source=said["said_by"],
        remedies=_remedies(said["remedies"]),
    )
