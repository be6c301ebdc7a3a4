"""The stretches away that are worth a mark: not the two days that come round every week."""

from __future__ import annotations

from backreef.judgement import absences
from backreef.judgement.absences import length_days
from backreef.judgement.verdict import AwayStretch, Forecast

__all__ = ["length_days", "long_absences", "usual_days"]


def usual_days(forecast: Forecast) -> int:
    """Length of the stretch that comes round all the time; 0 where stretches are few."""
    return absences.usual_days(forecast.away, len(forecast.dates))


def long_absences(forecast: Forecast) -> tuple[AwayStretch, ...]:
    """The stretches that are longer than the usual one."""
    return absences.longer_than_usual(forecast.away, len(forecast.dates))
