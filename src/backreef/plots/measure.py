"""How wide a text will be, without a font at hand: generous averages, so that labels keep apart."""

from __future__ import annotations

import unicodedata

from backreef.tongue.door import Told, said

_NARROW = frozenset("iIjl.,:;'|!()[]{}/ ft1r-·’")
_WIDE = frozenset("mwMWQOG@%&—…")
BOLDER = 1.14
"""How much wider bold letters are."""
_EM_NARROW, _EM_COMMON, _EM_CAPITAL, _EM_WIDE, _EM_FULL = 0.40, 0.61, 0.69, 0.95, 1.05


def char_em(char: str) -> float:
    """Width of one character in ems of a wide sans-serif face."""
    if unicodedata.combining(char):
        return 0.0
    if unicodedata.east_asian_width(char) in ("W", "F"):
        return _EM_FULL
    if char in _NARROW:
        return _EM_NARROW
    if char in _WIDE:
        return _EM_WIDE
    return _EM_CAPITAL if char.isupper() else _EM_COMMON


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text at a font size, in the units of the size."""
    return size * (BOLDER if bold else 1.0) * sum(char_em(char) for char in said(text))


def shortened(text: str, *, size: float, room: float) -> str:
    """The text, cut with an ellipsis where it does not fit the room; empty where not even that fits."""
    text = said(text)
    if text_width(text, size) <= room:
        return text
    left = room - text_width("…", size)
    kept = ""
    for char in text:
        left -= size * char_em(char)
        if left < 0:
            break
        kept += char
    kept = kept.rstrip()
    return Told(f"{kept}…") if kept else ""


def lines_of(text: str, *, size: float, room: float, most: int) -> list[str]:
    """The text broken into at most so many lines of a width; the last one is cut with an ellipsis."""
    lines: list[str] = []
    words: list[str] = [Told(word) for word in said(text).split()]
    while words and len(lines) < most:
        line = words.pop(0)
        if len(lines) == most - 1:
            line = Told(" ".join([line, *words]))
            words = []
        while words and text_width(Told(f"{line} {words[0]}"), size) <= room:
            line = Told(f"{line} {words.pop(0)}")
        lines.append(shortened(line, size=size, room=room))
    return lines
