"""Findings of a marched plan: each trouble in words, with date, number against bound, and remedies."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date, timedelta
from functools import cache
from importlib.resources import files
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.judgement.corals import CoralLoss
from backreef.judgement.course import Course
from backreef.judgement.hands import MissedChore, Overrun
from backreef.judgement.mouths import Hunger
from backreef.judgement.protein import ProteinLack
from backreef.judgement.remedies import MENDS, applies, says
from backreef.judgement.rules import rule
from backreef.judgement.spans import earliest, share
from backreef.judgement.verdict import Finding, Remedy
from backreef.judgement.water import WaterTrouble
from backreef.units import unit_words
from backreef.working.members import Seen, middle, whole

IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
_TIMES_MISSED = Seen(symbol="times_missed", what="times it is missed, in a member hit")
GRAZED = ("A_F", "A_T")


class Gravity(Protocol):
    """What every trouble knows of itself."""

    @property
    def about(self) -> str:
        """Balance, and what or whom in it."""

    @property
    def harm(self) -> bool:
        """Whether harm is done, not only reason to act."""

    @property
    def share(self) -> float:
        """Share of the members in which it happens."""

    @property
    def first_day(self) -> IntArray:
        """(members,) first day on which it counts; -1 where it never does."""


@cache
def words() -> dict[str, dict[str, Any]]:
    """Give why things go wrong and what helps, in words."""
    with (files("backreef.judgement") / "data" / "why.toml").open("rb") as file:
        return tomllib.load(file)


def findings_of(course: Course) -> tuple[Finding, ...]:
    """Give the findings of the three balances, unranked; their remedies are not tried yet."""
    plan = course.prepared.plan
    return (
        *(_water(trouble, plan) for trouble in _gravest_troubles(course.waters)),
        *(_hunger(hunger, plan) for hunger in _gravest_hungers(course.hungers)),
        *(_protein(lack, plan) for lack in course.protein_lacks),
        *(_corals(loss, plan) for loss in _gravest_losses(course.corals)),
        *_hands(course),
    )


def hit_members(course: Course) -> dict[str, BoolArray]:
    """Give, by finding, which members it hits."""
    return {name: first >= 0 for name, first in first_days(course).items()}


def first_days(course: Course) -> dict[str, IntArray]:
    """Give, by finding, the first day on which it hits each member; -1 for never."""
    troubles: list[Gravity] = [
        *course.waters,
        *course.hungers,
        *course.protein_lacks,
        *course.corals,
        *course.overruns,
    ]
    hit = {_id(trouble): trouble.first_day for trouble in troubles}
    for missed in course.work.missed:
        name = _missed_id(missed.chore.task_id)
        before = [hit[name]] if name in hit else []
        hit[name] = earliest([*before, missed.first_day], course.members.count)
    return hit


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


def _remedies(names: list[str], plan: Plan) -> tuple[Remedy, ...]:
    """The remedies of these that would change the plan, or that fit it as advice."""
    return tuple(
        Remedy(id=name, what=says(name), advice=name not in MENDS) for name in names if applies(name, plan)
    )


def _gravest_troubles(troubles: list[WaterTrouble]) -> list[WaterTrouble]:
    """Leave out act bounds of what already breaks the plan on the same side."""
    broken = {(t.band.series, t.low_side) for t in troubles if breaks(harm=t.harm, share=t.share)}
    return [t for t in troubles if t.harm or (t.band.series, t.low_side) not in broken]


def _gravest_hungers(hungers: list[Hunger]) -> list[Hunger]:
    """Leave out who is thin where it already breaks the plan by starving."""
    broken = {h.cohort.entry.id for h in hungers if breaks(harm=h.harm, share=h.share)}
    return [h for h in hungers if h.harm or h.cohort.entry.id not in broken]


def _gravest_losses(losses: list[CoralLoss]) -> list[CoralLoss]:
    """Leave out wasting where it already breaks the plan by loss."""
    grave = [loss for loss in losses if breaks(harm=loss.harm, share=loss.share)]
    return grave or losses


def _id(found: Gravity) -> str:
    return f"{found.about}.{'harm' if found.harm else 'act'}"


def _grave(found: Gravity, start: date) -> dict[str, Any]:
    """The fields of a finding that every trouble fills alike."""
    return {
        "id": _id(found),
        "harm": rank(harm=found.harm, share=found.share),
        "breaks": breaks(harm=found.harm, share=found.share),
        "first_on": _on(found.first_day, start),
        "share_of_members": found.share,
    }


def _helped(said: Mapping[str, Any], plan: Plan) -> dict[str, Any]:
    """The fields of a finding that stand in the table of reasons: why it comes and what helps."""
    return {
        "why": str(said.get("why", "")),
        "remedies": _remedies(list(said.get("remedies", [])), plan),
    }


def _water(trouble: WaterTrouble, plan: Plan) -> Finding:
    band, side = trouble.band, "low" if trouble.low_side else "high"
    note = band.note_low if trouble.low_side else band.note_high
    return Finding(
        **_grave(trouble, plan.start_on),
        **_helped(words()["water"].get(band.series, {}).get(side, {}), plan),
        balance="water",
        who="the tank",
        what=sentence(
            f"{band.label} {'falls below' if trouble.low_side else 'rises above'} "
            f"{trouble.bound:g} {unit_words(band.unit)}"
        ),
        value=trouble.worst,
        bound=trouble.bound,
        unit=band.unit,
        source=f"{note} ({band.source})" if note else band.source,
        days=whole(trouble.days),
    )


def _hunger(hunger: Hunger, plan: Plan) -> Finding:
    name = hunger.cohort.species.common_name
    likings = hunger.cohort.likings
    grazes = max(likings, key=lambda pool: likings[pool]) in GRAZED
    return Finding(
        **_grave(hunger, plan.start_on),
        **_helped(words()["mouths"]["grazer" if grazes else "eater"], plan),
        balance="mouths",
        who=name,
        what=f"{name} {'starves' if hunger.harm else 'grows thin'}",
        value=hunger.lowest_ratio,
        bound=hunger.bound_ratio,
        unit="of a well-fed animal's reserve",
        source=hunger.said_by,
        days=whole(hunger.days),
    )


def _protein(lack: ProteinLack, plan: Plan) -> Finding:
    name = lack.cohort.species.common_name
    return Finding(
        **_grave(lack, plan.start_on),
        **_helped(words()["mouths"]["protein"], plan),
        balance="mouths",
        who=name,
        what=f"{name} eats too little protein",
        value=lack.lowest_ratio,
        bound=lack.bound_ratio,
        unit="of the protein that keeps its flesh",
        source=lack.said_by,
        days=whole(lack.days),
    )


def _corals(loss: CoralLoss, plan: Plan) -> Finding:
    return Finding(
        **_grave(loss, plan.start_on),
        **_helped(words()["mouths"]["coral"], plan),
        balance="mouths",
        who="the corals",
        what=f"The corals {'lose their living surface' if loss.harm else 'shrink'}",
        value=loss.lowest_ratio,
        bound=loss.bound_ratio,
        unit="of the surface they came with",
        source=loss.said_by,
        days=whole(loss.days),
    )


def _hands(course: Course) -> list[Finding]:
    over = [_overrun(overrun, course.prepared.plan) for overrun in course.overruns]
    grave = [finding for finding in over if finding.id.endswith("harm")]
    by_task: dict[str, list[MissedChore]] = {}
    for missed in course.work.missed:
        by_task.setdefault(missed.chore.task_id, []).append(missed)
    return [*(grave or over), *(_missed(task, missed, course) for task, missed in by_task.items())]


def _overrun(overrun: Overrun, plan: Plan) -> Finding:
    said = words()["hands"]["quarter" if overrun.harm else "month"]
    return Finding(
        **_grave(overrun, plan.start_on),
        **_helped(said, plan),
        balance="hands",
        who="the keeper",
        what=said["what"],
        value=overrun.worst_min_per_month,
        bound=plan.keeper.minutes_per_month,
        unit="min per month",
        source=said["said_by"],
        days=0,
    )


def _missed_id(task: str) -> str:
    return f"hands.missed.{task}"


def _missed(task: str, missed: list[MissedChore], course: Course) -> Finding:
    """A task that nobody can do in time, in the members that want it."""
    plan = course.prepared.plan
    name = min(missed, key=lambda each: each.day).chore.name
    first_day = earliest([each.first_day for each in missed], course.members.count)
    times = np.sum([each.wanted for each in missed], axis=0)
    typical = middle(times[first_day >= 0], _TIMES_MISSED)
    share_hit = share(first_day >= 0)
    consequence = course.prepared.catalogue.tasks[task].consequence
    said = words()["hands"]["missed"]
    return Finding(
        id=_missed_id(task),
        balance="hands",
        harm=rank(harm=True, share=share_hit),
        breaks=breaks(harm=True, share=share_hit),
        who="the keeper",
        first_on=_on(first_day, plan.start_on),
        days=round(typical),
        share_of_members=share_hit,
        value=typical,
        bound=0.0,
        unit="times",
        what=f"{name}: {said['what']}",
        why=f"If it is left: {consequence}" if consequence else said["why"],
        source=said["said_by"],
        remedies=_remedies(said["remedies"], plan),
    )
