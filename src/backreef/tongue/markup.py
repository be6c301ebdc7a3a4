"""Markup that was kept in the language of the rooms: its words and spoken attributes, said anew."""

from __future__ import annotations

import re
from html import escape, unescape

from backreef.tongue.door import said, speaker

_WORDS = re.compile(r">([^<>]*[^\W\d_]{2}[^<>]*|[^<>]*\d\.\d[^<>]*)<")
_ATTRIBUTE = re.compile(r' (aria-label|alt|title|data-label|placeholder)="([^"]+)"')


def said_markup(markup: str) -> str:
    """The same markup with its words in the language of the reader.

    It is our own: every angle bracket of a text stands in it as an entity.
    """
    if speaker() is None:
        return markup
    told = _WORDS.sub(lambda found: f">{escape(said(unescape(found[1])), quote=False)}<", f">{markup}<")
    return _ATTRIBUTE.sub(
        lambda found: f' {found[1]}="{escape(said(unescape(found[2])), quote=True)}"', told[1:-1]
    )
