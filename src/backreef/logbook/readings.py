"""Reads what a kit said: 'no3 12 ppm', 'po4 < 0.02', 'alk 8.2 by drop kit', whatever the basis."""

from __future__ import annotations

import csv
import re
from functools import cache
from pathlib import Path
from typing import NamedTuple

from backreef.aquarium.limits import InKeyUnit
from backreef.aquarium.series import Series, all_series, read_series, series_of, series_words
from backreef.logbook.entries import Reading, Sign
from backreef.logbook.vocabulary import NotUnderstood, Word, all_words, meaning, nearest, word_of
from backreef.units import UnitError

_SAID = re.compile(
    r"(?P<word>[a-z][a-z0-9]*(?:-[a-z]+)?)\s*(?:\b(?:is|was|at|of)\b|[:=])?\s*"
    r"(?P<sign><|>|\bbelow\b|\bunder\b|\babove\b|\bover\b)?\s*(?P<rest>[+-]?\.?\d.*)",
    re.IGNORECASE,
)
_BY = re.compile(r"\s+(?:by|with|on|from)\s+(?:an? |the |my )?(?P<kit>[a-z][a-z -]*)$", re.IGNORECASE)
_AMOUNT = re.compile(
    r"(?P<number>[+-]?(?:\d++(?:\.\d*+)?|\.\d++)(?:e[+-]?\d++)?)\s*(?P<unit>.*)", re.IGNORECASE
)
_SIGNS: dict[str, Sign] = {"<": "<", "below": "<", "under": "<", ">": ">", "above": ">", "over": ">"}
_PER_LITRE = ("ppm", "mg/l")


class BareNumber(NamedTuple):
    """Numbers of a quantity between two bounds are read in this unit where none is given."""

    quantity: str
    lowest: InKeyUnit
    highest: InKeyUnit
    unit: str
    why: str


def read_reading(text: str) -> Reading | None:
    """The reading of a part of a line; None if it does not begin with a water quantity and a number.

    Raises
    ------
    NotUnderstood
        If it does and cannot be read all the same.
    """
    said = _SAID.fullmatch(text.strip())
    word = None if said is None else _series_word(said["word"])
    if said is None or word is None:
        return None
    rest, kit = _without_kit(said["rest"].strip())
    return reading_of(word, rest, sign=_SIGNS.get((said["sign"] or "").lower(), "="), kit=kit)


def reading_of(word: Word, amount: str, *, sign: Sign = "=", kit: str | None = None) -> Reading:
    """The reading of a quantity and what stands behind it, as '12 ppm'."""
    series = series_of(word.means)
    completed, assumed = _completed(word, series, amount)
    try:
        found = read_series(series.word, completed)
    except UnitError as refusal:
        raise NotUnderstood(str(refusal).replace(f"'{completed}'", f"'{amount}'", 1)) from None
    notes = [*assumed, *(note for note in found.notes if note not in assumed)]
    return Reading(
        series=found.series, value=found.value, sign=sign, written=amount, kit=kit, assumed=tuple(notes)
    )


def series_word(text: str) -> Word:
    """The water quantity that a word stands for, or a complaint with the nearest."""
    word = _series_word(text)
    if word is None:
        near = nearest(text, _series_spellings())
        hint = f"; did you mean '{near[0]}'?" if near else f"; there are {series_words()}"
        raise NotUnderstood(f"'{text}' is no water quantity{hint}")
    return word


def kit_of(text: str) -> str:
    """The kind of kit that some words mean, or a complaint with those that there are."""
    kit = meaning(text, "kit")
    if kit is None:
        kits = [one.word for one in all_words() if one.kind == "kit"]
        raise NotUnderstood(f"'{text}' is no kind of kit; there are {', '.join(kits)}")
    return kit


def _series_word(text: str) -> Word | None:
    plain = text.strip().lower()
    known = word_of(plain, "series")
    if known is not None:
        return known
    series = next((one for one in all_series() if plain in (one.word, one.series)), None)
    return None if series is None else Word(word=plain, kind="series", means=series.word, unit="")


def _series_spellings() -> list[str]:
    return [one.word for one in all_words() if one.kind == "series"]


def _without_kit(rest: str) -> tuple[str, str | None]:
    by = _BY.search(rest)
    return (rest, None) if by is None else (rest[: by.start()].strip(), kit_of(by["kit"].strip()))


def _completed(word: Word, series: Series, amount: str) -> tuple[str, tuple[str, ...]]:
    """The amount with the unit and basis that were left out, and what was assumed for that."""
    found = _AMOUNT.fullmatch(amount.strip())
    if found is None or series.dimension == "none":
        return amount, ()
    unit = " ".join(found["unit"].lower().split()).replace(" / ", "/")
    basis = word.unit.removeprefix("mg/L").strip()
    if not unit and word.unit:
        return f"{found['number']} {word.unit}", (f"'{word.word}' without a unit was read as {word.unit}",)
    if not unit:
        return _bare(series, float(found["number"]), amount)
    if unit in _PER_LITRE and basis and word.unit.startswith("mg/L"):
        return f"{amount} {basis}", (f"'{word.word}' in {found['unit']} was read as {word.unit}",)
    return amount, ()


def _bare(series: Series, number: InKeyUnit, amount: str) -> tuple[str, tuple[str, ...]]:
    for one in _bare_numbers():
        if one.quantity == series.word and one.lowest <= number <= one.highest:
            return f"{amount} {one.unit}", (one.why,)
    return amount, ()


@cache
def _bare_numbers() -> tuple[BareNumber, ...]:
    path = Path(__file__).parent / "data" / "bare_numbers.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(
            BareNumber(row["quantity"], float(row["from"]), float(row["to"]), row["unit"], row["why"])
            for row in csv.DictReader(file)
        )
