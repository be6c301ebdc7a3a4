"""On whose word a forecast stands: the full text of every source behind its numbers, and a count."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from backreef.catalogue.entries import Catalogue
from backreef.catalogue.sources import STATUSES, Status
from backreef.judgement.rules import table_sources
from backreef.judgement.used_entries import entry_values
from backreef.judgement.used_model import model_values
from backreef.judgement.used_values import UsedValue, keys_of, marks_of
from backreef.simulation.prepared import Prepared

STRONGEST_FIRST: tuple[Status, ...] = ("published", "calc", "memory", "practice")
STATUS_WORDS: Mapping[str, str] = {
    "published": "published",
    "calc": "worked out by us",
    "memory": "from memory",
    "practice": "common practice without a source",
}
PRACTICE, PRACTICE_WORDS = "practice", "common practice"
_YEAR = re.compile(r"\b(19|20)\d\d\b")


def values_of(prepared: Prepared) -> tuple[UsedValue, ...]:
    """Give every value that a forecast of the plan uses, the plan's own numbers and defaults apart."""
    marks = marks_of(prepared)
    return (*model_values(prepared, marks), *entry_values(prepared, marks))


def sources_of(prepared: Prepared) -> tuple[str, ...]:
    """Give the full text of each source behind the shown numbers, published first; the last line counts."""
    used, texts = values_of(prepared), source_texts(prepared.catalogue)
    best: dict[str, int] = {}
    for text, status in _words(prepared, used, texts):
        rank = STRONGEST_FIRST.index(status)
        best[text] = min(rank, best.get(text, rank))
    listed = sorted(best, key=lambda text: (best[text], text.lower()))
    return (*listed, _count_line(used))


def source_texts(catalogue: Catalogue) -> dict[str, str]:
    """Give the full text behind every source key; where two tables have a key, the longer text."""
    tables: tuple[Iterable[tuple[str, str]], ...] = (
        table_sources().items(),
        ((key, source.text) for key, source in catalogue.sources.items()),
    )
    texts: dict[str, str] = {}
    for key, text in (pair for table in tables for pair in table):
        texts[key] = max(texts.get(key, ""), text, key=len)
    return texts


def source_words(value: UsedValue, texts: Mapping[str, str]) -> list[str]:
    """Give the sources of a value in words; a key that no table explains stands as it is."""
    named = [texts.get(key, key) for key in value.source_keys]
    return [*named, in_words(value.source_text, texts)] if value.source_text else named


def in_words(source: str, texts: Mapping[str, str]) -> str:
    """Give a source in words: a cell may hold keys, or words already."""
    keys = keys_of(source)
    return "; ".join(texts[key] for key in keys) if keys and all(key in texts for key in keys) else source


def _words(
    prepared: Prepared, used: tuple[UsedValue, ...], texts: Mapping[str, str]
) -> Iterator[tuple[str, Status]]:
    for value in used:
        for text in source_words(value, texts):
            yield _plain(text, texts), _status(value.status)
    for taken in prepared.plan.assumptions:
        for key in keys_of(taken.source):
            if key in texts:
                yield _plain(texts[key], texts), _status(taken.status)


def _plain(text: str, texts: Mapping[str, str]) -> str:
    """Practice is one source, whatever is said of it, unless it names a publication."""
    if PRACTICE_WORDS in text.lower() and not _YEAR.search(text):
        text = texts[PRACTICE]
    return text.strip().removesuffix(".")


def _status(status: str) -> Status:
    return next((known for known in STATUSES if known == status), "practice")


def _counts(used: tuple[UsedValue, ...]) -> dict[Status, int]:
    counted = Counter(_status(value.status) for value in used)
    return {status: counted[status] for status in STRONGEST_FIRST}


def _count_line(used: tuple[UsedValue, ...]) -> str:
    parts = [f"{count} {STATUS_WORDS[status]}" for status, count in _counts(used).items()]
    return f"Of the {len(used)} values used here are {', '.join(parts[:-1])} and {parts[-1]}"
