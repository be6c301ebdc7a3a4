"""What a tank's log makes of its plan: the fitted outlook, what moved, what is in doubt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # asking for help needs none of them
    from backreef.aquarium.plan import Plan
    from backreef.calibration.outcome import Reconciled
    from backreef.calibration.together import Asked
    from backreef.logbook.entries import Entry

MEMBERS = 96
SEED = 1
LEAST_MEMBERS, MOST_MEMBERS = 32, 1024
WEEKS_AHEAD, MOST_WEEKS = 8, 156
LANES = 8

Progress = Callable[[str, int, int], None]


def reconcile(
    plan: str | Path | Plan,
    entries: Sequence[Entry],
    *,
    members: int = MEMBERS,
    seed: int = SEED,
    weeks_ahead: int = WEEKS_AHEAD,
    progress: Progress | None = None,
) -> Reconciled:
    """A plan, given as its file or as read before, and the entries of its tank's log, put together.

    Raises
    ------
    InputFaults
        With every fault of the file, or if no reading of the log can be used.
    ValueError
        If members, seed or weeks are out of bounds.
    """
    from backreef.aquarium.plan import Plan
    from backreef.calibration.together import reconcile_log
    from backreef.judgement.least_food import with_least_food
    from backreef.usecases.check import catalogue_of, load_plan

    asked = asked_for(members, seed, weeks_ahead)
    read = plan if isinstance(plan, Plan) else load_plan(plan)
    catalogue = catalogue_of(read)
    fed = with_least_food(read, catalogue)
    return reconcile_log(fed, catalogue, entries, asked, progress=progress)


def asked_for(members: int, seed: int, weeks_ahead: int) -> Asked:
    """What is asked for, looked over.

    Raises
    ------
    ValueError
        If one of them is out of bounds.
    """
    if not LEAST_MEMBERS <= members <= MOST_MEMBERS or members % LANES:
        raise ValueError(
            f"members is {members}, but it is a multiple of {LANES} from {LEAST_MEMBERS} to {MOST_MEMBERS}"
        )
    if seed < 0:
        raise ValueError(f"seed is {seed}, but it is 0 or more")
    if not 1 <= weeks_ahead <= MOST_WEEKS:
        raise ValueError(f"weeks_ahead is {weeks_ahead}, but it lies between 1 and {MOST_WEEKS}")
    from backreef.calibration.together import Asked

    return Asked(members=members, seed=seed, weeks_ahead=weeks_ahead)
