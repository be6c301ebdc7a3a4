"""Elements of SVG and HTML as text that is always escaped: the one place where angle brackets are written."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache
from html import escape

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
    return Safe(escape(printable(text), quote=False))


def joined(parts: Iterable[str]) -> Safe:
    """The parts one after the other, each made safe."""
    return Safe("".join(safe(part) for part in parts))


def element(name: str, /, *children: str, **attributes: str | float | None) -> Safe:
    """An element with its attributes and children.

    A trailing underscore of an attribute name falls away and other underscores become hyphens (`class_`,
    `aria_label`); ``True`` writes the bare name, ``None`` and ``False`` write nothing.
    """
    written = "".join(_attribute(key, value) for key, value in attributes.items())
    if name in _VOID:
        return Safe(f"<{name}{written}>")
    return Safe(f"<{name}{written}>{joined(children)}</{name}>")


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


_CAMEL = frozenset({"viewBox", "preserveAspectRatio", "patternUnits", "patternTransform", "clipPathUnits"})
