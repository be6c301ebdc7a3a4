from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import jsonschema
import numpy as np
import pytest

from backreef.judgement.verdict import Band, Forecast
from backreef.reports.document import forecast_schema, to_document, to_json
from tests import forecast_world as world

FORECASTS: dict[str, Callable[[], Forecast]] = {
    "holding": world.a_holding_forecast,
    "breaking": world.a_breaking_forecast,
    "minimal": world.a_minimal_forecast,
    "odd": world.an_odd_forecast,
}
PROMISED = {
    "": "schema holds share_holding first_break balances findings animals minutes series conservation "
    "assumptions",
    "findings": "id balance harm who first_on value bound unit why remedies",
    "animals": "id species count_start count_end_p50 condition_p50 energy_met_share_p50",
}


def promised(part: str) -> set[str]:
    return set(PROMISED[part].split())


def validator() -> Any:
    schema = forecast_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())


@pytest.mark.parametrize("name", FORECASTS)
def test_it_follows_its_schema(name: str) -> None:
    read = json.loads(to_json(FORECASTS[name]()))
    assert [error.message for error in validator().iter_errors(read)] == []


@pytest.mark.parametrize("name", FORECASTS)
def test_it_holds_no_nan(name: str) -> None:
    def refuse(constant: str) -> None:
        raise AssertionError(constant)

    json.loads(to_json(FORECASTS[name]()), parse_constant=refuse)


def test_it_writes_unknown_as_null() -> None:
    days = 60
    gap = np.full(days, np.nan)
    gap[3:] = 1.5
    forecast = world.a_minimal_forecast()
    forecast = replace(forecast, series={"salinity_psu": Band(p05=gap, p50=gap, p95=gap)})
    assert to_document(forecast)["series"]["salinity_psu"]["p50"][:5] == [None, None, None, 1.5, 1.5]


def test_it_keeps_the_keys_that_others_rely_on() -> None:
    document = to_document(world.a_breaking_forecast())
    assert promised("") <= document.keys()
    for part in ("findings", "animals"):
        assert all(promised(part) <= entry.keys() for entry in document[part])
    assert set(document["balances"]) == {"mouths", "water", "hands"}
    assert {"per_month_p50", "budget_per_month"} <= document["minutes"].keys()
    assert {"what", "checked", "holds_after"} <= document["findings"][0]["remedies"][0].keys()
    assert "max_relative_residual" in document["conservation"]


def test_its_schema_demands_the_keys_that_others_rely_on() -> None:
    schema = forecast_schema()
    assert promised("") <= set(schema["required"])
    assert promised("findings") <= set(schema["$defs"]["finding"]["required"])
    assert promised("animals") <= set(schema["$defs"]["animal"]["required"])


def test_it_says_what_the_forecast_says() -> None:
    forecast = world.a_breaking_forecast()
    document = to_document(forecast)
    assert document["schema"] == "backreef.forecast/1"
    assert document["first_break"] == "2027-07-29"
    assert document["balances"]["water"]["share_holding"] == 12 / 64
    assert document["series"]["date"][0] == "2027-01-04"
    assert len(document["series"]["date"]) == len(document["series"]["ph_total"]["p95"]) == 1096
    assert document["series"]["ph_total"]["p50"] == pytest.approx(
        list(forecast.series["ph_total"].p50), rel=1e-5
    )
    assert document["animals"][0]["eats"][0] == {"what": "film algae", "share": 0.81}


def test_it_takes_numbers_of_numpy_for_numbers() -> None:
    plain = world.a_breaking_forecast().findings[0]
    numpy: dict[str, Any] = {"days": np.int64(3), "value": np.float64(0.5), "breaks": np.True_}
    forecast = replace(world.a_minimal_forecast(), findings=(replace(plain, **numpy),))
    finding = json.loads(to_json(forecast))["findings"][0]
    assert (finding["days"], finding["value"]) == (3, 0.5)
    assert finding["breaks"] is True


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        (("schema",), "backreef.forecast/2"),
        (("share_holding",), 1.2),
        (("first_break",), "29 July 2027"),
        (("balances", "water"), None),
        (("series", "date"), []),
        (("findings", 0, "balance"), "money"),
    ],
)
def test_its_schema_refuses_what_is_not_a_forecast(path: tuple[str | int, ...], wrong: object) -> None:
    short = replace(world.a_minimal_forecast(), findings=world.a_breaking_forecast().findings)
    document: Any = to_document(short)
    place = document
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = wrong
    assert list(validator().iter_errors(document))
