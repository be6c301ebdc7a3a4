"""What pydantic found wrong, as faults in our own words: file, line, key, what was found, what is allowed."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from backreef.aquarium.document import Table
from backreef.aquarium.fields import shown
from backreef.aquarium.limits import all_keys, limit
from backreef.aquarium.places import Path, find_lines, line_of
from backreef.errors import Fault, InputFaults

_MUST_BE = {
    "string_type": "a text in quotes",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false, without quotes",
    "list_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}
_IDS = "small letters, digits and underscores, beginning with a letter"


class Faults:
    """Collects the faults of one file; lines are looked up only when there is a fault."""

    def __init__(self, *, file: str, text: str) -> None:
        self.file = file
        self.text = text
        self._found: dict[tuple[Path, str], None] = {}
        self._letters: dict[Path, str] = {}
        """Ids in letters that no id has; told where nothing else is said of the key."""
        self._hints = int(limit("hints"))

    def add(self, path: Path, message: str) -> None:
        """One more fault at this key."""
        self._found[path, message] = None

    def may_hint(self) -> bool:
        """Whether one more near match may be looked for; a file of nothing but slips is not worth it."""
        self._hints -= 1
        return self._hints >= 0

    def add_refusals(self, error: ValidationError, document: Table) -> None:
        """All that the schema refused, at the keys that were written."""
        for detail in error.errors(include_url=False):
            path = _written(_path(detail), document)
            if detail["type"] == "string_pattern_mismatch":
                self._letters[path] = _message(detail, path, hint=False)
                continue
            hint = detail["type"] in ("extra_forbidden", "literal_error") and self.may_hint()
            self.add(path, _message(detail, path, hint=hint))

    def raise_any(self) -> None:
        """Raise them together, in the order of their lines, if there are any."""
        for path, message in self._letters.items():
            if path not in {known for known, _ in self._found}:
                self.add(path, message)
        if not self._found:
            return
        lines = find_lines(self.text)
        faults = [
            Fault(file=self.file, line=line_of(lines, path), key=key_text(path), message=message)
            for path, message in self._found
        ]
        faults.sort(key=lambda fault: (fault.line or 0, fault.key, fault.message))
        most = int(limit("faults"))
        if len(faults) > most:
            more = Fault(
                file=self.file,
                line=None,
                key="",
                message=f"and {len(faults) - most} more faults; mend these first",
            )
            faults = [*faults[:most], more]
        raise InputFaults(faults)


def key_text(path: Path) -> str:
    """The path as people write it: animals[0].count, the first entry being 0."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def generic_key(path: Path) -> str:
    """The path as the table of keys has it: animals[].count."""
    text = ""
    for part in path:
        text += "[]" if isinstance(part, int) else f".{part}" if text else part
    return text


def near(word: str, allowed: Iterable[str]) -> str:
    """'; did you mean …?' where one of the allowed words is near."""
    close = difflib.get_close_matches(str(word)[:60], list(allowed), n=1, cutoff=0.7)
    return f"; did you mean '{close[0]}'?" if close else ""


def _path(detail: ErrorDetails) -> Path:
    """Where it is, without the names that pydantic gives to the arms of a choice."""
    arms = {"[key]", "str", "float"}
    return tuple(part for part in detail["loc"] if part not in arms)


def _written(path: Path, document: Table) -> Path:
    """The path without what a text stands for: a display of '300 L' has no key `volume` of its own."""
    node: object = document
    for depth, part in enumerate(path):
        if not isinstance(node, dict | list):
            return path[:depth]
        try:
            node = node[part]  # type: ignore[index]
        except (KeyError, IndexError):
            return path
    return path


def _message(detail: ErrorDetails, path: Path, *, hint: bool) -> str:
    kind, found, context = detail["type"], detail["input"], detail.get("ctx", {})
    if kind == "said":
        return str(context["message"])
    if kind == "missing":
        return _missing(path)
    if kind == "extra_forbidden":
        return _unknown(path) if hint else "is no key that is known here"
    if kind in _MUST_BE:
        return f"found {_brief(found)}, but this must be {_MUST_BE[kind]}{_example(path)}"
    return _value_message(kind, found, context, path)


def _value_message(kind: str, found: object, context: dict[str, Any], path: Path) -> str:
    """Of the right type, but not allowed."""
    if kind == "literal_error":
        words = [word.strip("' ") for word in str(context["expected"]).replace(" or ", ",").split(",")]
        return f"found {_brief(found)}, but this must be one of {', '.join(words)}{near(str(found), words)}"
    if kind in ("greater_than_equal", "less_than_equal"):
        row = all_keys()[generic_key(path)]
        return f"found {_brief(found)}, but this lies between {row.lowest:g} and {row.highest:g}"
    if kind == "too_long":
        return f"has {context['actual_length']} entries, but at most {context['max_length']} are read"
    if kind == "string_too_long":
        return f"is longer than {context['max_length']} letters"
    if kind == "string_pattern_mismatch":
        return f"found {_brief(found)}, but an id is written in {_IDS}"
    return f"found {_brief(found)}: {context or kind}"


def _brief(found: object) -> str:
    if isinstance(found, dict):
        return "a table"
    if isinstance(found, list):
        return "a list"
    if isinstance(found, bool):
        return str(found).lower()
    return shown(found)


def _example(path: Path) -> str:
    row = all_keys().get(generic_key(path))
    return f", as {row.example}" if row is not None and row.example else ""


def _missing(path: Path) -> str:
    return f"is missing; write it{_example(path)}"


def _unknown(path: Path) -> str:
    """The key that is not known, with the nearest or all that are."""
    parent = generic_key(path[:-1])
    prefix = f"{parent}." if parent else ""
    allowed = [
        key.removeprefix(prefix)
        for key in all_keys()
        if key.startswith(prefix)
        and "." not in key.removeprefix(prefix)
        and "[]" not in key.removeprefix(prefix)
    ]
    hint = near(str(path[-1]), allowed)
    where = "the top of the file"
    if parent:
        where = f"[[{parent.removesuffix('[]')}]]" if parent.endswith("[]") else f"[{parent}]"
    if hint:
        return f"is no key of {where}{hint}"
    if len(path) == 1 and (inside := [key for key in all_keys() if key.endswith(f".{path[-1]}")]):
        return (
            f"is no key of the top of the file; it belongs into [{inside[0].rpartition('.')[0].rstrip('[]')}]"
        )
    return f"is no key of {where}; allowed are {', '.join(sorted(allowed))}"
