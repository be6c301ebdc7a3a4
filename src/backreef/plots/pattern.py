"""Textures, so that no meaning hangs on colour alone: away, over a bound, harm."""

from __future__ import annotations

from backreef.plots.markup import Safe, element, joined


def textures(ident: str) -> Safe:
    """The textures of one drawing; use them as ``texture(ident, name)``."""
    return element(
        "defs",
        _pattern(ident, "away", 6, element("path", class_="ink-away", d="M-1 7L7 -1M-1 1L1 -1M5 7L7 5")),
        _pattern(ident, "over", 5, element("path", class_="ink-over", d="M-1 -1L6 6M-1 4L1 6M4 -1L6 1")),
        _pattern(ident, "plus", 5, element("path", class_="ink-plus", d="M-1 -1L6 6M-1 4L1 6M4 -1L6 1")),
        _pattern(ident, "rocks", 11, element("path", class_="ink-rocks", d="M2.5 4.5h4M4.5 2.5v4M9.5 8h0.1")),
    )


def texture(ident: str, name: str) -> str:
    """The fill that paints a texture."""
    return f"url(#{ident}-{name})"


def samples(ident: str, *parts: Safe, wide: float = 34.0) -> Safe:
    """A little drawing for a key; words beside it say what it means."""
    return element(
        "svg",
        textures(ident),
        joined(parts),
        class_="sample",
        viewBox=f"0 0 {wide:g} 16",
        width=wide,
        height=16,
        aria_hidden="true",
        focusable="false",
    )


def _pattern(ident: str, name: str, size: float, ink: Safe) -> Safe:
    return element(
        "pattern", ink, id=f"{ident}-{name}", width=size, height=size, patternUnits="userSpaceOnUse"
    )
