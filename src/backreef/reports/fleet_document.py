"""A fleet as plain data for JSON, in the shape of `data/fleet.schema.json`."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import date
from importlib import resources
from typing import Any, cast

from backreef.planning.rounds import Stop
from backreef.usecases.fleet import Fleet
from backreef.usecases.fleet_tank import TankWeek

SCHEMA = "backreef.fleet/1"
Json = Any


def fleet_document(found: Fleet) -> dict[str, Json]:
    """The fleet as dicts, lists, numbers and strings."""
    return {
        "schema": SCHEMA,
        "week_from": found.week_from.isoformat(),
        "members": found.members,
        "seed": found.seed,
        "holds": found.holds,
        "tanks": [_tank(one) for one in found.tanks],
        "carers": [
            {
                "carer": one.carer,
                "proven": one.rounds.proven,
                "visits": [_stop(stop, found) for stop in one.rounds.stops],
            }
            for one in found.carers
        ],
        "faults": [asdict(fault) for fault in found.faulty],
        "without_plan": list(found.without_plan),
    }


def fleet_json(found: Fleet) -> str:
    """The document as JSON text with a line break at its end."""
    return json.dumps(fleet_document(found), ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def fleet_schema() -> dict[str, Json]:
    """The JSON Schema of the document."""
    path = resources.files("backreef.reports") / "data" / "fleet.schema.json"
    return cast("dict[str, Json]", json.loads(path.read_text(encoding="utf-8")))


def _tank(one: TankWeek) -> dict[str, Json]:
    return cast("dict[str, Json]", _plain(asdict(one)))


def _stop(stop: Stop, found: Fleet) -> dict[str, Json]:
    return {
        "on": found.day(stop.day).isoformat(),
        "tank": stop.tank,
        "minutes": stop.minutes,
        "work": [{"what": job.what, "minutes": job.minutes, "look": job.look} for job in stop.jobs],
    }


def _plain(value: Json) -> Json:
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value.isoformat() if isinstance(value, date) else value
