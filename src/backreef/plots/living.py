"""An animal's days: nothing is shown of it before it has arrived."""

from __future__ import annotations

import numpy as np

from backreef.judgement.verdict import AnimalOutcome, Band, FloatArray, Forecast


def lived(forecast: Forecast, animal: AnimalOutcome, band: Band, *, days: int = 0) -> Band:
    """The band of an animal, not known before it has been there for so many days."""
    first = _first(forecast, animal) + days
    if first <= 0:
        return band

    def known(values: FloatArray) -> FloatArray:
        return np.where(np.arange(len(values)) < first, np.nan, values)

    return Band(p05=known(band.p05), p50=known(band.p50), p95=known(band.p95))


def _first(forecast: Forecast, animal: AnimalOutcome) -> int:
    """The day from which it is there."""
    if animal.arrives_on is None or animal.already_there:
        return 0
    return max((animal.arrives_on - forecast.start_on).days, 0)


def condition_of(forecast: Forecast, animal: AnimalOutcome) -> Band:
    """Condition of an animal from its arrival."""
    return lived(forecast, animal, animal.condition)


def energy_met_of(forecast: Forecast, animal: AnimalOutcome) -> Band:
    """Share of an animal's need that its food met; nothing was eaten yet when its first day begins."""
    begun = animal.energy_met.p50[_first(forecast, animal) :][:1]
    return lived(forecast, animal, animal.energy_met, days=int(np.any(begun == 0.0)))
