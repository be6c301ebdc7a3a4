"""Sentences with blanks: taken apart into what was filled in, and filled in again in other words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

WORDS = re.compile(r"[^\W_]+")
BLANK = re.compile(r"\{(\w+)\}")
LETTERS = re.compile(
    r"(?!(?:mg|kg|mL|cm|mm|umol|mmol|dKH|psu|kN|kJ|min|degC|NO|PO|CO|CaCO|SiO|NH|pH|TAN|DOC|TOML|ppm)(?![^\W\d_]))"
    r"(?<![^\W\d_])[^\W\d_]{2,}"
)
"""A word; what units and formulas are written with is none."""
_COUNT = re.compile(r"n\d*$")
_DATE = re.compile(r"date\d*$")
_FIGURE = r"[−+\-<]?\d[\d.,]*|almost 0|none|not known"
_TWO = 2
_SHORT = 160
"""Letters of a text that is read twice: a longer one is taken apart sooner than it is read otherwise."""
_DAY = r"\d{1,2} [A-Z][a-z]+ \d{4}|not known"


@dataclass(frozen=True)
class Form:
    """A sentence with blanks in one language, and the same in another.

    A blank `n` holds a number, `date` a date, any other one words.
    """

    asked: str
    answer: str

    @cached_property
    def told(self) -> int:
        """How many letters stand outside of its blanks: the more, the surer it is that the form is meant."""
        return sum(map(len, LETTERS.findall(BLANK.sub(" ", self.asked))))

    @cached_property
    def anchor(self) -> str:
        """The longest word that stands in every text of this form, whole; empty where there is none."""
        parts = BLANK.split(self.key)[::2]
        edges = zip(
            [False, *[True] * (len(parts) - 1)], parts, [*[True] * (len(parts) - 1), False], strict=True
        )
        whole = [word for before, part, after in edges for word in _whole_words(part, before, after)]
        return max(whole, key=len, default="")

    @cached_property
    def key(self) -> str:
        """The asked sentence as texts are compared."""
        return plain(self.asked)

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        parts = BLANK.split(self.key)
        found = [re.escape(parts[0])]
        for before, name, after in zip(parts[:-1:2], parts[1::2], parts[2::2], strict=True):
            follows = len(found) > 1 and not before
            inside = "" if follows else _inside(name, empty=before[-1:].isalnum())
            found.append(f"(?P<{name}>{inside})" + re.escape(after))
        return re.compile("".join(found), re.DOTALL)

    @cached_property
    def _greedy(self) -> re.Pattern[str] | None:
        """The same with as much as can be in the first blanks; None where that is no other reading."""
        shape = self._pattern.pattern
        return None if shape.count("?)") < _TWO else re.compile(shape.replace("?)", ")"), re.DOTALL)

    def readings_of(self, text: str) -> Iterator[Mapping[str, str]]:
        """What may stand in the blanks of a text of this form; nothing where it is of another one."""
        match = self._pattern.fullmatch(text)
        if match is not None:
            yield match.groupdict()
            greedy = self._greedy if len(text) <= _SHORT else None
            other = None if greedy is None else greedy.fullmatch(text)
            if other is not None and other.groupdict() != match.groupdict():
                yield other.groupdict()

    def filled(self, blanks: Mapping[str, str]) -> str:
        """The answer with its blanks filled."""
        return BLANK.sub(lambda blank: blanks.get(blank[1], blank[0]), self.answer)


def _inside(name: str, *, empty: bool) -> str:
    """What may stand in a blank; of two that touch the first holds all; one that ends a word may be empty."""
    if _COUNT.match(name):
        return _FIGURE
    if _DATE.match(name):
        return _DAY
    return ".*?" if empty else ".+?"


def _whole_words(part: str, before: bool, after: bool) -> list[str]:  # noqa: FBT001  what stands at its sides
    """The words of a part that no blank at its sides can be a piece of."""
    found = list(WORDS.finditer(part))
    return [
        one[0]
        for one in found
        if not (before and one.start() == 0) and not (after and one.end() == len(part))
    ]


def plain(text: str) -> str:
    """A text as texts are compared: in one line, without its full stop, small at its beginning.

    Tables write degC and mark keys, pages write °C and mark nothing.
    """
    words = " ".join(text.split(" ")).rstrip(".").replace("degC", "°C").replace("`", "")
    return words[:1].lower() + words[1:]


def like(text: str, said: str) -> str:
    """What is said, with a capital and a full stop where the text has them."""
    said = said.strip()
    if text[:1].isupper():
        said = said[:1].upper() + said[1:]
    stops = text[len(text.rstrip(".")) :]
    return f"{said.rstrip('.')}{stops}" if stops else said
