"""What is thrown at a door: what people send, spoiled as files get spoiled, and nasty things."""

from __future__ import annotations

from collections.abc import Sequence

import hypothesis.strategies as st

from tests.doors import Door

ODD = (
    b"",
    b"\0",
    b"\x1b[2J",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\xed\xa0\x80",
    "\u202e".encode(),
    "\u0660\u0661".encode(),
    "\u00b2".encode(),
    b"nan",
    b"-inf",
    b"1e400",
    b"-1",
    b"0",
    b"9" * 30,
    b"9" * 5000,
    b"0.1" + b"0" * 400,
    b"[" * 300,
    b"{ a = " * 60,
    b'"' * 3,
    b"../" * 9,
    b"/dev/zero",
    b"=cmd|' /C calc'!A0",
    b"&lol;" * 20,
    b"<script>",
    b"%s%n{0}",
    b"\r",
    b"\n" * 60,
    b" " * 5000,
    b"a" * 70_000,
    b"0000-00-00",
    b"9999-12-31T23:59:59",
)
"""Pieces that parsers stumble over."""


@st.composite
def spoiled(draw: st.DrawFn, door: Door) -> bytes:
    """Something that people send through a door, with up to six changes."""
    sent = draw(st.sampled_from(door.seeds))
    words = tuple(word.encode() for word in door.words)
    for _ in range(draw(st.integers(0, 6))):
        sent = changed(draw, sent, words)
    return sent


def changed(draw: st.DrawFn, sent: bytes, words: Sequence[bytes]) -> bytes:
    """One change: a stretch left out, doubled, moved or overwritten."""
    first = draw(st.integers(0, len(sent)))
    last = min(len(sent), first + draw(st.integers(0, 30)))
    before, stretch, after = sent[:first], sent[first:last], sent[last:]
    how = draw(st.sampled_from(("cut", "double", "word", "odd", "bytes", "line", "end", "value")))
    match how:
        case "cut":
            return before + after
        case "double":
            return before + stretch * draw(st.integers(2, 40)) + after
        case "word":
            return before + draw(st.sampled_from(words)) + after
        case "odd":
            return before + draw(st.sampled_from(ODD)) + stretch + after
        case "bytes":
            return before + draw(st.binary(max_size=8)) + after
        case "line":
            lines = sent.split(b"\n")
            lines.insert(draw(st.integers(0, len(lines))), draw(st.sampled_from(lines)))
            return b"\n".join(lines)
        case "value":
            value = draw(st.sampled_from((*ODD, *words)))
            return _with_value(sent, first, draw(st.sampled_from((value, b' "' + value + b'"'))))
    return before


def _with_value(sent: bytes, near: int, value: bytes) -> bytes:
    """The same with another value behind the next sign that says one follows."""
    found = [sent.find(sign, near) for sign in (b"=", b":", b",")]
    at = min((one for one in found if one >= 0), default=-1)
    if at < 0:
        return sent + value
    end = sent.find(b"\n", at)
    return sent[: at + 1] + value + (sent[end:] if end >= 0 else b"")
