"""The plan file described: a JSON Schema for editors, and the table of all keys for the manual."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from backreef.aquarium.limits import Key, all_keys, range_text
from backreef.aquarium.schema import PlanFile
from backreef.units import written_units

JsonValue = dict[str, Any]
DIALECT = "https://json-schema.org/draft/2020-12/schema"
_LISTS = ("animals", "meals", "upkeep", "devices")


def plan_schema() -> JsonValue:
    """The JSON Schema (draft 2020-12) of a plan file, each key with its description and an example.

    TOML dates are strings of the format `date` here, as editors of TOML take them.
    """
    schema = PlanFile.model_json_schema()
    definitions: JsonValue = schema.pop("$defs")
    described = _described(schema, path="", definitions=definitions)
    return {
        "$schema": DIALECT,
        "title": "backreef plan",
        "description": "A plan of a reef aquarium.",
        **described,
    }


def _described(node: JsonValue, *, path: str, definitions: JsonValue) -> JsonValue:
    """The node with definitions put in place, without nulls and titles, with descriptions."""
    if "$ref" in node:
        node = definitions[node["$ref"].rpartition("/")[2]]
    if "anyOf" in node:
        arms = [arm for arm in node["anyOf"] if arm != {"type": "null"}]
        if len(arms) == 1:
            return _described(arms[0], path=path, definitions=definitions)
        return {"anyOf": arms}
    left_out = ("title", "default", "description", "properties", "items", "additionalProperties")
    found = {key: value for key, value in node.items() if key not in left_out}
    if "properties" in node:
        found["properties"] = {
            name: _property(value, path=f"{path}.{name}" if path else name, definitions=definitions)
            for name, value in node["properties"].items()
        }
        found["additionalProperties"] = False
    elif isinstance(node.get("additionalProperties"), dict):
        found["additionalProperties"] = _described(
            node["additionalProperties"], path=f"{path}[]", definitions=definitions
        )
    if "items" in node:
        found["items"] = _described(node["items"], path=f"{path}[]", definitions=definitions)
    return found


def _property(node: JsonValue, *, path: str, definitions: JsonValue) -> JsonValue:
    found = _described(node, path=path, definitions=definitions)
    if path == "tank.display":
        found = {"anyOf": [{"type": "string"}, found]}
    key = all_keys()[path]
    described: JsonValue = {"description": key.doc}
    if key.example:
        described["examples"] = [key.example.strip('"')]
    return {**described, **found}


def schema_paths(schema: JsonValue, path: str = "") -> Iterator[str]:
    """The path of every key of a schema, as the table of keys has them."""
    for name, value in schema.get("properties", {}).items():
        below = f"{path}.{name}" if path else name
        yield below
        for arm in (value, *value.get("anyOf", ())):
            yield from schema_paths(arm, below)
            yield from schema_paths(arm.get("items", {}), f"{below}[]")
            if isinstance(arm.get("additionalProperties"), dict):
                yield from schema_paths(arm["additionalProperties"], f"{below}[]")


def keys_table() -> str:
    """Every key of the plan file in Markdown, section by section."""
    sections: dict[str, list[Key]] = {}
    for key in all_keys().values():
        sections.setdefault(_section(key.key), []).append(key)
    return "\n".join(_section_text(name, keys) for name, keys in sections.items())


def _section(key: str) -> str:
    """The table a key stands in: its parent, or itself where it is a section."""
    parent, _, name = key.rpartition(".")
    if not parent:
        return key if any(other.startswith((f"{name}.", f"{name}[]")) for other in all_keys()) else ""
    return parent.removesuffix("[]") if parent.removesuffix("[]") in _LISTS else parent


def _section_text(name: str, keys: list[Key]) -> str:
    header = f"[[{name}]]" if name in _LISTS else f"[{name}]" if name else "the top of the file"
    lines = [f"### {header if not name else f'`{header}`'}", ""]
    own = all_keys().get(name)
    if own is not None:
        lines += [own.doc, ""]
    lines += ["| key | example | what it says | unit and range |", "| --- | --- | --- | --- |"]
    lines += [_row(key) for key in keys if key.key != name]
    return "\n".join([*lines, ""])


def _row(key: Key) -> str:
    name = key.key.rpartition(".")[2] or key.key
    example = f"`{key.example}`" if key.example else ""
    doc = key.doc.replace("|", "\\|")
    return f"| `{name}` | {example} | {doc} | {_range(key)} |"


def _range(key: Key) -> str:
    between = range_text(key).replace(" and ", " to ")
    if not key.dimension or key.dimension == "none" or not between:
        return between
    return f"{between}; written in {written_units(key.dimension)}"
