"""A forecast as plain data for JSON, in the shape of `data/forecast.schema.json`."""

from __future__ import annotations

import json
import math
from datetime import date
from importlib import resources
from typing import Any, cast

import numpy as np

from backreef.judgement.verdict import AnimalOutcome, Band, Finding, FloatArray, Forecast

SCHEMA = "backreef.forecast/1"
_DIGITS = 6

Json = Any


def to_document(forecast: Forecast) -> dict[str, Json]:
    """The whole forecast as dicts, lists, strings and numbers; what is not known is null, never NaN."""
    return {
        "schema": SCHEMA,
        "holds": forecast.holds,
        "share_holding": _number(forecast.share_holding),
        "share_holding_interval": [_number(forecast.share_low), _number(forecast.share_high)],
        "first_break": _date(forecast.first_break),
        "first_break_cause": forecast.first_break_cause or None,
        "plan": _plan(forecast),
        "balances": {
            b.name: {
                "holds": b.holds,
                "share_holding": _number(b.share_holding),
                "first_break": _date(b.first_break),
                "cause": b.cause or None,
            }
            for b in forecast.balances
        },
        "first_breaks": [_date(on) for on in forecast.first_breaks],
        "findings": [_finding(f) for f in forecast.findings],
        "animals": [_animal(a) for a in forecast.animals],
        "minutes": _minutes(forecast),
        "series": _series(forecast),
        "water_bands": [_fields(b) for b in forecast.water_bands],
        "additions": [_fields(a) for a in forecast.additions],
        "meals": [
            {
                "id": m.id,
                "label": m.label,
                "by": m.by,
                "grams_as_fed_per_day": _numbers(m.grams_as_fed_per_day),
                "eaten_share_p50": _number(m.eaten_share_p50),
            }
            for m in forecast.meals
        ],
        "present": [bool(p) for p in forecast.present],
        "away": [_fields(a) for a in forecast.away],
        "crew": [_fields(c) for c in forecast.crew],
        "crew_sizes": [
            _fields(c)
            | {
                "starving_share_by_year": [_number(each) for each in c.starving_share_by_year],
                "seasons": [_fields(season) for season in c.seasons],
            }
            for c in forecast.crew_sizes
        ],
        "fasting": [_fields(f) for f in forecast.fasting],
        "rations": [_fields(r) for r in forecast.rations],
        "feeders": [
            _fields(f)
            | {
                "refills": [on.isoformat() for on in f.refills],
                "batteries": [on.isoformat() for on in f.batteries],
            }
            for f in forecast.feeders
        ],
        "gaps": [_fields(g) for g in forecast.gaps],
        "shopping": [_fields(s) | {"trips": [on.isoformat() for on in s.trips]} for s in forecast.shopping],
        "food_price": None if forecast.food_price is None else _fields(forecast.food_price),
        "fluxes": [_fields(f) for f in forecast.fluxes],
        "conservation": {
            "max_relative_residual": _number(forecast.conservation_residual),
            "by_element": {name: _number(value) for name, value in forecast.conservation_by_element.items()},
        },
        "assumptions": [_fields(a) for a in forecast.assumptions],
        "sources": list(forecast.sources),
        "cautions": list(forecast.cautions),
        "notices": list(forecast.notices),
    }


def to_json(forecast: Forecast) -> str:
    """The document as JSON text with a line break at its end."""
    return json.dumps(to_document(forecast), ensure_ascii=False, allow_nan=False) + "\n"


def forecast_schema() -> dict[str, Json]:
    """The JSON Schema of the document."""
    path = resources.files("backreef.reports") / "data" / "forecast.schema.json"
    return cast("dict[str, Json]", json.loads(path.read_text(encoding="utf-8")))


def _plan(forecast: Forecast) -> dict[str, Json]:
    return {
        "name": forecast.plan_name,
        "file": forecast.plan_file,
        "story": forecast.story,
        "start_on": _date(forecast.start_on),
        "days": forecast.days,
        "members": forecast.members,
        "seed": forecast.seed,
        "engine": forecast.engine,
    }


def _finding(finding: Finding) -> dict[str, Json]:
    return {**_fields(finding), "remedies": [_fields(r) for r in finding.remedies]}


def _animal(animal: AnimalOutcome) -> dict[str, Json]:
    return {
        **_fields(animal),
        "eats": [{"what": what, "share": _number(share)} for what, share in animal.eats],
        "losses": [_fields(loss) for loss in animal.losses],
        "condition": _band(animal.condition),
        "energy_met": _band(animal.energy_met),
    }


def _minutes(forecast: Forecast) -> dict[str, Json]:
    minutes = forecast.minutes
    return {
        **_fields(minutes),
        "by_chore": [_fields(line) for line in minutes.by_chore],
        "by_month": [_fields(line) for line in minutes.by_month],
        "needs_somebody": [day.isoformat() for day in minutes.needs_somebody],
        "marginal": [_fields(line) for line in minutes.marginal],
        "logged": [_fields(line) for line in minutes.logged],
        "logged_by_month": [_fields(line) for line in minutes.logged_by_month],
        "failures": [_fields(line) for line in minutes.failures],
    }


def _series(forecast: Forecast) -> dict[str, Json]:
    dates: dict[str, Json] = {"date": [day.isoformat() for day in forecast.dates]}
    return dates | {name: _band(band) for name, band in forecast.series.items()}


def _fields(entry: object) -> dict[str, Json]:
    """The plain fields of a dataclass; nested ones and arrays are left to the caller."""
    names = [name for kind in type(entry).__mro__ for name in getattr(kind, "__slots__", ())]
    return {name: plain for name in names if (plain := _plain(getattr(entry, name))) is not _SKIPPED}


def _plain(value: object) -> Json:
    if isinstance(value, np.generic):
        value = value.item()
    if value is None or isinstance(value, bool | str | int):
        return value
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple) and all(isinstance(item, str) for item in value):
        return list(value)
    return _SKIPPED


_SKIPPED = object()


def _band(band: Band) -> dict[str, Json]:
    return {"p05": _numbers(band.p05), "p50": _numbers(band.p50), "p95": _numbers(band.p95)}


def _numbers(values: FloatArray) -> list[float | None]:
    return [_number(float(value)) for value in values]


def _number(amount: Json) -> float | None:
    """The number with six significant digits; null where it is not known."""
    if amount is None or not math.isfinite(amount):
        return None
    return float(f"{amount:.{_DIGITS}g}")


def _date(on: date | None) -> str | None:
    return None if on is None else on.isoformat()
