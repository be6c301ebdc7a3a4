"""What came of a trial of an absence: who came to risk and when, what was lost, what is found on return."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from backreef.judgement.findings import allowed_frac
from backreef.judgement.mishaps import amount, mishap_table
from backreef.judgement.rehearsal import HourLine, Outcome
from backreef.judgement.risks import NEVER, Danger, IntArray, Seen
from backreef.models.mathops import maximum
from backreef.units import unit_words
from backreef.working.members import Seen as OfMembers
from backreef.working.members import mean, middle, share_of
from backreef.working.number import as_number
from backreef.working.record import askable
from backreef.working.steps import InItsUnit

_AT_RISK = OfMembers(symbol="at_risk", what="an animal comes to risk that would not without it")
_HARMED = OfMembers(symbol="harmed", what="animals at risk or lost by it")
_LOST = OfMembers(symbol="lost", what="animals lost by it")
EXTREMES = (
    ("oxygen_mg_per_l", "low"),
    ("ammonia_unionised_mg_n_per_l", "high"),
    ("temperature_c", "low"),
    ("temperature_c", "high"),
    ("salinity_psu", "low"),
    ("salinity_psu", "high"),
)


def came_of(seen: Seen, begins_h: int, *, against: Seen | None) -> Outcome:
    """What a trial did; against the calm run, harm that would come anyway is not counted."""
    first = first_by_it(seen, against)
    hit = first < NEVER
    if hit.mean() <= allowed_frac():
        hit = np.zeros_like(hit)  # as many as may break while a plan holds: luck, not the mishap
    danger = _first_danger(seen, first, hit)
    harm = _heads(seen) if against is None else np.maximum(0.0, _heads(seen) - _heads(against))
    lost = _lost(seen) if against is None else _lost(seen) - _lost(against)
    found = () if against is None else tuple(returned(seen, against))
    return Outcome(
        hours_to_risk=left_h(float(first[deciding(first)]), begins_h) if hit.any() else None,
        share_at_risk=share_of(np.asarray(first < NEVER), _AT_RISK),
        who="" if danger is None else danger.who,
        why="" if danger is None else danger.what,
        harm_heads=mean(harm, _HARMED),
        lost_heads=max(0.0, mean(lost, _LOST)),
        extremes=dict(_extremes(seen)),
        found=tuple(one.words for one in found),
        found_as=tuple(one.name for one in found),
        line=None if danger is None else _line(danger, against),
    )


def first_by_it(seen: Seen, against: Seen | None) -> IntArray:
    """(members,) hour at which an animal comes to risk that would not have anyway."""
    if against is None:
        return seen.first_h
    return np.asarray(np.where(seen.first_h < against.first_h, seen.first_h, NEVER))


def deciding(first_h: IntArray) -> int:
    """The member with whom more come to risk than may break while a plan holds."""
    return int(np.argsort(first_h, kind="stable")[int(allowed_frac() * len(first_h))])


@askable
def left_h(at_risk_h: float, begins_h: float) -> float:
    """Hours from the beginning of a mishap until animals are at risk; 0 where they are before. [h]

    Validity
    --------
    Of the member with whom more come to risk than may while a plan holds.

    Source
    ------
    Definition.
    """
    return as_number(maximum(at_risk_h - begins_h, 0.0))


def _first_danger(seen: Seen, first: Any, hit: Any) -> Danger | None:  # noqa: ANN401  arrays
    """What comes first in most members, and to whom."""
    if not hit.any():
        return None
    firsts = [float(((danger.first_h == first) & hit).sum()) for danger in seen.dangers]
    return seen.dangers[int(np.argmax(firsts))]


def _line(danger: Danger, against: Seen | None) -> HourLine | None:
    """What is measured of a danger, hour by hour, beside the same with nothing going wrong."""
    measure = danger.measure
    if measure is None:
        return None
    calm = () if against is None else against.dangers
    same = next((each.measure for each in calm if (each.who, each.what) == (danger.who, danger.what)), None)
    low, middle, high = (_percentile(measure.values, share) for share in (5, 50, 95))
    return HourLine(
        label=measure.label,
        unit=measure.unit,
        harm_low=measure.harm_low,
        harm_high=measure.harm_high,
        p05=low,
        p50=middle,
        p95=high,
        calm_p50=() if same is None else _percentile(same.values, 50),
    )


def _percentile(values: Any, percent: int) -> tuple[float | None, ...]:  # noqa: ANN401  an array
    """By hour, over the members in which there is something to measure; None where there is none."""
    result: list[float | None] = []
    for hour in values:
        known_ones = hour[np.isfinite(hour)]
        result.append(float(np.percentile(known_ones, percent)) if known_ones.size else None)
    return tuple(result)


def _heads(seen: Seen) -> Any:  # noqa: ANN401  an array
    """(members,) animals that come to risk, each kind of danger counted at its worst."""
    worst = [np.where(danger.first_h < NEVER, danger.heads, 0.0) for danger in seen.dangers]
    return np.max(worst, axis=0)


def _lost(seen: Seen) -> Any:  # noqa: ANN401  an array
    """(members,) animals that died after the first hour."""
    lost = [course.lost[: len(next(iter(seen.series.values())))] for _, course in seen.courses]
    if not lost:
        return np.zeros(seen.first_h.shape)
    return np.sum([each[-1] - each[0] for each in lost], axis=0)


def _extremes(seen: Seen) -> Iterator[tuple[str, float]]:
    for name, side in EXTREMES:
        values = seen.series[name]
        worst = values.min(axis=0) if side == "low" else values.max(axis=0)
        yield f"{name}.{side}", middle(worst, _furthest(name, side))


def _furthest(name: str, side: str) -> OfMembers:
    words = f"{name.replace('_', ' ')}: {'lowest' if side == 'low' else 'highest'} while away"
    return OfMembers(symbol=f"{side}est", what=words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned:
    """Something that is there on return and would not be if nothing had gone wrong."""

    name: str
    now: InItsUnit
    usual: InItsUnit
    """With nothing going wrong; of animals that died, how many there were."""
    words: str


def returned(seen: Seen, calm: Seen) -> Iterator[Returned]:
    """What is found on return, against an absence with nothing wrong."""
    before = {cohort.entry.id: course for cohort, course in calm.courses}
    hours = len(next(iter(seen.series.values())))
    for cohort, course in seen.courses:
        calm_course, name = before[cohort.entry.id], cohort.species.common_name
        left = OfMembers(symbol="left", what=f"{name} that live on return")
        calmly = replace(left, symbol="left_calm", what=f"{left.what}, with nothing going wrong")
        gone = middle(calm_course.count[hours - 1], calmly) - middle(course.count[hours - 1], left)
        if gone >= 1:
            there = middle(calm_course.count[0], replace(left, symbol="there", what=f"{name} on leaving"))
            words = f"{gone:.0f} of {there:.0f} {name} dead"
            yield Returned(name=f"{cohort.entry.id}.dead", now=gone, usual=there, words=words)
    for name, row in mishap_table()["found"].items():
        kept = OfMembers(symbol="on_return", what=f"{row['label']} on return", unit=row["unit"])
        now = middle(seen.series[name][-1], kept)
        calmly = replace(kept, symbol="on_return_calm", what=f"{kept.what} with nothing going wrong")
        usual = middle(calm.series[name][-1], calmly)
        least = amount(row, "least")
        if abs(now - usual) >= least:
            places = max(0, math.ceil(-math.log10(least)))
            words = f"{row['label']} {now:.{places}f} {unit_words(row['unit'])} (else {usual:.{places}f})"
            yield Returned(name=name, now=now, usual=usual, words=words)
