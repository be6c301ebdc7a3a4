"""A fit that stands, and what was read since: its members are moved by the new readings alone.

A fresh fit marches its members through all that was lived, again and again. While little has been read since,
its members are still draws of what the tank may be. They are marched on from the morning of the last reading
that was fitted, and one step of the smoother moves them to what was read since, given how the same kits
missed the earlier readings: their deviates, and by the same links their days and their states on that morning
(Evensen 2009, as in smoother.py), from where they are marched on once more. The step is always that of all
readings since the fresh fit, so that nothing piles up. Where they say more than one step can follow, they are
taken in twice with half the weight, as in a fresh fit. Where that is too much too, or anything before that
morning is otherwise, the tank is fitted afresh.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from backreef.calibration.doubt import questioned
from backreef.calibration.evidence import Scale, days_since, evidence_of, foretold_by, rows_needed
from backreef.calibration.fit import Fit, Step, Told, march_on, nothing
from backreef.calibration.lives import Window
from backreef.calibration.luck import LearnedDraws
from backreef.calibration.smoother import Evidence, Transform, transform_of
from backreef.calibration.tables import number
from backreef.simulation.days_kept import Single
from backreef.simulation.ensemble import Members
from backreef.simulation.lived import Lived, cut_short
from backreef.simulation.resumed import days_before, days_of, joined, mornings_of
from backreef.simulation.tables import InItsUnit

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
BEFORE, AFTER, PLANNED = "before", "after", "planned"
STEPS = ((1.0,), (2.0, 2.0))
"""Inflation of the errors in each step: in one step or, where that says too much, in two."""
SINCE_THEN = 1
"""Beside the seed, of the luck of going on: the members bear the luck of the fit in them already."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """What is kept of a fresh fit."""

    since_day: int
    """Of the plan's horizon: the first day of the fit."""
    last_day: int
    """Of the fit: the day of its last reading. States are of its morning."""
    last_on: date
    seed: int
    readings: tuple[str, ...]
    """Ids of the entries that were taken."""
    doubted: tuple[str, ...]
    """Of those the ones that were set aside."""
    log_sum: str
    life_sum: str
    planned_sum: str
    names: tuple[str, ...]
    deviates: Array
    """(names, members)"""
    steps: tuple[Step, ...]
    """How they came to be."""
    mornings: dict[str, Array]
    """Of the ensemble before and after the fit and as planned, (rows, members)."""
    days: dict[str, Single]
    """Of the same, up to that morning, (rows that are looked at, days, members)."""


class StartsAfresh(Exception):
    """A fit cannot be gone on from; it says why."""


def log_sum(window: Window, last_day: int, readings: Sequence[str]) -> str:
    """A check sum of what was logged before a day, and of some readings of that day.

    What was logged before the window is in how the plan stands when that begins.
    """
    start_on, known = window.plan.start_on, frozenset(readings)
    old = [one for one in window.entries if one.id in known or days_since(one, start_on) < last_day]
    said = sorted(repr((one.id, one.revision, one.at.isoformat(), one.what)) for one in old)
    return hashlib.sha256("\n".join([repr(window.plan), *said]).encode()).hexdigest()


def standing_of(fit: Fit, planned: Members, window: Window) -> Standing:
    """What is kept of a fresh fit, whose members kept the states of its last morning."""
    last_day = window.last_day
    marched = {BEFORE: fit.marched_before, AFTER: fit.marched, PLANNED: planned}
    rows = _rows(window)
    readings = tuple(one.entry.id for one in fit.taken)
    names = sorted(fit.after.learned)
    return Standing(
        since_day=window.since_day,
        last_day=last_day,
        last_on=fit.taken[-1].on,
        seed=fit.before.seed,
        readings=readings,
        doubted=tuple(readings[doubt.place] for doubt in fit.doubts),
        log_sum=log_sum(window, last_day, readings),
        life_sum=days_before(window.lived, last_day),
        planned_sum=days_before(window.planned, last_day),
        names=tuple(names),
        deviates=np.array([fit.after.learned[name] for name in names]),
        steps=fit.steps,
        mornings={which: mornings_of(members) for which, members in marched.items()},
        days={which: days_of(members, rows[which], last_day) for which, members in marched.items()},
    )


def go_on(standing: Standing, window: Window, told: Told = nothing) -> tuple[Fit, Members]:
    """The fit with all that was read since, and the members as planned.

    Raises
    ------
    StartsAfresh
        If the tank has to be fitted afresh.
    """
    _refuse_what_is_otherwise(standing, window)
    seen = _Seen(standing, window, told)
    lived, draws = window.lived, seen.draws
    short = cut_short(lived, lived.known_days)
    moved, after, steps = standing, draws[AFTER], list[Step]()
    foretold = seen.foretold(seen.on(short, after, AFTER))
    for inflation in seen.inflations(foretold):
        if moved is not standing:
            foretold = seen.foretold(seen.on(short, after, AFTER, moved))
        step = seen.step(foretold, inflation)
        moved = _moved(moved, step)
        steps.append(seen.told_step(step))
        after = LearnedDraws(standing.seed, after.members, _named(moved))
    fitted = seen.on(lived, after, AFTER, moved)
    fit = Fit(
        lived=lived,
        taken=window.taken,
        scale=seen.scale,
        evidence=seen.evidence,
        doubts=tuple(seen.doubts),
        kept=seen.kept,
        before=draws[BEFORE],
        after=after,
        steps=(*standing.steps, *steps),
        foretold_before=seen.first,
        foretold_after=seen.foretold(fitted),
        marched_before=seen.unfitted,
        marched=fitted,
    )
    return fit, seen.on(window.planned, draws[BEFORE], PLANNED)


class _Seen:
    """All readings beside what the members of a fit that stands say of them."""

    def __init__(self, standing: Standing, window: Window, told: Told) -> None:
        self.standing, self.window, self.told = standing, window, told
        members = standing.deviates.shape[1]
        self.draws = {
            BEFORE: LearnedDraws(standing.seed, members),
            AFTER: LearnedDraws(standing.seed, members, _named(standing)),
        }
        self.rng = np.random.default_rng(
            np.random.Philox(np.random.SeedSequence((standing.seed, SINCE_THEN)))
        )
        self.scale = Scale(window.taken)
        self.evidence = evidence_of(window.taken, self.scale)
        short = cut_short(window.lived, window.lived.known_days)
        self.unfitted = self.on(short, self.draws[BEFORE], BEFORE)
        self.first = self.foretold(self.unfitted)
        known = frozenset(standing.readings)
        self.new = np.array([one.entry.id not in known for one in window.taken])
        self.doubts = questioned(
            self.first,
            self.evidence,
            bounded=np.array([one.bounded for one in window.taken]),
            limit_sd=number("question_sd"),
            most_frac=number("question_most_frac"),
        )
        doubted = {window.taken[doubt.place].entry.id for doubt in self.doubts}
        if doubted & known != set(standing.doubted):
            raise StartsAfresh("with what was read since, other readings are in doubt")
        old = [one for one in window.taken if one.entry.id in known]
        if not self.scale.goes_on_from(Scale(old)):
            raise StartsAfresh("a kit that tells less was used since")
        self.kept = np.ones(len(window.taken), dtype=bool)
        self.kept[[doubt.place for doubt in self.doubts]] = False

    def on(self, life: Lived, draws: LearnedDraws, which: str, moved: Standing | None = None) -> Members:
        """The members of an ensemble with their days since the morning that was kept."""
        begun, day = moved or self.standing, self.standing.last_day
        rows = _rows(self.window)[which]
        later = march_on(life, draws, frozenset(rows), begun.mornings[which], day, self.told)
        return joined(begun.days[which], later, rows)

    def foretold(self, members: Members) -> Array:
        """What members say of all readings."""
        return foretold_by(self.window.taken, self.scale, self.window.lived.prepared.layout, members)

    def inflations(self, foretold: Array) -> tuple[InItsUnit, ...]:
        """In how many steps the readings since are taken in; in none where there are none."""
        if not (self.kept & self.new).any():
            return ()
        least = number("go_on_least_frac")
        enough = (each for each in STEPS if speaking_frac(*self._since(foretold), each[0]) >= least)
        return next(enough, STEPS[-1])

    def step(self, foretold: Array, inflation: InItsUnit) -> Transform:
        """What a step with the readings since does to the members."""
        said, evidence = self._since(foretold)
        if speaking_frac(said, evidence, inflation) < number("go_on_least_frac"):
            raise StartsAfresh("what was read since says too much for that")
        return transform_of(said, evidence, inflation=inflation, rng=self.rng)

    def _since(self, foretold: Array) -> tuple[Array, Evidence]:
        known, new = self.kept & ~self.new, self.kept & self.new
        judged = evidence_of(self.window.taken, self.scale, foretold)
        return since_then(foretold, judged, known=known, new=new)

    def told_step(self, step: Transform) -> Step:
        """The step with what it moved, and what moved it."""
        new = self.kept & self.new
        read = tuple(one.entry.id for one, is_new in zip(self.window.taken, new, strict=True) if is_new)
        return Step(names=self.standing.names, readings=read, transform=step)


def _named(standing: Standing) -> dict[str, Array]:
    return dict(zip(standing.names, standing.deviates, strict=True))


def _rows(window: Window) -> dict[str, list[int]]:
    """Rows that are looked at, by ensemble."""
    few = sorted(rows_needed(window.lived.prepared.layout))
    return {BEFORE: few, AFTER: sorted(window.rows), PLANNED: sorted(window.rows)}


def _moved(standing: Standing, step: Transform) -> Standing:
    """A fit that stands, its fitted members after a step."""
    days = moved_amounts(standing.days[AFTER].astype(float), step).astype(np.float32)
    return replace(
        standing,
        deviates=step.of(standing.deviates),
        mornings=standing.mornings | {AFTER: moved_amounts(standing.mornings[AFTER], step)},
        days=standing.days | {AFTER: days},
    )


def _refuse_what_is_otherwise(standing: Standing, window: Window) -> None:
    taken, known, day = window.taken, frozenset(standing.readings), standing.last_day
    if int(taken[-1].at_d) - day > number("go_on_days"):
        raise StartsAfresh(f"it is older than {number('go_on_days'):.0f} days")
    if (
        int(taken[-1].at_d) < day
        or not known <= {one.entry.id for one in taken}
        or log_sum(window, day, standing.readings) != standing.log_sum
        or any(one.at_d < day for one in taken if one.entry.id not in known)
    ):
        raise StartsAfresh("what was logged up to then is not as it was")
    if (days_before(window.lived, day), days_before(window.planned, day)) != (
        standing.life_sum,
        standing.planned_sum,
    ):
        raise StartsAfresh("what was logged since changes what counts as done before")


def since_then(
    foretold: Array, evidence: Evidence, *, known: BoolArray, new: BoolArray
) -> tuple[Array, Evidence]:
    """What each member foretells of the new readings, given how it missed the known ones; and their errors.

    A part of a kit's error is for good: where a member is right, the known readings show it.
    """
    errors = evidence.errors
    shared = errors[np.ix_(new, known)] @ np.linalg.inv(errors[np.ix_(known, known)])
    missed = evidence.seen[known, None] - foretold[known]
    left = errors[np.ix_(new, new)] - shared @ errors[np.ix_(known, new)]
    return foretold[new] + shared @ missed, Evidence(seen=evidence.seen[new], errors=left)


def speaking_frac(foretold: Array, evidence: Evidence, inflation: InItsUnit) -> float:
    """Share of the members that speak for all if a step of readings weighs them."""
    root = np.linalg.cholesky(evidence.errors)
    misfit = (np.linalg.solve(root, evidence.seen[:, None] - foretold) ** 2).sum(axis=0) / inflation
    weights = np.exp(-0.5 * (misfit - misfit.min()))
    return float(weights.sum() ** 2 / (weights**2).sum()) / len(misfit)


def moved_amounts(amounts: Array, step: Transform) -> Array:
    """Amounts of the members after a step, (..., members), in logarithms and within what some member had.

    Where a member has none of a thing, or all have the same, it stays as it is.
    """
    least, most = amounts.min(axis=-1), amounts.max(axis=-1)
    moves = (least > 0.0) & (most > least)
    found = np.array(amounts, dtype=float)
    logs = step.of(np.log(found[moves]))
    found[moves] = np.clip(np.exp(logs), least[moves][:, None], most[moves][:, None])
    return found
