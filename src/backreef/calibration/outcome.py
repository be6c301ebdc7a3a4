"""What a log and a plan make of each other, as plain data: outlooks, numbers that moved, what is in doubt."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Literal

from backreef.aquarium.series import all_series
from backreef.judgement.verdict import Band, WaterBand
from backreef.simulation.tables import InItsUnit

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """The 5, 50 and 95 % points of a number over the ensemble."""

    p05: InItsUnit
    p50: InItsUnit
    p95: InItsUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A reading as it came, in the unit at the doors."""

    entry_id: str
    on: date
    at_d: float
    """Days since the first day began."""
    series: str
    value: float
    sign: str
    error: InItsUnit
    """One standard deviation of its kit."""
    used: bool
    """False: set aside as it does not go with the others."""

    @property
    def unit(self) -> str:
        """At the doors."""
        return next(one.door_unit for one in all_series() if one.door_series == self.series)


@dataclass(frozen=True, slots=True, kw_only=True)
class Questioned:
    """A reading that is not believed."""

    entry_id: str
    on: date
    words: str
    """What was logged."""
    written: str
    """As it was written."""
    series: str
    value: float
    unit: str
    others_say: Spread
    would_be: InItsUnit | None
    """What it would be if it had slipped in the likeliest way; None: no slip explains it."""
    slip: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Something of the log that did not enter the run."""

    entry_id: str
    on: date
    words: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """A series as planned, as fitted, and its water band if it has one."""

    series: str
    label: str
    unit: str
    planned: Band
    fitted: Band
    ahead_planned: Spread
    """At the end of the weeks ahead."""
    ahead_fitted: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A number that differs between tanks, before and after the log."""

    id: str
    what: str
    unit: str
    before: Spread
    after: Spread
    told_frac: float
    """Share of its variance that the readings took away."""
    moved_sd: InItsUnit
    """By how many standard deviations of before its middle moved."""
    meaning: str
    """In words; empty where it did not move."""

    @property
    def unit_shown(self) -> str:
        """Nothing where it has none."""
        return "" if self.unit == "-" else self.unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Tangled:
    """Two numbers of which the readings tell only something together."""

    one: str
    other: str
    correlation: InItsUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterAhead:
    """A bound of the water that the fitted tank leaves in the weeks ahead."""

    series: str
    label: str
    low_side: bool
    harm: bool
    bound: float
    unit: str
    share_planned: float
    share_fitted: float
    first_on: date | None

    @property
    def side(self) -> str:
        """As its bound is called: harm_low."""
        return f"{'harm' if self.harm else 'act'}_{'low' if self.low_side else 'high'}"

    @property
    def side_words(self) -> str:
        """The same in words."""
        return f"{'harm' if self.harm else 'act'} {'below' if self.low_side else 'above'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class NextReading:
    """A reading that could be taken next week, and what it would settle."""

    series: str
    label: str
    kit: str
    own: bool
    """The keeper has used this kind of kit before."""
    minutes: float
    settles_frac: float
    """Mean share of the variance of the outlook that it would take away."""
    per_minute_frac: float
    most_about: str
    """The quantity of the outlook that it tells most about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspected:
    """What may be behind an alarm."""

    id: str
    what: str
    check: str
    """What tells it from the others."""
    minutes: float
    """Of the check."""
    since_on: date
    share_frac: float
    """How likely it is among the causes that were tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """Readings stopped going as the tank went before."""

    series: str
    label: str
    kind: str
    """'step' or 'drift'."""
    upward: bool
    since_on: date
    ratio: InItsUnit
    """Twice the logarithm of how much likelier the change makes what came."""
    suspects: tuple[Suspected, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToDo:
    """Something for this week."""

    kind: str
    """'check', 'again', 'chore' or 'reading'."""
    what: str
    why: str
    minutes: float | None
    """None: not known."""
    if_not: str
    on: date | None
    """The day on which it falls, if it has one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """Whether animals that are to come may come."""

    entry_id: str
    who: str
    count: int
    planned_on: date
    state: str
    """'open', 'closed' or 'not known'."""
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """How a fit came to be."""

    how: Literal["fresh", "went on"]
    fitted_on: date
    """Day of the last reading that a fresh fit took in."""
    since_count: int
    """So many readings have weighed its members since."""
    why_fresh: str
    """Why an earlier fit was not gone on from; empty if there was none, or it was."""
    kept: bool
    """Plan and log are as they were when this answer was found, and it was kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reconciled:
    """A plan and its log, put together."""

    plan_name: str
    plan_file: str
    start_on: date
    days: int
    first_reading_on: date
    last_on: date
    """Day of the last reading that was used."""
    until_on: date
    """Last day of the outlook."""
    members: int
    seed: int
    origin: Origin
    holds: bool
    """No more members leave a harm bound in the weeks ahead than a plan that holds may have."""
    readings: tuple[Seen, ...]
    questioned: tuple[Questioned, ...]
    entered: tuple[str, ...]
    """What was done otherwise than planned, and entered the run."""
    left_out: tuple[LeftOut, ...]
    outlooks: tuple[Outlook, ...]
    moved: tuple[Moved, ...]
    tangled: tuple[Tangled, ...]
    water: tuple[WaterAhead, ...]
    alarms: tuple[Alarm, ...]
    next_readings: tuple[NextReading, ...]
    """Those worth their minutes, the best first."""
    week_from: date
    this_week: tuple[ToDo, ...]
    gates: tuple[Gate, ...]
    bands: tuple[WaterBand, ...] = ()
    dates: tuple[date, ...] = ()
    notices: tuple[str, ...] = field(default=())

    def to_frame(self) -> pd.DataFrame:
        """One row per day and series, as planned and as fitted. Needs pandas."""
        from backreef.judgement.frames import pandas_module

        pandas = pandas_module()
        frames = []
        for outlook in self.outlooks:
            columns: dict[str, object] = {"date": list(self.dates), "series": outlook.series}
            for name, band in (("planned", outlook.planned), ("fitted", outlook.fitted)):
                columns |= {f"{name}_{point}": getattr(band, point) for point in ("p05", "p50", "p95")}
            frames.append(pandas.DataFrame(columns))
        return pandas.concat(frames, ignore_index=True)
