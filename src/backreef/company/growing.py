"""How long an animal of the plan is on a day, and the day on which it reaches a length.

The law is that of `models.growth`, written with the standard library alone so that a check starts at once;
a test holds the two together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

from backreef.catalogue.entries import known
from backreef.company.findings import Resident, Setting
from backreef.units import DAYS_PER_YEAR
from backreef.working.number import exp_of, log_of
from backreef.working.record import askable

LATEST_YEARS = 40.0
"""What takes longer than this is called never."""


@dataclass(frozen=True, slots=True, kw_only=True)
class When:
    """The day something comes true, and the earliest and latest that growth allows; None is never."""

    on: date | None
    early_on: date | None
    late_on: date | None


@askable
def length_on_cm(one: Resident, setting: Setting, on: date) -> float | None:
    """Length on a day, grown at the rate of the catalogue since it came; None where that is not known. [cm]

    Validity
    --------
    Well fed; an animal without a rate of growth is taken at the larger of its two known lengths.

    Source
    ------
    As `models.growth.length_after_cm`.
    """
    start, adult = one.length_cm, known(one.species.adult_length_cm)
    if start is None or adult is None:
        return start if adult is None else adult.value
    rate = known(one.species.growth_kmax_per_y)
    if rate is None or start >= adult.value:
        return max(start, adult.value)
    days = max(0, (on - setting.comes_on(one)).days)
    return adult.value - (adult.value - start) * exp_of(-rate.value * days / DAYS_PER_YEAR)


def when_longer(one: Resident, setting: Setting, length_cm: float) -> When | None:
    """When it grows beyond a length; None where its growth is not known.

    Validity
    --------
    Well fed. The range comes from those of its rate of growth and of its adult length.

    Source
    ------
    `models.growth.length_after_cm`, solved for the time.
    """
    start, adult = one.length_cm, known(one.species.adult_length_cm)
    rate = known(one.species.growth_kmax_per_y)
    if start is None or adult is None or rate is None:
        return None
    came_on = setting.comes_on(one)

    def reached(largest_cm: float, kmax_per_y: float) -> date | None:
        days = days_until_longer(start, largest_cm, length_cm=length_cm, kmax_per_y=kmax_per_y)
        return None if days is None else came_on + timedelta(days=days)

    return When(
        on=reached(adult.value, rate.value),
        early_on=reached(adult.highest, rate.highest),
        late_on=reached(adult.lowest, rate.lowest),
    )


@askable
def days_until_longer(
    start_cm: float, largest_cm: float, *, length_cm: float, kmax_per_y: float
) -> int | None:
    """Whole days until a length is passed; None where that takes longer than anybody plans. [d]

    Validity
    --------
    As `years_until_longer`.

    Source
    ------
    As `years_until_longer`.
    """
    years = years_until_longer(start_cm, largest_cm, length_cm=length_cm, kmax_per_y=kmax_per_y)
    return round(years * DAYS_PER_YEAR) if years <= LATEST_YEARS else None


@askable
def years_until_longer(start_cm: float, largest_cm: float, *, length_cm: float, kmax_per_y: float) -> float:
    """Years until a length is passed; endless where it never is. [y]

    Validity
    --------
    Well fed.

    Source
    ------
    `models.growth.length_after_cm`, solved for the time.
    """
    if start_cm >= length_cm:
        return 0.0
    if largest_cm <= length_cm:
        return math.inf
    return log_of((largest_cm - start_cm) / (largest_cm - length_cm)) / kmax_per_y


def when_words(when: When) -> str:
    """The day and its range, as month and year."""
    middle = f"about {_month(when.on)}" if when.on else "perhaps never"
    early, late = _month(when.early_on), _month(when.late_on)
    if when.early_on == when.late_on:
        return middle
    return (
        f"{middle} (between {early} and {late})" if when.late_on else f"{middle} (from {early} on, or never)"
    )


def _month(on: date | None) -> str:
    return f"{on:%B %Y}" if on else "never"
