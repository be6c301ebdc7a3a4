"""What is wrong with the documents of a catalogue folder, said as one fault for each mistake."""

from __future__ import annotations

import dataclasses
import difflib
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, TypeGuard

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from backreef.catalogue.entries import Catalogue
from backreef.catalogue.files import Document, Folder, line_of
from backreef.catalogue.schema import TAGS, model_of, source_model
from backreef.catalogue.tables import fields, guilds, tokens
from backreef.errors import Fault

SOURCES = "sources.toml"
WHOLE_PERCENT = 100.0


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What entries may refer to."""

    sources: frozenset[str]
    guilds: frozenset[str]


def document_faults(
    documents: Mapping[str, Document], *, folder: Folder, known: Catalogue | None
) -> list[Fault]:
    """Every mistake in the documents: shape, numbers, and names that mean nothing."""
    shipped = frozenset() if known is None else frozenset(known.sources)
    refers = Known(sources=shipped | frozenset(documents.get(SOURCES, {})), guilds=frozenset(guilds()))
    faults: list[Fault] = []
    for name, document in documents.items():
        faults += [
            Fault(
                file=folder.shown(name),
                line=line_of(folder.texts[name], key.partition(".")[0]),
                key=key,
                message=message,
            )
            for key, message in _mistakes(name, document, refers)
        ]
    return faults


def _mistakes(name: str, document: Document, refers: Known) -> Iterator[tuple[str, str]]:
    """Key and message of everything wrong with one document."""
    if name == SOURCES:
        for key, entry in document.items():
            yield from (
                (f"{key}.{inner}" if inner else key, text) for inner, text in _shape(source_model(), entry)
            )
        return
    kind = name.partition("/")[0]
    yield from _shape(model_of(kind), document)
    yield from _identity(name, document)
    for key, entry in document.items():
        if isinstance(entry, dict) and key in fields():
            yield from ((key, message) for message in _number_mistakes(key, entry, refers))
    yield from _references(kind, document, refers)


def _identity(name: str, document: Document) -> Iterator[tuple[str, str]]:
    ident = document.get("id")
    if isinstance(ident, str) and ident != Path(name).stem:
        yield "id", f"is '{ident}', but the file is called '{Path(name).name}'; give both the same name"


def _number_mistakes(key: str, entry: Mapping[str, Any], refers: Known) -> Iterator[str]:
    """What is wrong with one number."""
    given = {part: entry.get(part) for part in ("low", "value", "high")}
    numbers = {part: number for part, number in given.items() if _is_finite(number)}
    field = fields()[key]
    for part, number in numbers.items():
        if not field.lowest <= number <= field.highest:
            yield f"has {part} {number:g}, but {_believable(key)}; {_meant(key, number / WHOLE_PERCENT)}"
    if list(numbers.values()) != sorted(numbers.values()):
        shown = ", ".join(f"{part} {number:g}" for part, number in numbers.items())
        yield f"holds {shown}; low, value and high have to rise in this order"
    if ("low" in numbers) != ("high" in numbers):
        yield "has only one bound; give low and high, or neither"
    if entry.get("status") == "published" and not entry.get("place"):
        yield "is published, but says no place; name the page, table, equation or column in 'place'"
    for source in _listed(entry.get("source")):
        if source not in refers.sources:
            yield _unknown_word("source", source, refers.sources, "add it to sources.toml")


def _is_finite(number: object) -> TypeGuard[float]:
    return isinstance(number, int | float) and not isinstance(number, bool) and math.isfinite(number)


def _believable(key: str) -> str:
    field = fields()[key]
    unit = f" {field.unit}" if field.unit else ""
    return f"{field.meaning} lies between {field.lowest:g} and {field.highest:g}{unit}"


def _meant(key: str, as_share_frac: float) -> str:
    """What to do about a number that is not believable; it may have been meant in percent."""
    if key.endswith("_frac") and fields()[key].lowest <= as_share_frac <= fields()[key].highest:
        return f"did you mean {as_share_frac:g}?"
    return "check the number and its unit"


def _references(kind: str, document: Document, refers: Known) -> Iterator[tuple[str, str]]:
    """Names of guilds, sources and tokens that do not exist."""
    guild = document.get("guild")
    if kind == "species" and isinstance(guild, str) and guild not in refers.guilds:
        yield "guild", _unknown_word("guild", guild, refers.guilds, "see guilds.csv")
    for key, known, where in (
        ("sources", refers.sources, "add it to sources.toml"),
        ("fits", refers.guilds, "see guilds.csv"),
        ("fights_with", frozenset(tokens()), "see tokens.toml"),
        ("eats", frozenset(tokens()), "see tokens.toml"),
        ("eaten_by", frozenset(tokens()), "see tokens.toml"),
        ("tags", frozenset(tokens()) | frozenset(("fish", "coral")), "see tokens.toml"),
    ):
        for word in document.get(key, []) if isinstance(document.get(key), list) else []:
            free = key == "tags" and str(word).startswith(("genus_", "family_"))
            if isinstance(word, str) and word not in known and not free and word != document.get("kind"):
                yield key, _unknown_word(CALLED.get(key, "token"), word, known, where)


CALLED = {"sources": "source", "fits": "guild"}
"""What the words of a key are, where they are not tokens."""


def _unknown_word(what: str, word: str, known: frozenset[str], where: str) -> str:
    near = difflib.get_close_matches(word, sorted(known), n=1)
    return f"names '{word}', which is no {what} known here; " + (
        f"did you mean '{near[0]}'?" if near else where
    )


def _listed(source: object) -> list[str]:
    return [part.strip() for part in source.split(";")] if isinstance(source, str) else []


def _shape(model: type[BaseModel], document: object) -> Iterator[tuple[str, str]]:
    """Key and message of everything the schema refuses."""
    try:
        model.model_validate(document)
    except ValidationError as refusal:
        for error in refusal.errors(include_url=False):
            path = [str(part) for at, part in enumerate(error["loc"]) if at != 1 or part not in TAGS]
            yield ".".join(path), _said(error, model, path)


INSTEAD = {
    "finite_number": 'a number is finite, an unknown one is written { unknown = "why" }',
    "dict_type": "write pairs in braces",
    "model_type": 'write { value = …, source = "…", status = "…" } or { unknown = "why" }',
    "float_type": "write a number without quotes",
    "int_type": "write a whole number",
    "string_type": "write text in quotes",
    "list_type": "write a list in brackets",
    "bool_type": "write true or false",
}
"""Kind of refusal -> what to write instead of what was found."""


def _said(error: ErrorDetails, model: type[BaseModel], path: list[str]) -> str:
    """A refusal of the schema in our words."""
    found = error["input"]
    shown = f"'{found}'" if isinstance(found, str) else f"{found!r}"
    shown = shown if len(shown) <= 60 else f"{shown[:57]}..."  # noqa: PLR2004  a line of a terminal
    match error["type"]:
        case "missing":
            return 'is missing; every key is written down, an unknown number as { unknown = "why" }'
        case "extra_forbidden":
            near = difflib.get_close_matches(path[-1], sorted(model.model_fields), n=1)
            return "is no key known here; " + (f"did you mean '{near[0]}'?" if near else "take it out")
        case "literal_error":
            return f"is {shown}; allowed: {error['ctx']['expected']}"
        case "string_too_short":
            return "is empty; say it in a few words"
        case kind:
            return f"is {shown}; {INSTEAD.get(kind, error['msg'])}"
