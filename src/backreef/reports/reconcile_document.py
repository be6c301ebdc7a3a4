"""A reconciliation as plain data for JSON, in the shape of `data/reconcile.schema.json`."""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib import resources
from typing import Any, cast

from backreef.calibration.outcome import Alarm, Outlook, Questioned, Reconciled, Seen, ToDo, WaterAhead
from backreef.judgement.verdict import Band

SCHEMA = "backreef.reconcile/1"
DIGITS = 6
Json = Any


def reconcile_document(found: Reconciled) -> dict[str, Json]:
    """The reconciliation as dicts, lists, numbers and strings."""
    return {
        "schema": SCHEMA,
        "plan": found.plan_name,
        "file": found.plan_file,
        "start_on": found.start_on.isoformat(),
        "first_reading_on": found.first_reading_on.isoformat(),
        "last_reading_on": found.last_on.isoformat(),
        "until_on": found.until_on.isoformat(),
        "members": found.members,
        "seed": found.seed,
        "fit": asdict(found.origin) | {"fitted_on": found.origin.fitted_on.isoformat()},
        "holds": found.holds,
        "readings": [_seen(one) for one in found.readings],
        "questioned": [_questioned(one) for one in found.questioned],
        "entered": list(found.entered),
        "left_out": [asdict(one) | {"on": one.on.isoformat()} for one in found.left_out],
        "parameters": [asdict(one) for one in found.moved],
        "tangled": [asdict(one) for one in found.tangled],
        "water_ahead": [_water(one) for one in found.water],
        "alarms": [_alarm(one) for one in found.alarms],
        "next_readings": [asdict(one) for one in found.next_readings],
        "week_from": found.week_from.isoformat(),
        "this_week": [_to_do(one) for one in found.this_week],
        "gates": [asdict(one) | {"planned_on": one.planned_on.isoformat()} for one in found.gates],
        "ahead": {
            one.series: {"planned": asdict(one.ahead_planned), "fitted": asdict(one.ahead_fitted)}
            for one in found.outlooks
        },
        "series": {"date": [on.isoformat() for on in found.dates]}
        | {one.series: _outlook(one) for one in found.outlooks},
        "notices": list(found.notices),
    }


def reconcile_json(found: Reconciled) -> str:
    """The document as JSON text with a line break at its end."""
    return json.dumps(reconcile_document(found), ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def reconcile_schema() -> dict[str, Json]:
    """The JSON Schema of the document."""
    path = resources.files("backreef.reports") / "data" / "reconcile.schema.json"
    return cast("dict[str, Json]", json.loads(path.read_text(encoding="utf-8")))


def _seen(one: Seen) -> dict[str, Json]:
    fields = asdict(one) | {"on": one.on.isoformat()}
    del fields["at_d"]
    return fields


def _questioned(one: Questioned) -> dict[str, Json]:
    return asdict(one) | {"on": one.on.isoformat()}


def _water(one: WaterAhead) -> dict[str, Json]:
    return asdict(one) | {"first_on": None if one.first_on is None else one.first_on.isoformat()}


def _alarm(one: Alarm) -> dict[str, Json]:
    suspects = [asdict(each) | {"since_on": each.since_on.isoformat()} for each in one.suspects]
    return asdict(one) | {"since_on": one.since_on.isoformat(), "suspects": suspects}


def _to_do(one: ToDo) -> dict[str, Json]:
    return asdict(one) | {"on": None if one.on is None else one.on.isoformat()}


def _outlook(one: Outlook) -> dict[str, Json]:
    return {"planned": _band(one.planned), "fitted": _band(one.fitted)}


def _band(band: Band) -> dict[str, Json]:
    return {
        point: [float(f"{value:.{DIGITS}g}") for value in getattr(band, point).tolist()]
        for point in ("p05", "p50", "p95")
    }
