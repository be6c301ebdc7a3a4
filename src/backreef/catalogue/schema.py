"""Strict pydantic mirror of the catalogue's files, made from the entries so that the two cannot drift apart.

Only `load` and `json_schema` need it; what it accepts is turned into entries at once.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, Literal, get_args, get_origin, get_type_hints

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag, create_model

from backreef.catalogue.entries import Device, Food, Quantity, Species, Task
from backreef.catalogue.sources import Source, Status

STRICT = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)
KINDS: dict[str, type] = {"species": Species, "foods": Food, "devices": Device, "tasks": Task}
"""Folder -> what its files hold."""
TAGS = frozenset({"value", "unknown", "count", "open"})
"""What pydantic puts into the place of a mistake to say which of two forms it took it for."""


Number = float
"""In the unit that its key ends in."""


class ValueFile(BaseModel):
    """A number as a file writes it; its unit is the last part of the key."""

    model_config = STRICT

    value: Number
    low: Number | None = None
    high: Number | None = None
    source: Annotated[str, Field(min_length=1)]
    place: str = ""
    status: Status
    note: str = ""


class UnknownFile(BaseModel):
    """A number nobody here knows, with the reason."""

    model_config = STRICT

    unknown: Annotated[str, Field(min_length=1)]


def _which(found: object) -> str:
    return "unknown" if isinstance(found, dict) and "unknown" in found else "value"


def _which_count(found: object) -> str:
    return "open" if isinstance(found, str) else "count"


CountFile = Annotated[
    Annotated[int, Tag("count")] | Annotated[Literal["open"], Tag("open")], Discriminator(_which_count)
]
QuantityFile = Annotated[
    Annotated[ValueFile, Tag("value")] | Annotated[UnknownFile, Tag("unknown")], Discriminator(_which)
]


def _in_a_file(hint: object) -> object:
    """How a file writes what an entry holds."""
    if hint == Quantity:
        return QuantityFile
    if hint == (int | None):
        return CountFile
    if get_origin(hint) in {tuple, frozenset}:
        return list[str]
    if get_origin(hint) is Mapping:
        return dict[get_args(hint)[0], get_args(hint)[1]]  # type: ignore[misc]
    return hint


@cache
def model_of(kind: str) -> type[BaseModel]:
    """The model of one file of a kind."""
    entry = KINDS[kind]
    hints = get_type_hints(entry)
    fields: dict[str, Any] = {
        field.name: (_in_a_file(hints[field.name]), ...) for field in dataclasses.fields(entry)
    }
    return create_model(f"{entry.__name__}File", __config__=STRICT, __doc__=entry.__doc__, **fields)


@cache
def source_model() -> type[BaseModel]:
    """The model of one table of sources.toml; its key is the source's."""
    fields: dict[str, Any] = {
        field.name: (Annotated[str, Field(min_length=1)], ...)
        for field in dataclasses.fields(Source)
        if field.name != "key"
    }
    return create_model("SourceFile", __config__=STRICT, **fields)


def json_schema(kind: str) -> dict[str, Any]:
    """The JSON Schema of one file of a kind, for editors."""
    return model_of(kind).model_json_schema()
