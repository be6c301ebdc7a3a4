"""Fits an ensemble to a log: marches what was lived, questions readings, moves the deviates, marches on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.calibration.deeds import Deeds
from backreef.calibration.doubt import Doubt, questioned
from backreef.calibration.evidence import (
    Scale,
    Taken,
    evidence_of,
    foretold_by,
    rows_needed,
)
from backreef.calibration.luck import LearnedDraws
from backreef.calibration.smoother import Evidence, Transform, transform_of
from backreef.calibration.tables import number, numbers
from backreef.catalogue.entries import Catalogue
from backreef.simulation.block import FORECAST
from backreef.simulation.draws import spread
from backreef.simulation.ensemble import Keep, Members, march_setting
from backreef.simulation.lived import Lived, cut_short, prepare_lived, setting_as_lived
from backreef.simulation.resumed import Morning, begin_with, rest_of
from backreef.simulation.setting import Setting
from backreef.simulation.tables import Range
from backreef.simulation.trajectories import rows_of_series

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
STEPS = (6.0, 3.0, 2.0)
"""Inflation of the errors in each step; the inverses sum up to 1. Two steps do nearly as well on twins, and
four no better (docs/trust.md)."""
HAND = "hand ration"
STARTS = {"S_NO3": "nitrate", "S_PO4": "phosphate", "S_ALK": "alkalinity"}
Told = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Step:
    """A step of a fit."""

    names: tuple[str, ...]
    """Of the deviates that it moved."""
    readings: tuple[str, ...]
    """Ids of the entries that moved them."""
    transform: Transform


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """An ensemble before and after it has seen the log."""

    lived: Lived
    taken: tuple[Taken, ...]
    scale: Scale
    evidence: Evidence
    doubts: tuple[Doubt, ...]
    kept: BoolArray
    """(readings,) False for those set aside."""
    before: LearnedDraws
    after: LearnedDraws
    steps: tuple[Step, ...]
    """From one to the other."""
    foretold_before: Array
    """(readings, members) in even units."""
    foretold_after: Array
    marched_before: Members
    """What the ensemble did up to now before it saw the log, with the rows of the readings."""
    marched: Members
    """What the fitted ensemble did up to now and will do, with the rows of the series."""


def nothing(_done: int, _total: int) -> None:
    """Tell nobody."""


def start_range(plan: Plan, word: str) -> Range:
    """How sure the first day's amount of a nutrient is, over what the plan says."""
    if word == "alkalinity":
        return numbers()["start_alkalinity_ratio"]
    assumed = any(one.key == f"tank.start.{word}" for one in plan.assumptions)
    return numbers()["start_assumed_ratio" if assumed else "start_given_ratio"]


def drawn_value(draws: LearnedDraws, name: str, span: Range) -> Array:
    """A lasting number of all members, by its range and its deviates."""
    return np.asarray(spread(span.value, span.low, span.high, draws.normal(name)[0]))


def march_lived(
    lived: Lived,
    draws: LearnedDraws,
    rows: frozenset[int],
    told: Told = nothing,
    *,
    morning: int | None = None,
) -> Members:
    """March all members through what was lived and, where it goes on, what is planned.

    The states on the `morning` of a day, if one is named, are then the `audits` of the members.
    """
    keep = Keep(rows=rows, audit=None if morning is None else partial(Morning, morning))
    return march_setting(_setting(lived, draws), FORECAST, keep=keep, progress=told)


def march_whole(lived: Lived, draws: LearnedDraws) -> Members:
    """March all members through what was lived, and keep every row of every day."""
    return march_setting(_setting(lived, draws), FORECAST)


def march_on(
    lived: Lived, draws: LearnedDraws, rows: frozenset[int], morning: Array, day: int, told: Told = nothing
) -> Members:
    """March all members from the morning of a day on; their first day is that one."""
    setting = _setting(rest_of(lived, day), draws)
    begin_with(setting, morning)
    return march_setting(setting, FORECAST, keep=Keep(rows=rows), progress=told)


def _setting(lived: Lived, draws: LearnedDraws) -> Setting:
    plan = lived.prepared.plan
    return setting_as_lived(
        lived,
        draws,
        hand_ratio=drawn_value(draws, HAND, numbers()["hand_ration_ratio"]),
        start_ratio={
            component: drawn_value(draws, f"start {word}", start_range(plan, word))
            for component, word in STARTS.items()
        },
    )


def lived_of(deeds: Deeds, catalogue: Catalogue, *, known_days: int, days: int) -> Lived:
    """What was lived and what is planned after it, ready to march for so many days."""
    return prepare_lived(
        replace(deeds.plan, horizon_days=days),
        catalogue,
        alter=deeds.alter,
        deaths=deeds.deaths,
        known_days=known_days,
    )


def fit_log(lived: Lived, taken: Sequence[Taken], *, members: int, seed: int, told: Told = nothing) -> Fit:
    """Move an ensemble to the readings of a log.

    Readings that do not go with the others are questioned first and set aside; they move nothing.
    """
    short = cut_short(lived, lived.known_days)
    layout = lived.prepared.layout
    rows = rows_needed(layout)
    scale = Scale(taken)
    evidence = evidence_of(taken, scale)
    before = LearnedDraws(seed, members)
    last_day = lived.known_days - 1
    marched = unfitted = march_lived(short, before, rows, told, morning=last_day)
    foretold = foretold_by(taken, scale, layout, marched)
    bounded = np.array([one.bounded for one in taken])
    doubts = questioned(
        foretold,
        evidence,
        bounded=bounded,
        limit_sd=number("question_sd"),
        most_frac=number("question_most_frac"),
    )
    kept = np.ones(len(taken), dtype=bool)
    kept[[doubt.place for doubt in doubts]] = False
    names = sorted(before.learned)
    deviates = np.array([before.learned[name] for name in names])
    rng = np.random.default_rng(np.random.Philox(key=seed))
    first, draws = foretold, before
    read = tuple(one.entry.id for one, believed in zip(taken, kept, strict=True) if believed)
    steps: list[Step] = []
    ahead = rows | rows_of_series(lived.prepared)
    for step, inflation in enumerate(STEPS, start=1):
        judged = evidence_of(taken, scale, foretold).some(kept)
        moving = transform_of(foretold[kept], judged, inflation=inflation, rng=rng)
        steps.append(Step(names=tuple(names), readings=read, transform=moving))
        deviates = moving.of(deviates)
        draws = LearnedDraws(seed, members, dict(zip(names, deviates, strict=True)))
        last = step == len(STEPS)
        life, kept_rows = (lived, ahead) if last else (short, rows)
        marched = march_lived(life, draws, kept_rows, told, morning=last_day if last else None)
        foretold = foretold_by(taken, scale, layout, marched)
    return Fit(
        lived=lived,
        taken=tuple(taken),
        scale=scale,
        evidence=evidence,
        doubts=tuple(doubts),
        kept=kept,
        before=before,
        after=draws,
        steps=tuple(steps),
        foretold_before=first,
        foretold_after=foretold,
        marched_before=unfitted,
        marched=marched,
    )
