"""What a page says in words of its own: not what stands in another language there, and no name."""

from __future__ import annotations

import re
from functools import cache
from html.parser import HTMLParser

from backreef.tongue.forms import BLANK, LETTERS, Form
from backreef.tongue.speaker import Speaker
from scripts.said_words import sentences

BEGIN, END = "⟦", "⟧"
_SAID = ("placeholder", "aria-label", "alt", "title", "data-label", "data-refused", "data-silent")
_WITHOUT_END = frozenset(("meta", "link", "input", "img", "br", "hr", "wbr"))
_SILENT = ("script", "style")
_INNERMOST = re.compile(f"{BEGIN}[^{BEGIN}{END}]*{END}")
_CUT = re.compile(f"{BEGIN}[^{BEGIN}{END}]*…$|^[^{BEGIN}{END}]*{END}")
"""Of a text that was cut, or that goes on in another line."""
_CITED = re.compile(r"\((?=[^()]*\b(?:19|20)\d\d\b)(?:[^()]|\([^()]*\))*\)")
"""A publication, which stays as it was printed."""


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self._open: list[tuple[str, bool]] = []

    @property
    def _is_left_out(self) -> bool:
        return any(left_out for _, left_out in self._open)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        left_out = tag in _SILENT or told.get("translate") == "no" or (tag != "html" and "lang" in told)
        if not left_out and not self._is_left_out:
            self.texts += [str(told[name]) for name in _SAID if told.get(name)]
        if tag not in _WITHOUT_END:
            self._open.append((tag, left_out))

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        if data.strip() and not self._is_left_out and not (self._open and self._open[-1][0] == "textarea"):
            self.texts.append(data)


def untranslated(page: str, names: tuple[str, ...]) -> list[str]:
    """Words of a page that went through no translation, where each that did stands in brackets."""
    reader = _Reader()
    reader.feed(page)
    found = []
    for text in reader.texts:
        rest = text
        while (shorter := _INNERMOST.sub("", rest)) != rest:
            rest = shorter
        rest = _CITED.sub("", _CUT.sub("", rest))
        for name in names:
            rest = rest.replace(name, "")
        if LETTERS.search(rest):
            found.append(" ".join(text.split()))
    return found


STAND_IN = (
    "share of need",
    "total ammonia",
    "oxygen at dawn",
    "The urchin gets {n} of its need; {n2} more minutes a month",
    "min/week",
    "Toadstool leather coral",
    "Tuxedo urchin",
    "Trochus snail",
    "Cerith",
)
"""What the stand-in for a simulation says that no room says."""


@cache
def odd_speaker() -> Speaker:
    """A language in which whatever the rooms can say stands in brackets, except what fills its blanks."""
    return Speaker("xx", (Form(asked, _in_brackets(asked)) for asked in (*sentences(), *STAND_IN)))


def _in_brackets(asked: str) -> str:
    parts = re.split(r"(\{\w+\}|: )", asked)
    return "".join(
        f"{BEGIN}{part}{END}" if LETTERS.search(part) and not BLANK.fullmatch(part) else part
        for part in parts
    )


def literal_words(template: str) -> list[str]:
    """Words that stand in a template without being given to a translation."""
    text = re.sub(r"{% block main_class %}.*?{% endblock %}", "", template)
    text = re.sub(r"{% blocktranslate.*?{% endblocktranslate %}", "", text, flags=re.DOTALL)
    text = re.sub(r"{#.*?#}|{%.*?%}|{{.*?}}", "", text, flags=re.DOTALL)
    return untranslated(text, ("backreef",))
