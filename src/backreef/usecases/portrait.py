"""A page about one entry of the catalogue as plain data: titled parts, each of a few sentences."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from backreef.catalogue.entries import Catalogue, Quantity, Unknown, Value
from backreef.catalogue.sources import STATUS_MEANING, STATUSES
from backreef.units import unit_words
from backreef.usecases.browse import Listed

"""Mean length of a month of the Julian year. [d]"""
_DIGITS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of a page: what it is about, and its sentences."""

    title: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Portrait:
    """A page about one entry."""

    id: str
    title: str
    subtitle: str
    parts: tuple[Part, ...]


def part(title: str, *sentences: str) -> Part:
    """A part of the sentences that say something."""
    return Part(title=title, sentences=tuple(sentence for sentence in sentences if sentence))


def figure(number: float) -> str:
    """A number with two significant digits, whole ones kept whole."""
    return f"{number:.0f}" if float(number).is_integer() else _rounded(number)


def amount(quantity: Quantity, unit: str = "") -> str:
    """A value with its range and unit; empty where it is unknown."""
    if isinstance(quantity, Unknown):
        return ""
    return f"{figure(quantity.value)}{f' {unit}' if unit else ''}{_spread(quantity)}"


def percent(quantity: Quantity) -> str:
    """A share with its range in percent; empty where it is unknown."""
    if isinstance(quantity, Unknown):
        return ""
    return f"{_rounded(100 * quantity.value)} %{_spread(quantity, 100.0)}"


def _spread(value: Value, factor_ratio: float = 1.0) -> str:
    low, high = _rounded(factor_ratio * value.lowest), _rounded(factor_ratio * value.highest)
    return f" ({low} to {high})" if low != high else ""


def _rounded(number: float) -> str:
    """A number with two significant digits."""
    text = f"{number:.{_DIGITS}g}"
    return f"{float(text):.0f}" if "e" in text else text


def sentence(text: str) -> str:
    """The text with a capital and a full stop, empty if it is empty."""
    words = unit_words(" ".join(text.split()).rstrip("."))
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def listed(words: list[str], most: int = 12) -> str:
    """One, two and three; the rest counted."""
    if len(words) > most:
        return f"{', '.join(words[:most])} and {len(words) - most} more"
    if len(words) > 1:
        return f"{', '.join(words[:-1])} and {words[-1]}"
    return "".join(words)


def plural(count: float, one: str) -> str:
    """1 day, 2 days."""
    return f"{figure(count)} {one}{'' if count == 1 else 's'}"


def sureness(entry: Listed, catalogue: Catalogue) -> tuple[Part, ...]:
    """How sure the entry is, and on whose word."""
    numbers = dict(_quantities(entry))
    known = [number for number in numbers.values() if isinstance(number, Value)]
    counts = Counter(value.status for value in known)
    by_status = [f"{counts[status]} {_STATUS_WORDS[status]}" for status in STATUSES if counts[status]]
    unknown = [
        f"{_field_words(name)} ({number.reason})"
        for name, number in numbers.items()
        if isinstance(number, Unknown)
    ]
    shelf = {"Species": "species", "Food": "foods", "Device": "devices", "Task": "tasks"}[
        type(entry).__name__
    ]
    sure = part(
        "How sure we are",
        "This is an entry of your own catalogue." if f"{shelf}/{entry.id}" in catalogue.own else "",
        f"{len(known)} numbers: {listed(by_status)}." if known else "",
        f"Not known: {listed(unknown)}." if unknown else "",
        sentence(f"What carries no number is {STATUS_MEANING[entry.status]}"),
    )
    return (sure, part("On whose word", *_sources(entry, known, catalogue)))


_STATUS_WORDS = {
    "published": "published",
    "memory": "from memory",
    "practice": "common practice without a source",
    "calc": "worked out by us",
}


def _quantities(entry: Listed) -> Iterator[tuple[str, Quantity]]:
    for name in type(entry).__dataclass_fields__:
        found = getattr(entry, name)
        if isinstance(found, Value | Unknown):
            yield name, found


def _field_words(name: str) -> str:
    from backreef.catalogue.tables import fields

    return fields()[name].meaning


def _sources(entry: Listed, values: list[Value], catalogue: Catalogue) -> Iterator[str]:
    """The texts of the sources, most used first."""
    keys = Counter(key.strip() for value in values for key in value.source.split(";"))
    keys.update(entry.sources)
    for key, _ in keys.most_common():
        if key in catalogue.sources:
            yield sentence(catalogue.sources[key].text)
