"""What a forecast says of devices that may fail, as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class FailureLine:
    """One way in which a device of the plan fails: how often, and how long nobody sees it."""

    id: str
    """Of the mishap; a rehearsal shows what it does to the animals."""
    what: str
    times_low: float
    times: float
    """Over the horizon, on the mean."""
    times_high: float
    unseen_d: float
    """Days until somebody comes who would see it, mean of all days on which it may begin."""
    unseen_longest_d: int
    """Until the end of the plan where nobody comes any more."""
    longest_from: date
    """The day on which it would begin to stay unseen for longest."""
