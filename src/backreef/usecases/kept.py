"""Answers as files that are read back: a forecast or a rehearsal, exact to the last digit.

Written is JSON, with each array as its bytes in base 64. What is read is made from the types of the fields
alone, so that a file can hold nothing but such an answer.
"""

from __future__ import annotations

import base64
import dataclasses
import json
import types
from collections.abc import Mapping
from datetime import date, datetime
from functools import cache
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

import numpy as np

from backreef.errors import BackreefError

Answer = TypeVar("Answer")
_FORMS = {"d": np.dtype("<f8"), "b": np.dtype("?")}
MARK = "backreef.kept/1"


class NotKept(BackreefError):
    """A file that holds no such answer, or one of another version."""


def kept_text(answer: Any) -> str:
    """An answer as the text of a file."""
    return json.dumps({"mark": MARK, "kind": type(answer).__name__, "answer": _plain(answer)})


def read_kept(text: str, kind: type[Answer]) -> Answer:
    """The answer in the text of a file.

    Raises
    ------
    NotKept
        If it holds no answer of this kind.
    """
    try:
        document = json.loads(text)
        if document["mark"] != MARK or document["kind"] != kind.__name__:
            raise NotKept(f"this is no {kind.__name__.lower()}")
        return cast("Answer", _made(document["answer"], kind))
    except (KeyError, TypeError, ValueError, IndexError, RecursionError) as trouble:
        raise NotKept(f"the kept {kind.__name__.lower()} is of another version; forecast again") from trouble


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        form = "b" if value.dtype == np.bool_ else "d"
        content = np.ascontiguousarray(value, dtype=_FORMS[form]).tobytes()
        return {"form": form, "shape": list(value.shape), "bytes": base64.b64encode(content).decode("ascii")}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {key: _plain(content) for key, content in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(content) for content in value]
    if isinstance(value, date):
        return value.isoformat()
    return value.item() if isinstance(value, np.generic) else value


@cache
def _fields(kind: Any) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in dataclasses.fields(kind)}


def _made(value: Any, kind: Any) -> Any:  # noqa: C901  one line a kind of type
    origin, inside = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        if value is None:
            return None
        (only,) = (one for one in inside if one is not type(None))
        return _made(value, only)
    if origin is Literal:
        if value not in inside:
            raise ValueError(value)
        return value
    if origin is np.ndarray:
        array = np.frombuffer(base64.b64decode(value["bytes"]), dtype=_FORMS[value["form"]])
        return array.reshape(value["shape"])
    if origin in (dict, Mapping):
        return {str(key): _made(content, inside[1]) for key, content in value.items()}
    if origin is tuple:
        kinds = [inside[0]] * len(value) if inside[1:] == (...,) else inside
        return tuple(_made(one, each) for one, each in zip(value, kinds, strict=True))
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        return kind(**{name: _made(value[name], hint) for name, hint in _fields(kind).items()})
    if kind is datetime:
        return datetime.fromisoformat(value)
    if kind is date:
        return date.fromisoformat(value)
    if kind is float:
        return float(value)
    if not isinstance(value, kind):
        raise TypeError(f"{value!r} is no {kind}")
    return value
