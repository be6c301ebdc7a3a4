"""A comparison as plain data for JSON, in the shape of `data/compare.schema.json`."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any, cast

from backreef.reports.document import to_document
from backreef.usecases.compare import Compared, Comparison

SCHEMA = "backreef.compare/1"
FORECAST_KEYS = ("plan", "holds", "share_holding", "first_break", "first_break_cause", "balances", "minutes")
"""What a comparison takes over from the forecast of each plan."""

Json = Any


def compare_document(comparison: Comparison) -> dict[str, Json]:
    """The whole comparison as dicts, lists, strings and numbers; what is not known is null."""
    return {"schema": SCHEMA, "plans": [_plan(compared) for compared in comparison.plans]}


def compare_json(comparison: Comparison) -> str:
    """The document as JSON text with a line break at its end."""
    return json.dumps(compare_document(comparison), ensure_ascii=False, allow_nan=False) + "\n"


def compare_schema() -> dict[str, Json]:
    """The JSON Schema of the document."""
    path = resources.files("backreef.reports") / "data" / "compare.schema.json"
    return cast("dict[str, Json]", json.loads(path.read_text(encoding="utf-8")))


def _plan(compared: Compared) -> dict[str, Json]:
    forecast = to_document(compared.forecast)
    pairing = compared.pairing
    return {
        "letter": compared.letter,
        **{key: forecast[key] for key in FORECAST_KEYS},
        "animals": [
            {key: animal[key] for key in ("id", "species", "count_start", "count_end_p50", "condition_p50")}
            for animal in forecast["animals"]
        ],
        "at_the_end": {
            name: {point: values[-1] for point, values in band.items()}
            for name, band in forecast["series"].items()
            if name != "date"
        },
        "differences": [
            {
                "section": one.section,
                "entry": one.entry,
                "key": one.key,
                "first": one.first,
                "other": one.other,
            }
            for one in compared.differences
        ],
        "members": {
            "both_hold": pairing.both_hold,
            "only_first_holds": pairing.only_first_holds,
            "only_other_holds": pairing.only_other_holds,
            "neither_holds": pairing.neither_holds,
        },
    }
