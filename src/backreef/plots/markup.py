"""Elements of SVG and HTML as text that is always escaped: the one place where angle brackets are written."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache
from html import escape

from backreef.tongue.door import OWN, Told, said, speaker
from backreef.tongue.forms import LETTERS

_VOID = frozenset({"meta", "link", "br", "hr", "img", "input", "col"})
_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff\u202a-\u202e\u2066-\u2069]")


class Safe(str):
    """Text that is markup already; everything else is escaped when it becomes a child or an attribute."""

    __slots__ = ()

    def __html__(self) -> str:
        """The markup itself, for template engines that ask."""
        return str(self)


def printable(text: str) -> str:
    """The text without control, direction-override and lone surrogate characters."""
    return _UNPRINTABLE.sub("", text)


def safe(text: str) -> Safe:
    """Markup for a piece of text: itself if it is markup, escaped if it is not."""
    if isinstance(text, Safe):
        return text
    return Safe(escape(printable(said(text)), quote=False))


def joined(parts: Iterable[str]) -> Safe:
    """The parts one after the other, each made safe."""
    return Safe("".join(safe(part) for part in parts))


def element(name: str, /, *children: str, **attributes: str | float | None) -> Safe:
    """An element with its attributes and children.

    A trailing underscore of an attribute name falls away and other underscores become hyphens (`class_`,
    `aria_label`); ``True`` writes the bare name, ``None`` and ``False`` write nothing.
    """
    if speaker() is not None:
        children, attributes = _spoken(name, children, attributes)
    written = "".join(_attribute(key, value) for key, value in attributes.items())
    if name in _VOID:
        return Safe(f"<{name}{written}>")
    return Safe(f"<{name}{written}>{joined(children)}</{name}>")


def _spoken(
    name: str, children: tuple[str, ...], attributes: dict[str, str | float | None]
) -> tuple[tuple[str, ...], dict[str, str | float | None]]:
    """An element in the language of the reader; what is not known in it is marked as what it is."""
    told = {key: said(str(value)) for key, value in attributes.items() if key in _SAID and value is not None}
    attributes = {**attributes, **told}
    if name in _SILENT or attributes.get("translate") == "no":
        return tuple(child if isinstance(child, Safe) else _as_it_is(child) for child in children), attributes
    if all(isinstance(child, Safe) or is_known(child) for child in children):
        return children, attributes
    if len(children) == 1:
        return (_as_it_is(children[0]),), {"lang": OWN, **attributes}
    inside = "tspan" if name in _DRAWN else "span"
    return tuple(
        child if isinstance(child, Safe) or is_known(child) else element(inside, child) for child in children
    ), attributes


def _as_it_is(text: str) -> Safe:
    return Safe(escape(printable(text), quote=False))


def is_known(text: str) -> bool:
    """Whether a text is known in the language of the reader; figures always are."""
    now = speaker()
    return now is None or isinstance(text, Told) or not LETTERS.search(text) or now.say(text)[1]


def number(value: float) -> str:
    """A coordinate: at most two decimals, no trailing zeros, no minus zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _attribute(key: str, value: str | float | None) -> str:
    if value is None:
        return ""
    name = _name(key)
    if isinstance(value, bool):
        return f" {name}" if value else ""
    text = number(value) if isinstance(value, (int, float)) else _quoted(str(value))
    return f' {name}="{text}"'


@cache
def _name(key: str) -> str:
    name = key.rstrip("_")
    return name if name in _CAMEL else name.replace("_", "-")


def _quoted(text: str) -> str:
    return _short(text) if len(text) <= _SHORT else escape(printable(text), quote=True)


@lru_cache(maxsize=1024)
def _short(text: str) -> str:
    """A short text between quotation marks; the same few classes come a thousand times."""
    return escape(printable(text), quote=True)


_SHORT = 40
_SAID = frozenset({"aria_label", "alt", "title", "data_label", "placeholder"})
_SILENT = frozenset({"style", "script", "code"})
_DRAWN = frozenset({"text", "tspan"})


_CAMEL = frozenset({"viewBox", "preserveAspectRatio", "patternUnits", "patternTransform", "clipPathUnits"})
