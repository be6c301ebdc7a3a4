"""A rehearsal as plain data for JSON, in the shape of `data/rehearse.schema.json`."""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib import resources
from typing import Any, cast

from backreef.judgement.rehearsal import HourLine, Mishap, Outcome, Rehearsal

SCHEMA = "backreef.rehearse/1"
_DIGITS = 5
Json = Any


def rehearsal_document(rehearsal: Rehearsal) -> dict[str, Json]:
    """The rehearsal as dicts, lists, numbers and strings; mishaps are its `faults`."""
    return {
        "schema": SCHEMA,
        "plan": rehearsal.plan_name,
        "file": rehearsal.plan_file,
        "from": rehearsal.first_on.isoformat(),
        "to": rehearsal.until_on.isoformat(),
        "members": rehearsal.members,
        "seed": rehearsal.seed,
        "holds": rehearsal.holds,
        "nothing_wrong": _outcome(rehearsal.nothing_wrong),
        "nobody_there_for": list(rehearsal.nobody_there_for),
        "faults": [_mishap(mishap) for mishap in rehearsal.mishaps],
        "advice": [
            {**asdict(each), "against": list(each.against), "chance_unknown": list(each.chance_unknown)}
            for each in rehearsal.advice
        ],
    }


def rehearsal_json(rehearsal: Rehearsal) -> str:
    """The document as JSON text with a line break at its end."""
    return json.dumps(rehearsal_document(rehearsal), ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def rehearsal_schema() -> dict[str, Json]:
    """The JSON Schema of the document."""
    path = resources.files("backreef.reports") / "data" / "rehearse.schema.json"
    return cast("dict[str, Json]", json.loads(path.read_text(encoding="utf-8")))


def _outcome(outcome: Outcome) -> dict[str, Json]:
    fields = asdict(outcome)
    del fields["found_as"]
    return {
        **fields,
        "extremes": dict(outcome.extremes),
        "found": list(outcome.found),
        "line": None if outcome.line is None else _line(outcome.line),
    }


def _line(line: HourLine) -> dict[str, Json]:
    return {
        name: [_rounded(each) for each in value] if isinstance(value, tuple) else value
        for name, value in asdict(line).items()
    }


def _rounded(amount: Json) -> float | None:
    return None if amount is None else float(f"{amount:.{_DIGITS}g}")


def _mishap(mishap: Mishap) -> dict[str, Json]:
    return {
        "id": mishap.id,
        "what": mishap.what,
        "begins_at": mishap.begins_at.isoformat(timespec="minutes"),
        "lasts_h": mishap.lasts_h,
        "chance": asdict(mishap.chance),
        "chance_from": mishap.chance_from,
        **_outcome(mishap.outcome),
        "mitigations": [asdict(each) for each in mishap.mitigations],
    }
