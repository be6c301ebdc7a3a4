"""A working as plain data for JSON, in the shape of `data/why.schema.json`."""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib import resources
from typing import Any, cast

from backreef.judgement.elasticity import Elasticities
from backreef.judgement.tornado import Tornado
from backreef.usecases.why import SCHEMA, Working
from backreef.working.tree import Node

Json = Any


def why_document(working: Working) -> dict[str, Json]:
    """The working as dicts, lists, numbers and strings; the first of `nodes` is the figure itself."""
    return {
        "schema": SCHEMA,
        "plan": working.plan_name,
        "file": working.plan_file,
        "figure": working.figure,
        "title": working.title,
        "on": None if working.on is None else working.on.isoformat(),
        "value": working.value,
        "unit": working.tree.root.about.unit,
        "shown": working.shown,
        "members": working.members,
        "seed": working.seed,
        "nodes": [_node(node) for node in working.tree.nodes],
        "sources": dict(working.sources),
        "moved": [asdict(each) for each in working.moved],
        "tornado": None if working.tornado is None else _tornado(working.tornado),
        "beside": [asdict(one) for one in working.beside],
        "elasticities": None if working.elasticities is None else _elasticities(working.elasticities),
    }


def why_json(working: Working) -> str:
    """The document as JSON text with a line break at its end."""
    return json.dumps(why_document(working), ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def why_schema() -> dict[str, Json]:
    """The JSON Schema of the document."""
    path = resources.files("backreef.reports") / "data" / "why.schema.json"
    return cast("dict[str, Json]", json.loads(path.read_text(encoding="utf-8")))


def _tornado(found: Tornado) -> dict[str, Json]:
    return {
        "inputs": found.inputs,
        "members": found.members,
        "luck_ratio": found.luck_ratio,
        "same_in_all": found.same_in_all,
        "bars": [asdict(bar) for bar in found.bars],
    }


def _elasticities(found: Elasticities) -> dict[str, Json]:
    return {"moved": found.moved, "middle": found.middle, "found": [asdict(one) for one in found.found]}


def _node(node: Node) -> dict[str, Json]:
    about = node.about
    return {
        "id": node.id,
        "symbol": about.symbol,
        "key": about.key,
        "what": about.what,
        "kind": about.kind,
        "value": node.value,
        "unit": about.unit,
        "low": about.low,
        "high": about.high,
        "formula": node.formula or None,
        "inputs": dict(node.inputs),
        "given": dict(about.given),
        "source": about.source,
        "place": about.place,
        "status": about.status,
        "validity": about.validity,
        "on": None if about.on is None else about.on.isoformat(),
        "members": about.members,
    }
