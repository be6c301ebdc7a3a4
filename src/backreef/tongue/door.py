"""The one door through which words of the rooms reach a reader: as they are, or in the reader's language.

The rooms say everything in English, and keep it so. Whoever writes for a reader of another language opens
`speaking`; what is written meanwhile passes through `said`. Where nobody does, nothing is looked up.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib import resources

from backreef.tongue.forms import Form
from backreef.tongue.speaker import Speaker

OWN = "en"
"""The language of the rooms."""
_NOW: ContextVar[Speaker | None] = ContextVar("speaker", default=None)
DOMAIN = "said"


class Told(str):
    """Words that went through the door already."""

    __slots__ = ()


@contextmanager
def speaking(speaker: Speaker | None) -> Iterator[None]:
    """Say everything by a speaker meanwhile; by none, as the rooms say it."""
    before = _NOW.set(speaker)
    try:
        yield
    finally:
        _NOW.reset(before)


def speaker() -> Speaker | None:
    """Who speaks now; None where everything is said as the rooms say it."""
    return _NOW.get()


def said(text: str) -> str:
    """Words in the language of the reader, as far as they are known in it."""
    now = _NOW.get()
    if now is None or isinstance(text, Told):
        return text
    return Told(now.say(text)[0])


def language() -> str:
    """The language that is spoken now."""
    now = _NOW.get()
    return OWN if now is None else now.code


@cache
def speaker_of(code: str) -> Speaker | None:
    """Who speaks a language; None for that of the rooms and for those that nobody has written yet."""
    from gettext import GNUTranslations

    class Written(GNUTranslations):
        def forms(self) -> Iterator[Form]:
            """Each sentence with its answer."""
            written: dict[str, str] = self._catalog  # type: ignore[attr-defined]
            return (Form(asked, answer) for asked, answer in written.items() if asked)

    place = resources.files("backreef.tongue") / "locale" / code / "LC_MESSAGES" / f"{DOMAIN}.mo"
    if code == OWN or not code.isalpha() or not place.is_file():
        return None
    with place.open("rb") as file:
        return Speaker(code, Written(file).forms())
