from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from backreef.judgement.rehearsal import Rehearsal
from backreef.judgement.verdict import Forecast
from backreef.usecases.kept import NotKept, kept_text, read_kept
from tests import forecast_world as world


@pytest.mark.parametrize("make", [world.a_holding_forecast, world.a_breaking_forecast, world.an_odd_forecast])
def test_a_forecast_comes_back_to_the_last_digit(make: Callable[[], Forecast]) -> None:
    forecast = make()
    back = read_kept(kept_text(forecast), Forecast)
    assert kept_text(back) == kept_text(read_kept(kept_text(back), Forecast))
    for name, band in forecast.series.items():
        assert np.array_equal(back.series[name].p50, band.p50, equal_nan=True)
    assert repr(back.findings) == repr(forecast.findings)
    assert back.first_break == forecast.first_break
    assert back.present.dtype == np.bool_


@pytest.mark.parametrize(
    "text",
    ["", "[]", '{"mark": "other"}', '{"mark": "backreef.kept/1", "kind": "Forecast", "answer": {}}'],
)
def test_what_is_no_forecast_is_refused(text: str) -> None:
    with pytest.raises(NotKept):
        read_kept(text, Forecast)


def test_a_forecast_is_no_rehearsal() -> None:
    with pytest.raises(NotKept):
        read_kept(kept_text(world.a_holding_forecast()), Rehearsal)


def test_a_field_of_another_type_is_refused() -> None:
    text = kept_text(world.a_holding_forecast()).replace('"plan_name": "', '"plan_name": 3, "was": "', 1)
    with pytest.raises(NotKept):
        read_kept(text, Forecast)
