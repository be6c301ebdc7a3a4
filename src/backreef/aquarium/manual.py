"""The plan file described: a JSON Schema for editors, and the table of all keys for the manual."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from backreef.aquarium.limits import Key, all_keys, range_text
from backreef.aquarium.schema import PlanFile
from backreef.units import all_units

JsonValue = dict[str, Any]
KEYS_BEGIN = "<!-- keys: written by python -m backreef.aquarium.manual docs/plan-file.md -->"
KEYS_END = "<!-- end of keys -->"
DIALECT = "https://json-schema.org/draft/2020-12/schema"
_LISTS = ("animals", "meals", "foods", "upkeep", "devices")


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
    described = [_section_text(name, keys) for name, keys in sections.items()]
    return "\n".join([*described, _units_table()])


def _units_table() -> str:
    """How the quantities of each dimension may be written."""
    lines = ["### Units", "", "| what | written in |", "| --- | --- |"]
    for dimension in dict.fromkeys(unit.dimension for unit in all_units()):
        units = [unit for unit in all_units() if unit.dimension == dimension]
        written = ", ".join(f"`{unit.written[0]}` ({unit.meaning})" for unit in units)
        lines.append(f"| {dimension.replace('_', ' ')} | {written} |")
    return "\n".join([*lines, ""])


def _section(key: str) -> str:
    """The table a key stands in: its parent, or itself where it is a section."""
    parent, _, name = key.rpartition(".")
    if not parent:
        return key if any(other.startswith((f"{name}.", f"{name}[]")) for other in all_keys()) else ""
    return parent.removesuffix("[]") if parent.removesuffix("[]") in _LISTS else parent


def _section_text(name: str, keys: list[Key]) -> str:
    lines = [f"### {_header(name)}", ""]
    own = all_keys().get(name)
    if own is not None:
        lines += [own.doc, ""]
    lines += ["| key | example | what it says | believed between |", "| --- | --- | --- | --- |"]
    lines += [_row(key) for key in keys if key.key != name]
    return "\n".join([*lines, ""])


def _header(name: str) -> str:
    """The heading of a section, as it is written in a plan where it has a heading there."""
    if not name:
        return "The top of the file"
    if name.endswith("[]"):
        inner = name.removesuffix("[]")
        return (
            "`[goals.bands.nitrate]` and its like" if inner == "goals.bands" else f"Each entry of `{inner}`"
        )
    if "[]." in name:
        above, _, below = name.partition("[].")
        return f"What `{below}` of `[[{above}]]` may be"
    return f"`[[{name}]]`" if name in _LISTS else f"`[{name}]`"


def _row(key: Key) -> str:
    name = key.key.rpartition(".")[2] or key.key
    example = f"`{key.example}`" if key.example else ""
    doc = key.doc.replace("|", "\\|")
    return f"| `{name}` | {example} | {doc} | {_range(key)} |"


def _range(key: Key) -> str:
    return range_text(key).replace(" and ", " to ")


def refresh_manual(path: Path) -> None:
    """Write the table of all keys anew between its marks in a file."""
    text = path.read_text(encoding="utf-8")
    before, _, rest = text.partition(KEYS_BEGIN)
    after = rest.partition(KEYS_END)[2]
    path.write_text(f"{before}{KEYS_BEGIN}\n\n{keys_table()}\n{KEYS_END}{after}", encoding="utf-8")


if __name__ == "__main__":
    refresh_manual(Path(sys.argv[1]))
