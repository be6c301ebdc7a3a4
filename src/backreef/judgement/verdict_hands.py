"""What a forecast says of the hands: chores, months, what one minute more does, and what was logged."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from backreef.judgement.failure_lines import FailureLine
from backreef.units import DAYS_PER_YEAR
from backreef.working.record import told_constant

MONTHS_PER_YEAR = 12
DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoreLine:
    """The minutes of one task over the horizon."""

    task: str
    name: str
    minutes_per_month_p05: float
    minutes_per_month_p50: float
    minutes_per_month_p95: float
    times_per_year: float
    needs_presence: bool
    look: bool
    """True for looks and head counts of two minutes or less, listed apart from the budget."""
    often_dropped_after_months: float | None = None
    """Months after which many people have dropped it; None: it is not of that sort."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthLine:
    """The keeper's minutes of one calendar month, or of the part of it in the horizon; looks are left out."""

    first_on: date
    days: int
    minutes_p05: float
    minutes_p50: float
    minutes_p95: float
    budget_minutes: float
    """What the keeper gives for so many days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarginalMinutes:
    """Minutes a month with an entry of the plan less those without it: what it costs or, below 0, saves."""

    kind: str
    """animals, meal or device."""
    id: str
    name: str
    minutes_per_month_p05: float
    minutes_per_month_p50: float
    minutes_per_month_p95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedTask:
    """What a task truly took, each time, beside what was assumed of it."""

    task: str
    name: str
    times: int
    """Times it was logged with its minutes."""
    times_without: int
    """Times it was logged without; they count nowhere else."""
    least_min: float
    middle_min: float
    most_min: float
    assumed_low_min: float | None
    """With its part of the set-up; None: the plan does not have the task."""
    assumed_min: float | None
    assumed_high_min: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedMonth:
    """The minutes that were logged in a calendar month, beside those of the forecast for the same days."""

    first_on: date
    minutes: float
    times: int
    forecast_min: float | None
    """The keeper's, looks included; None where the forecast has no such days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """The keeper's ledger of minutes."""

    per_month_p05: float
    per_month_p50: float
    per_month_p95: float
    budget_per_month: float
    looks_per_month_p50: float
    by_chore: tuple[ChoreLine, ...]
    busiest_day: date | None
    busiest_day_minutes: float
    by_month: tuple[MonthLine, ...] = ()
    needs_somebody: tuple[date, ...] = ()
    """Days on which a chore needs somebody who is there, whoever does it."""
    marginal: tuple[MarginalMinutes, ...] = ()
    """What each entry costs or saves, most first; empty where nobody asked for it."""
    logged: tuple[LoggedTask, ...] = ()
    """What the log says of minutes, most work first; empty without a log."""
    logged_by_month: tuple[LoggedMonth, ...] = ()
    failures: tuple[FailureLine, ...] = ()
    """How often devices fail, the most frequent first; feeders apart, which fail in the forecast itself."""

    @property
    def budget_per_week(self) -> float:
        """The month's minutes shared out over its weeks."""
        year_d = told_constant(DAYS_PER_YEAR, "DAYS_PER_YEAR", "backreef.units")
        return self.budget_per_month * MONTHS_PER_YEAR * DAYS_PER_WEEK / year_d
