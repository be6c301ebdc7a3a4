"""Reads what was done: feedings that differed from the plan, and chores with their minutes."""

from __future__ import annotations

import re
from typing import NamedTuple

from backreef.aquarium.limits import InKeyUnit
from backreef.logbook.entries import Chore, Feeding
from backreef.logbook.vocabulary import NotUnderstood, Vocabulary, meaning
from backreef.units import UnitError, parse_quantity

WHOLE_FRAC = 1.0
MOST_PORTIONS_RATIO = 20.0
LONGEST_WORK_MIN = 24 * 60.0
_FED = re.compile(r"(?:(?:i|we)\s+)?(?:fed|gave)\s+(?P<rest>.+)", re.IGNORECASE)
_NOT_FED = re.compile(
    r"(?:not fed|no feeding|skipped (?:the |a )?(?:feeding|meal)|did not feed|fed nothing|nothing fed)",
    re.IGNORECASE,
)
_PORTION_FIRST = re.compile(
    r"(?P<portion>double|triple|half)\s+(?:portion|ration|feeding|food)s?", re.IGNORECASE
)
_NUMBER = r"(?<![\d.])(?P<number>\d++(?:\.\d*+)?|\.\d++)"
"""Possessive, and not begun within another, so that no text of digits takes long."""
_MASS = re.compile(_NUMBER + r"\s*(?P<unit>mg|g|kg|grams?|oz)\b", re.IGNORECASE)
_TIMES = re.compile(_NUMBER + r"\s*(?:x|times|fold)\b(?: as much| the portion)?", re.IGNORECASE)
_SHARE = re.compile(_NUMBER + r"\s*(?:%|percent\b|per cent\b)(?: of)?", re.IGNORECASE)
_TIME = re.compile(_NUMBER + r"\s*(?P<unit>min(?:ute)?s?|h|hrs?|hours?)\b", re.IGNORECASE)
_VOLUME = re.compile(
    _NUMBER
    + r"\s*(?P<unit>l|ml|litres?|liters?|gal(?:lons?)? us|us gal(?:lons?)?|gal(?:lons?)? uk|gal(?:lons?)?)\b",
    re.IGNORECASE,
)
_FEED_FILLERS = re.compile(
    r"\b(?:of|the|them|all|an?|portions?|rations?|amount|food|as usual|usual|today|everybody|everyone)\b",
    re.IGNORECASE,
)
_WORK_FILLERS = re.compile(r"\b(?:did|done|do|was|for|took|in|of|it|with|about|the)\b|[:=()]", re.IGNORECASE)
_NEEDS_AN_AMOUNT = ("changed",)


class Cut(NamedTuple):
    """A quantity found in a text, as it was written, and the text without it."""

    written: str | None
    rest: str


def read_feeding(text: str, words: Vocabulary) -> Feeding | None:
    """The feeding of a part of a line; None if it speaks of none.

    Raises
    ------
    NotUnderstood
        If it does and cannot be read all the same.
    """
    if _NOT_FED.fullmatch(text.strip()):
        return Feeding(portion_ratio=0.0, written=text)
    first = _PORTION_FIRST.fullmatch(text.strip())
    fed = _FED.fullmatch(text.strip())
    if first is not None:
        return Feeding(portion_ratio=float(meaning(first["portion"], "portion") or 1), written=text)
    if fed is None:
        return None
    mass = _cut(_MASS, fed["rest"])
    portion, rest = _portion(mass.rest)
    food = " ".join(_FEED_FILLERS.sub(" ", rest).split())
    if mass.written is None and portion is None:
        raise NotUnderstood(
            f"'{text}' does not say how much; write 'fed double', 'fed nothing' or 'fed 0.4 g pellets'"
        )
    return Feeding(
        portion_ratio=portion,
        food=words.food(food) if food else None,
        amount_g=None if mass.written is None else _quantity(mass.written, "mass", "g"),
        written=text,
    )


def _portion(text: str) -> tuple[float | None, str]:
    """Given over planned, and the text without it."""
    times, share = _cut(_TIMES, text), _cut(_SHARE, text)
    if times.written is not None:
        return _believable_portion(float(re.match(_NUMBER, times.written)[0]), text), times.rest  # type: ignore[index]
    if share.written is not None:
        return _believable_portion(_quantity(_percent(share.written), "share", "frac"), text), share.rest
    words = text.split()
    for length in range(min(len(words), 2), 0, -1):
        for start in range(len(words) - length + 1):
            found = meaning(" ".join(words[start : start + length]), "portion")
            if found is not None:
                return float(found), " ".join(words[:start] + words[start + length :])
    return None, text


def _believable_portion(ratio: float, text: str) -> float:
    if ratio > MOST_PORTIONS_RATIO:
        raise NotUnderstood(
            f"'{text}' is {ratio:g} times the plan, which is not believed; write the grams if it was so"
        )
    return ratio


def read_chore(text: str, words: Vocabulary) -> Chore | None:
    """The chore of a part of a line, with what it says of minutes, share and amount; None if it is none.

    Raises
    ------
    NotUnderstood
        If a chore is named and what stands beside it cannot be read.
    """
    time = _cut(_TIME, text)
    share = _cut(_SHARE, time.rest)
    volume = _cut(_VOLUME, share.rest)
    mass = _cut(_MASS, volume.rest)
    name = " ".join(_WORK_FILLERS.sub(" ", mass.rest).split())
    task = words.task(name)
    if task is None:
        _complain_of_a_bare_number(name, words)
        return None
    if name.lower() in _NEEDS_AN_AMOUNT and share.written is None and volume.written is None:
        return None
    return Chore(
        task=task,
        minutes=_bounded(time.written, "time", "min", LONGEST_WORK_MIN),
        share_frac=_bounded(share.written and _percent(share.written), "share", "frac", WHOLE_FRAC),
        volume_l=None if volume.written is None else _quantity(volume.written, "volume", "l"),
        amount_g=None if mass.written is None else _quantity(mass.written, "mass", "g"),
        written=text,
    )


def _complain_of_a_bare_number(name: str, words: Vocabulary) -> None:
    bare = re.fullmatch(r"(?P<name>.+?)\s+(?P<number>\d++(?:\.\d*+)?)", name)
    if bare is not None and words.task(bare["name"]) is not None:
        raise NotUnderstood(
            f"'{bare['number']}' has no unit; write '{bare['number']} min' for the time it took, "
            f"'{bare['number']} %' or '{bare['number']} L'"
        )


def _bounded(written: str | None, dimension: str, token: str, most: InKeyUnit) -> InKeyUnit | None:
    if written is None:
        return None
    found = _quantity(written, dimension, token)
    if found > most:
        raise NotUnderstood(f"'{written}' is more than can be; at most {most:g} {token}")
    return found


def _percent(written: str) -> str:
    number = re.match(_NUMBER, written)
    return f"{number['number'] if number else written} %"


def _cut(pattern: re.Pattern[str], text: str) -> Cut:
    found = pattern.search(text)
    if found is None:
        return Cut(None, text)
    return Cut(found.group().strip(), f"{text[: found.start()]} {text[found.end() :]}".strip())


def _quantity(written: str, dimension: str, token: str) -> float:
    try:
        return parse_quantity(written, dimension=dimension, token=token)
    except UnitError as refusal:
        raise NotUnderstood(str(refusal)) from None
