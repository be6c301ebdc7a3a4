"""The result of a check as plain data for JSON, in the shape of `data/check.schema.json`."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any, cast

from backreef.company.findings import CheckFinding
from backreef.company.order import Step
from backreef.errors import Fault
from backreef.usecases.check import SCHEMA, CheckResult

Json = Any


def check_document(result: CheckResult) -> dict[str, Json]:
    """The faults and findings of a plan file as dicts, lists and strings."""
    return {
        "schema": SCHEMA,
        "file": result.file,
        "ok": result.ok,
        "plan": None if result.plan is None else result.plan.name,
        "faults": [fault_fields(fault) for fault in result.faults],
        "findings": [_finding(finding) for finding in result.findings],
        "additions": [_step(step) for step in result.steps],
    }


def fault_fields(fault: Fault) -> dict[str, Json]:
    """One fault as plain data."""
    return {"file": fault.file, "line": fault.line, "key": fault.key, "message": fault.message}


def document_schema(name: str) -> dict[str, Json]:
    """The JSON Schema of a document: check or catalogue."""
    path = resources.files("backreef.usecases") / "data" / f"{name}.schema.json"
    return cast("dict[str, Json]", json.loads(path.read_text(encoding="utf-8")))


def json_text(document: Json) -> str:
    """The document as JSON text with a line break at its end."""
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def _step(step: Step) -> dict[str, Json]:
    return {
        "on": step.on.isoformat(),
        "animal": step.entry_id,
        "who": step.who,
        "gate": step.gate,
        "gate_in_plan": step.gate_in_plan,
        "stage": step.stage,
        "why_here": step.why_here,
        "leads": [
            {"what": lead.what, "begins_on": lead.begins_on.isoformat(), "in_time": lead.in_time}
            for lead in step.leads
        ],
        "alive_after_a_year_share": step.alive_share_p50,
        "alive_after_a_year_share_low": step.alive_share_low,
        "alive_after_a_year_share_high": step.alive_share_high,
        "out_of_quarantine_share": _middle(step.out_of_quarantine_shares),
        "more_food_frac": step.more_food_frac,
    }


def _middle(shares: tuple[float, float, float] | None) -> float | None:
    return None if shares is None else shares[1]


def _finding(finding: CheckFinding) -> dict[str, Json]:
    return {
        "id": finding.id,
        "balance": finding.balance,
        "weight": finding.weight,
        "who": finding.who,
        "what": finding.what,
        "why": finding.why,
        "source": finding.source,
        "status": finding.status,
        "condition": finding.condition,
        "remedies": list(finding.remedies),
        "from": None if finding.from_on is None else finding.from_on.isoformat(),
    }
