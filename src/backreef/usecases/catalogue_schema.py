"""The JSON Schema of catalogue documents, made from the entries so that the two cannot drift apart.

`data/catalogue.schema.json` is its copy for people who want a file.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any, Literal, get_args, get_origin, get_type_hints

from backreef.catalogue.entries import Device, Food, Guild, Quantity, Species, Task, Value
from backreef.catalogue.sources import Source
from backreef.catalogue.tables import fields
from backreef.usecases.catalogue_document import SCHEMA

Json = dict[str, Any]
DIALECT = "https://json-schema.org/draft/2020-12/schema"
_SHELVES = {"species": "species", "foods": "food", "devices": "device", "tasks": "task", "guilds": "guild"}
_KINDS: dict[str, type] = {
    "value": Value,
    "species": Species,
    "food": Food,
    "device": Device,
    "task": Task,
    "guild": Guild,
    "source": Source,
}
_PLAIN: dict[object, Json] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    bool: {"type": "boolean"},
    float: {"type": "number"},
    int | None: {"type": ["integer", "null"]},
    float | None: {"type": ["number", "null"]},
    Value: {"$ref": "#/$defs/value"},
    Quantity: {"anyOf": [{"$ref": "#/$defs/value"}, {"$ref": "#/$defs/unknown"}]},
}


def catalogue_schema() -> Json:
    """The JSON Schema (draft 2020-12) of a catalogue document."""
    shelves: Json = {
        shelf: {"type": "array", "items": {"$ref": f"#/$defs/{kind}"}} for shelf, kind in _SHELVES.items()
    }
    sources = {"type": "object", "additionalProperties": {"$ref": "#/$defs/source"}}
    unknown = _object({"unknown": {"type": "string", "minLength": 1}})
    return {
        "$schema": DIALECT,
        "title": "backreef catalogue, version 1",
        "description": "Animals, foods, devices and tasks, each number with its range, source and status; "
        "`guilds` are those of the animals, `sources` those that are cited, by key.",
        **_object({"schema": {"const": SCHEMA}, **shelves, "sources": sources}),
        "$defs": {
            **{name: _entry(kind) for name, kind in _KINDS.items()},
            "unknown": {"description": "A number nobody here knows, and why.", **unknown},
        },
    }


def _object(properties: Json) -> Json:
    return {
        "type": "object",
        "additionalProperties": False,
        "required": list(properties),
        "properties": properties,
    }


def _entry(kind: type) -> Json:
    hints = get_type_hints(kind)
    names = [field.name for field in dataclasses.fields(kind)]
    return _object({name: {**_described(name), **_of(hints[name])} for name in names})


def _described(name: str) -> Json:
    field = fields().get(name)
    if field is None:
        return {}
    return {"description": f"{field.meaning}{f' [{field.unit}]' if field.unit else ''}"}


def _of(hint: object) -> Json:
    """What a field of this kind is in JSON."""
    origin = get_origin(hint)
    if hint in _PLAIN:
        return _PLAIN[hint]
    if origin is Literal:
        return {"enum": list(get_args(hint))}
    if origin is Mapping:
        return {"type": "object", "additionalProperties": _of(get_args(hint)[1])}
    return {"type": "array", "items": {"type": "string"}}
