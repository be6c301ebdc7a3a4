"""The last day of a plan's horizon."""

from __future__ import annotations

from datetime import date, timedelta

from backreef.aquarium.defaults import default
from backreef.units import DAYS_PER_YEAR


def horizon_end(start_on: date, *, years: float | None = None) -> date:
    """The last day that is judged: for whole years the day before the anniversary."""
    length = default("goals.horizon").value if years is None else years
    return start_on + timedelta(days=horizon_days(start_on, years=length) - 1)


def horizon_days(start_on: date, *, years: float) -> int:
    """Days of the horizon, the first day included."""
    whole = int(years)
    if whole != years or start_on.year + whole > date.max.year:
        return max(
            1, round(float(years) * DAYS_PER_YEAR)
        )  # a count of days, also while a working is recorded
    leap_day = (2, 29)
    day = 28 if (start_on.month, start_on.day) == leap_day else start_on.day
    return (start_on.replace(year=start_on.year + whole, day=day) - start_on).days
