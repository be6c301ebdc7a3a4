"""Lay plans side by side: each forecast with the same luck, and what they say differently."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from string import ascii_uppercase
from typing import TYPE_CHECKING

from backreef.usecases import forecast as forecasting
from backreef.usecases.forecast import MEMBERS, SEED, Judge, Progress, refuse_impossible

if TYPE_CHECKING:
    from backreef.aquarium.differences import Difference
    from backreef.aquarium.plan import Plan
    from backreef.judgement.verdict import Forecast

FEWEST, MOST = 2, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairing:
    """How the members of two plans fared, member by member with the same draws."""

    both_hold: int
    only_first_holds: int
    only_other_holds: int
    neither_holds: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One plan of a comparison; what it is against the first is empty for the first itself."""

    letter: str
    forecast: Forecast
    differences: tuple[Difference, ...]
    """What it says otherwise than the first."""
    pairing: Pairing
    """Its members against those of the first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Plans side by side, in the order in which they were named."""

    plans: tuple[Compared, ...]


def compare_plans(
    plans: Sequence[str | Path | Plan],
    *,
    members: int = MEMBERS,
    seed: int = SEED,
    progress: Progress | None = None,
    judge: Judge | None = None,
) -> Comparison:
    """The forecasts of two to six plans with equal draws, and what differs from the first.

    Raises
    ------
    InputFaults
        With every fault of every file.
    ValueError
        If there are fewer than two plans or more than six, or members or seed are impossible.
    """
    refuse_impossible(members, seed)
    if not FEWEST <= len(plans) <= MOST:
        raise ValueError(f"there are {len(plans)} plans, but {FEWEST} to {MOST} can stand side by side")
    from backreef.aquarium.differences import differences
    from backreef.usecases.check import catalogue_of

    read = _read(plans)
    chosen = judge or forecasting.default_judge()
    forecasts = [
        chosen(
            plan,
            catalogue_of(plan),
            members=members,
            seed=seed,
            remedies="none",
            progress=_told(progress, letter, len(read)),
        )
        for letter, plan in zip(ascii_uppercase, read, strict=False)
    ]
    return Comparison(
        plans=tuple(
            Compared(
                letter=letter,
                forecast=forecast,
                differences=differences(read[0], plan),
                pairing=pairing(forecasts[0], forecast),
            )
            for letter, plan, forecast in zip(ascii_uppercase, read, forecasts, strict=False)
        )
    )


def pairing(first: Forecast, other: Forecast) -> Pairing:
    """Count members by whether they hold under two plans; the horizons may differ."""
    pairs = [
        (one is None, two is None) for one, two in zip(first.first_breaks, other.first_breaks, strict=True)
    ]
    return Pairing(
        both_hold=pairs.count((True, True)),
        only_first_holds=pairs.count((True, False)),
        only_other_holds=pairs.count((False, True)),
        neither_holds=pairs.count((False, False)),
    )


def _read(plans: Sequence[str | Path | Plan]) -> list[Plan]:
    """Every plan, or every fault of every file."""
    from backreef.aquarium.plan import Plan
    from backreef.errors import Fault, InputFaults
    from backreef.usecases.check import load_plan

    faults: list[Fault] = []
    read: list[Plan] = []
    for plan in plans:
        try:
            read.append(plan if isinstance(plan, Plan) else load_plan(plan))
        except InputFaults as refusal:
            faults += refusal.faults
    if faults:
        raise InputFaults(faults)
    return read


def _told(progress: Progress | None, letter: str, plans: int) -> Progress | None:
    """Tell which of the plans is at work."""
    if progress is None:
        return None
    return lambda phrase, done, total: progress(f"plan {letter} of {plans}: {phrase}", done, total)
