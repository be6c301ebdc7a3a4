"""An animal's days: nothing is shown of it before it has arrived."""

from __future__ import annotations

import numpy as np

from backreef.judgement.verdict import AnimalOutcome, Band, FloatArray, Forecast


def lived(forecast: Forecast, animal: AnimalOutcome, band: Band) -> Band:
    """The band of an animal, not known before the day on which it arrives."""
    first = 0 if animal.arrives_on is None else (animal.arrives_on - forecast.start_on).days
    if first <= 0 or animal.already_there:
        return band

    def known(values: FloatArray) -> FloatArray:
        return np.where(np.arange(len(values)) < first, np.nan, values)

    return Band(p05=known(band.p05), p50=known(band.p50), p95=known(band.p95))


def condition_of(forecast: Forecast, animal: AnimalOutcome) -> Band:
    """Condition of an animal from its arrival."""
    return lived(forecast, animal, animal.condition)


def energy_met_of(forecast: Forecast, animal: AnimalOutcome) -> Band:
    """Share of an animal's need that its food met, from its arrival."""
    return lived(forecast, animal, animal.energy_met)
