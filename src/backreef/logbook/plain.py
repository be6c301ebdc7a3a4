"""Entries as plain data for JSON and databases, and back, refusing whatever does not fit."""

from __future__ import annotations

from dataclasses import MISSING, fields
from datetime import datetime
from functools import cache
from types import UnionType
from typing import Any, Literal, get_args, get_origin, get_type_hints

from backreef.logbook.entries import KINDS, BadEntry, Entry, What

Plain = dict[str, Any]


def what_fields(what: What) -> Plain:
    """What an entry says, without its kind, as dicts, lists, strings and numbers."""
    return {one.name: _plain(getattr(what, one.name)) for one in fields(what)}


def what_from(kind: str, content: Plain) -> What:
    """What `what_fields` made, read back.

    Raises
    ------
    BadEntry
        If the kind is unknown, a field is missing, unknown, or of another type.
    """
    shape = KINDS.get(kind)
    if shape is None:
        raise BadEntry(f"'{kind}' is no kind of entry; there are {', '.join(KINDS)}")
    return shape(**_checked(shape, kind, content))


def entry_fields(entry: Entry) -> Plain:
    """A whole revision as plain data; moments as ISO 8601 with their time zone."""
    plain = {one.name: _plain(getattr(entry, one.name)) for one in fields(entry) if one.name != "what"}
    return plain | {"kind": entry.what.kind, "what": what_fields(entry.what)}


def entry_from(content: Plain) -> Entry:
    """What `entry_fields` made, read back.

    Raises
    ------
    BadEntry
        If it is not of that shape.
    """
    outer = dict(content)
    kind, inner = outer.pop("kind", None), outer.pop("what", None)
    if not isinstance(kind, str) or not isinstance(inner, dict):
        raise BadEntry("an entry says its kind and what it holds")
    what = what_from(kind, inner)
    for name in ("at", "logged_at"):
        outer[name] = _moment(name, outer.get(name))
    return Entry(**_checked(Entry, "entry", outer | {"what": what}))


def _plain(value: object) -> object:
    if isinstance(value, tuple):
        return list(value)
    return value.isoformat() if isinstance(value, datetime) else value


def _moment(name: str, written: object) -> datetime:
    if isinstance(written, str):
        try:
            return datetime.fromisoformat(written)
        except ValueError:
            pass
    raise BadEntry(f"{name} of an entry is {written!r}; it is a moment such as 2027-01-05T18:30:00+00:00")


@cache
def _shape(of: type) -> dict[str, Any]:
    return get_type_hints(of)


def _checked(of: type, name: str, content: Plain) -> Plain:
    known = {one.name: one for one in fields(of)}
    unknown = sorted(content.keys() - known.keys())
    if unknown:
        raise BadEntry(f"a {name} has no {', '.join(unknown)}")
    missing = [key for key, one in known.items() if one.default is MISSING and key not in content]
    if missing:
        raise BadEntry(f"a {name} without {', '.join(missing)}")
    return {key: _fitting(f"{name}.{key}", _shape(of)[key], value) for key, value in content.items()}


def _fitting(place: str, wanted: Any, value: Any) -> Any:
    """The value in the type of its field; whole numbers may stand for floats, lists for tuples."""
    origin = get_origin(wanted)
    if wanted == What:
        fits = isinstance(value, tuple(KINDS.values()))
    elif origin is UnionType:
        return None if value is None else _fitting(place, get_args(wanted)[0], value)
    elif origin is tuple:
        fits = isinstance(value, list | tuple) and all(isinstance(one, str) for one in value)
        value = tuple(value) if fits else value
    elif origin is Literal:
        fits = value in get_args(wanted)
    elif wanted is float:
        fits = isinstance(value, int | float) and not isinstance(value, bool)
        value = float(value) if fits else value
    else:
        fits = isinstance(value, wanted) and (wanted is bool or not isinstance(value, bool))
    if not fits:
        raise BadEntry(f"{place} is {value!r}, which is not what stands there")
    return value
