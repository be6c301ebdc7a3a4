"""Lines of work and the days on which they fall due, before anybody decides when they are done."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.aquarium.plan import Condition
from backreef.schedule.effects import OTHER, Effect
from backreef.schedule.tables import workload
from backreef.schedule.workload import NO_MINUTES, Minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What all occurrences of one kind of work in the plan have in common."""

    entry_id: str
    """Id of the plan's entry that brings the work; 'keeper' or 'tank' where no entry does."""
    task_id: str
    name: str
    minutes: Minutes
    setup_minutes: float
    setup_group: str
    needs_presence: bool
    look: bool = False
    condition: Condition | None = None
    effect: Effect = OTHER
    device: str | None = None
    """Id of the device that does it by itself; None for people's work."""
    at_hour: float | None = None
    interval_d: float
    """Days between two occurrences on average. [d]"""
    pinned: bool = False
    """The plan names the weekday: done on that day if somebody is there."""
    tolerated_days: float | None = None
    """Days it can slip without harm; None where nobody knows."""
    within_days: float | None = None
    """By so much it may come earlier or later, where the plan says so. [d]"""
    repeats: bool = True
    """An occurrence that falls on the day of the next one is done by it."""
    companion: Line | None = None
    """Work that is done along with it, on the same day."""

    @property
    def flex_days(self) -> int:
        """Days by which it may come earlier or later to share a set-up: the plan's, else by rule. [d]"""
        if self.within_days is not None:
            return int(self.within_days)
        table = workload().numbers
        flex = min(table["flex_frac"].value * self.interval_d, table["flex_longest_days"].value)
        return int(flex)

    @property
    def load_minutes(self) -> float:
        """Minutes that one occurrence takes typically, its companion included. [min]"""
        return self.minutes.typ_min + (self.companion.load_minutes if self.companion is not None else 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One occurrence of a line of work."""

    line: Line
    day: int
    done_on: int | None = None
    """Set where the day is already settled, as for meals and refills."""
    missed: bool = False
    """Settled otherwise: nobody was there in time."""
    effect: Effect | None = None
    """Where it differs from the line's."""
    minutes: Minutes | None = None
    """Where they differ from the line's."""
    hour: float | None = None
    """Hour at which it is done, where it is settled."""
    earliest: int | None = None
    """First day on which it may be done, where not by the line's interval."""
    latest: int | None = None
    """Last day on which it may be done, where not by what the line tolerates."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Work or meals that the plan implies or states and that nobody does, with the reason."""

    task_id: str
    entry_id: str
    from_day: int
    reason: str


def device_line(*, entry_id: str, task_id: str, name: str, device: str, interval_d: float) -> Line:
    """Work that a device does by itself: no minutes, no presence."""
    return Line(
        entry_id=entry_id,
        task_id=task_id,
        name=name,
        minutes=NO_MINUTES,
        setup_minutes=0.0,
        setup_group=task_id,
        needs_presence=False,
        device=device,
        interval_d=interval_d,
    )
