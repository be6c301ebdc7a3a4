"""Daily numbers as tables for people who go on working with pandas, which is wanted only here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from types import ModuleType
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from backreef.errors import BackreefError

if TYPE_CHECKING:
    import pandas as pd

Column = tuple[str, str]
"""Name of the quantity with its unit, and the point of its band: p05, p50 or p95."""


class NoPandas(BackreefError):
    """A table was asked for where pandas is not installed."""

    def __init__(self) -> None:
        super().__init__(
            "A table needs pandas, which is not installed here. "
            "To install it: pip install 'backreef[frame]'. The same numbers are in the JSON document."
        )


def daily_frame(dates: Sequence[date], columns: Mapping[Column, npt.NDArray[np.float64]]) -> pd.DataFrame:
    """One row per day, one column per quantity and point of its band.

    Raises
    ------
    NoPandas
        If pandas is not installed.
    """
    pandas = pandas_module()
    index = pandas.DatetimeIndex([day.isoformat() for day in dates], name="date")
    names = pandas.MultiIndex.from_tuples(list(columns), names=["series", "point"]) if columns else None
    values = np.column_stack(list(columns.values())) if columns else None
    return pandas.DataFrame(values, index=index, columns=names)


def pandas_module() -> ModuleType:
    """Pandas, or a refusal that says how to get it.

    Raises
    ------
    NoPandas
        If pandas is not installed.
    """
    try:
        import pandas as pd
    except ImportError as missing:
        raise NoPandas from missing
    module: ModuleType = pd
    return module
