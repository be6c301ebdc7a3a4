"""Reads what was seen: deaths, arrivals, appetite, algae and small life."""

from __future__ import annotations

import re

from backreef.logbook.deeds import WHOLE_FRAC
from backreef.logbook.entries import Addition, Death, Sighting
from backreef.logbook.vocabulary import NotUnderstood, Vocabulary, count_of, meaning
from backreef.units import UnitError, parse_quantity

EATING = "eating"
MOST_COUNT = 10_000
_DIED = re.compile(
    r"(?P<who>.+?)\s+(?:has |have |is |are |was |were |found )*(?:died|dead|lost)|"
    r"(?:lost|dead|death of|found dead)\s*:?\s+(?P<whom>.+)",
    re.IGNORECASE,
)
_CAME = re.compile(
    r"(?:added|new|introduced|put in|got)\s*:?\s+(?P<whom>.+)|"
    r"(?P<who>.+?)\s+(?:has |have )?(?:arrived|came|moved in)",
    re.IGNORECASE,
)
_NOT_EATING = re.compile(
    r"(?P<who>.+?)\s+(?:(?:is |are |was |were )?not (?:eating|feeding)|(?:does|do|did)(?: not|n't) eat|"
    r"(?:refuses?|refused) (?:food|to eat)|(?:stopped|stops) eating|off (?:its |their )?food)",
    re.IGNORECASE,
)
_EATING = re.compile(
    r"(?P<who>.+?)\s+(?:is |are |was |were )?(?:eating|eats|ate|eats well|eating well)", re.IGNORECASE
)
_LENGTH = re.compile(
    r"\s*,?\s*(?P<length>(?<![\d.])(?:\d++(?:\.\d*+)?|\.\d++)\s*(?:cm|mm|in|inch|inches))\s*$", re.IGNORECASE
)
_SHARE = re.compile(
    r"(?<![\d.])(?P<number>\d++(?:\.\d*+)?|\.\d++)\s*(?:%|percent\b|per cent\b)(?: of .*)?", re.IGNORECASE
)
_NIGHT = re.compile(r"\b(?:at|by|last) night\b|\bafter dark\b", re.IGNORECASE)
_ABSENT = re.compile(r"\b(?:no|not|none|gone|without|never)\b", re.IGNORECASE)
_FILLERS = re.compile(
    r"\b(?:seen|visible|showing|shows|is|are|there|some|a little|a lot of|much|more|covers?|about)\b|"
    r"\b(?:any|left)\b|[:=]",
    re.IGNORECASE,
)


def read_death(text: str, words: Vocabulary) -> Death | None:
    """The death of a part of a line; None if it speaks of none."""
    found = _DIED.fullmatch(text.strip())
    if found is None:
        return None
    count, name = _counted(found["who"] or found["whom"])
    who = words.named(name)
    return Death(count=count, name=name, species=who.species, animal=who.animal, written=text)


def read_addition(text: str, words: Vocabulary) -> Addition | None:
    """The arrival of a part of a line; None if it speaks of none."""
    found = _CAME.fullmatch(text.strip())
    if found is None:
        return None
    said = found["who"] or found["whom"]
    length = _LENGTH.search(said)
    count, name = _counted(said[: length.start()] if length else said)
    who = words.named(name)
    return Addition(
        count=count,
        name=name,
        species=who.species,
        animal=who.animal,
        length_cm=None if length is None else _length_cm(length["length"]),
        written=text,
    )


def read_sighting(text: str, words: Vocabulary) -> Sighting | None:
    """What was looked for and seen or not: appetite, algae, small life; None if it speaks of neither."""
    not_eating, eating = _NOT_EATING.fullmatch(text.strip()), _EATING.fullmatch(text.strip())
    found = not_eating or eating
    if found is not None:
        name = re.sub(r"^(?:the|all) ", "", found["who"].strip(), flags=re.IGNORECASE)
        who = words.named(name)
        return Sighting(
            thing=EATING,
            seen=not_eating is None,
            name=name,
            species=who.species,
            animal=who.animal,
            written=text,
        )
    return _seen_thing(text)


def _seen_thing(text: str) -> Sighting | None:
    share = _SHARE.search(text)
    rest = text if share is None else f"{text[: share.start()]} {text[share.end() :]}"
    at_night = _NIGHT.search(rest) is not None
    rest = _NIGHT.sub(" ", rest)
    absent = _ABSENT.search(rest) is not None
    thing = meaning(" ".join(_FILLERS.sub(" ", _ABSENT.sub(" ", rest)).split()), "thing")
    if thing is None:
        return None
    cover_frac = None if share is None else float(share["number"]) / 100
    if cover_frac is not None and cover_frac > WHOLE_FRAC:
        raise NotUnderstood(f"'{share.group().strip() if share else ''}' is more than all; at most 100 %")
    seen = not absent and cover_frac != 0
    return Sighting(thing=thing, seen=seen, cover_frac=cover_frac, at_night=at_night, written=text)


def _counted(said: str) -> tuple[int, str]:
    """How many, and of what: '2 snails', 'the urchin', 'two of the chromis'."""
    first, _, rest = said.strip().partition(" ")
    count = count_of(first)
    name = re.sub(r"^(?:of )?(?:the |my |our )?", "", rest.strip() if count is not None else said.strip())
    if count == 0 or (count or 1) > MOST_COUNT:
        raise NotUnderstood(f"'{first}' is no number of animals; write 1 or more")
    if not name:
        raise NotUnderstood(f"'{said}' does not say who; write the animal's name behind the number")
    return count or 1, name


def _length_cm(written: str) -> float:
    try:
        return parse_quantity(written, dimension="length", token="cm")
    except UnitError as refusal:
        raise NotUnderstood(str(refusal)) from None
