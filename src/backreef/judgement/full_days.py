"""Days on which the keeper's work takes longer than the keeper is there."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from backreef.aquarium.phrases import write_hour
from backreef.company.findings import CheckFinding
from backreef.schedule.minutes import chore_arrays, spent_minutes
from backreef.schedule.people import KEEPER
from backreef.simulation.prepared import Prepared

ROUNDING_MIN = 1e-6


def full_days(prepared: Prepared) -> Iterator[CheckFinding]:
    """Give one finding for all days that are too short; looks count, work with a condition does not."""
    keeper = prepared.keeper
    here = (chore for chore in keeper.chores if chore.by == KEEPER and chore.needs_presence)
    own = [chore for chore in here if chore.condition is None]
    arrays = chore_arrays(own)
    done = arrays.day >= 0
    taken = np.bincount(arrays.day[done], weights=spent_minutes(arrays)[done], minlength=keeper.days)
    there = np.array([keeper.presence.minutes_there(day) for day in range(keeper.days)])
    short = np.flatnonzero(taken > there + ROUNDING_MIN)
    if not len(short):
        return
    worst = max(short.tolist(), key=lambda day: (taken[day] - there[day], -day))
    hours = " and ".join(f"{write_hour(a)} to {write_hour(b)}" for a, b in keeper.presence.hours(worst))
    days = "1 day" if len(short) == 1 else f"{len(short)} days"
    yield CheckFinding(
        id="hours.too_short",
        balance="hands",
        weight="serious",
        who="the keeper",
        what="A day has more work than the keeper is there for",
        why=(
            f"{days}; on {keeper.presence.on(worst)} about {taken[worst]:.0f} minutes of work fall into "
            f"{hours or 'no hours at all'}, {there[worst]:.0f} minutes"
        ),
        source="the plan",
        status="calc",
        remedies=(
            "be there longer on such days",
            "let work on fixed weekdays fall on different ones, or say intervals in place of weekdays",
            "let a helper or a device take a part",
        ),
        from_on=keeper.presence.on(int(short[0])),
    )
