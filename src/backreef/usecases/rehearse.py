"""What an absence does to the animals: with nothing wrong, with each mishap, and what helps."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.schedule.away import Absence

if TYPE_CHECKING:  # asking for help needs none of them
    from backreef.aquarium.plan import Plan
    from backreef.judgement.rehearsal import Rehearsal

MEMBERS = 32
SEED = 1
MOST_MEMBERS = 10_000

Progress = Callable[[str, int, int], None]


def absence_of(first_on: date, until_on: date, sitter_weekdays: tuple[int, ...] = ()) -> Absence:
    """Days without the keeper; on the day of return they are back, on the weekdays somebody looks in."""
    return Absence(first_on=first_on, until_on=until_on, sitter_weekdays=sitter_weekdays)


def weekdays_of(text: str) -> tuple[int, ...]:
    """The weekdays that somebody wrote, 0 for Monday; none for no words.

    Raises
    ------
    ValueError
        If they are none.
    """
    from backreef.aquarium.phrases import Unreadable, read_weekdays

    try:
        return read_weekdays(text) if text.strip() else ()
    except Unreadable as refusal:
        raise ValueError(str(refusal)) from None


def rehearse(
    plan: str | Path | Plan,
    absence: Absence,
    *,
    members: int = MEMBERS,
    seed: int = SEED,
    progress: Progress | None = None,
) -> Rehearsal:
    """The rehearsal of an absence, of a plan given as its file or as read before.

    Raises
    ------
    InputFaults
        With every fault of the file, or if the absence lies outside the plan's days.
    ValueError
        If there are fewer than one or very many members, or the seed is negative.
    """
    if not 1 <= members <= MOST_MEMBERS:
        raise ValueError(f"members is {members}, but it lies between 1 and {MOST_MEMBERS}")
    if seed < 0:
        raise ValueError(f"seed is {seed}, but it is 0 or more")
    from backreef.aquarium.plan import Plan
    from backreef.judgement.rehearse import rehearse_plan
    from backreef.usecases.check import catalogue_of, load_plan

    read = plan if isinstance(plan, Plan) else load_plan(plan)
    return rehearse_plan(read, catalogue_of(read), absence, members=members, seed=seed, progress=progress)
