"""The stretches away that are worth a mark: not the two days that come round every week."""

from __future__ import annotations

from collections import Counter

from backreef.judgement.verdict import AwayStretch, Forecast
from backreef.units import DAYS_PER_YEAR

_FEW_PER_YEAR = 12


def length_days(away: AwayStretch) -> int:
    """Days of a stretch, the first and the last included."""
    return (away.last_on - away.first_on).days + 1


def usual_days(forecast: Forecast) -> int:
    """Length of the stretch that comes round all the time; 0 where stretches are few."""
    if len(forecast.away) <= _FEW_PER_YEAR * max(1.0, len(forecast.dates) / DAYS_PER_YEAR):
        return 0
    counts = Counter(length_days(away) for away in forecast.away)
    return max(counts, key=lambda days: (counts[days], days))


def long_absences(forecast: Forecast) -> tuple[AwayStretch, ...]:
    """The stretches that are longer than the usual one."""
    usual = usual_days(forecast)
    return tuple(away for away in forecast.away if length_days(away) > usual)
