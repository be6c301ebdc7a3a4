"""The daily series of a forecast as a table for people who work with pandas."""

from __future__ import annotations

from types import ModuleType
from typing import TYPE_CHECKING

from backreef.errors import BackreefError
from backreef.judgement.verdict import Band, Forecast

if TYPE_CHECKING:
    import pandas as pd

POINTS = ("p05", "p50", "p95")


class NoPandas(BackreefError):
    """A table was asked for where pandas is not installed."""

    def __init__(self) -> None:
        super().__init__(
            "A table needs pandas, which is not installed. To install it: pip install 'backreef[frame]'. "
            "The same numbers are in the JSON document under `series`."
        )


def to_frame(forecast: Forecast) -> pd.DataFrame:
    """One row per day; columns are (series, p05 | p50 | p95), the index is the date.

    Raises
    ------
    NoPandas
        If pandas is not installed.
    """
    return _frame(forecast, forecast.series)


def animals_to_frame(forecast: Forecast) -> pd.DataFrame:
    """One row per day; columns are (id.condition or id.energy_met, p05 | p50 | p95).

    Raises
    ------
    NoPandas
        If pandas is not installed.
    """
    bands: dict[str, Band] = {}
    for animal in forecast.animals:
        bands[f"{animal.id}.condition"] = animal.condition
        bands[f"{animal.id}.energy_met"] = animal.energy_met
    return _frame(forecast, bands)


def _frame(forecast: Forecast, bands: dict[str, Band]) -> pd.DataFrame:
    pandas = _pandas()
    columns = {(name, point): getattr(band, point) for name, band in bands.items() for point in POINTS}
    index = pandas.DatetimeIndex([day.isoformat() for day in forecast.dates], name="date")
    names = pandas.MultiIndex.from_tuples(list(columns), names=["series", "point"])
    frame = pandas.DataFrame(columns, index=index)
    return frame if bands else pandas.DataFrame(index=index, columns=names)


def _pandas() -> ModuleType:
    try:
        import pandas as pd
    except ImportError as missing:
        raise NoPandas from missing
    module: ModuleType = pd
    return module
