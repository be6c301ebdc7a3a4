from __future__ import annotations

import sys

import numpy as np
import pandas as pd
import pytest

from backreef.judgement.frames import NoPandas
from tests.forecast_world import a_breaking_forecast, a_minimal_forecast


def test_it_has_one_row_per_day_and_three_columns_per_series() -> None:
    forecast = a_breaking_forecast()
    frame = forecast.to_frame()
    assert frame.shape == (1096, 3 * len(forecast.series))
    assert frame.index[0] == pd.Timestamp("2027-01-04")
    assert frame.index.name == "date"
    middle = frame["nitrate_mg_no3_per_l", "p50"].to_numpy()
    assert np.array_equal(middle, forecast.series["nitrate_mg_no3_per_l"].p50)


def test_it_has_the_animals_apart() -> None:
    forecast = a_breaking_forecast()
    frame = forecast.animals_to_frame()
    assert ("anthias.condition", "p05") in frame.columns
    assert frame["anthias.energy_met", "p50"].isna().sum() == 336


def test_it_is_empty_but_dated_without_animals() -> None:
    frame = a_minimal_forecast().animals_to_frame()
    assert frame.shape == (60, 0)


def test_it_says_what_to_do_without_pandas(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(NoPandas, match=r"pip install 'backreef\[frame\]'"):
        a_minimal_forecast().to_frame()
