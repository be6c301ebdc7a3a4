"""Words that a line of the log may use: a table of everyday ones, the catalogue, the plan's animals."""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from backreef.aquarium.plan import AnimalEntry
from backreef.aquarium.series import all_series
from backreef.catalogue.entries import Catalogue, Species
from backreef.catalogue.find import find, names, plain
from backreef.errors import BackreefError

WordKind = Literal["series", "task", "food", "thing", "group", "portion", "number", "kit"]
NEAR_RATIO = 0.6
"""Likeness, as difflib counts it, from which a word is offered for another."""
_DATA = Path(__file__).parent / "data"
_ASKED = 3


class NotUnderstood(BackreefError):
    """A part of a line that cannot be read; the message says what would be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """One everyday word and what it stands for."""

    word: str
    kind: WordKind
    means: str
    unit: str
    """The unit that the word implies; empty where it implies none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """Whom a name means, as far as it can be told."""

    name: str
    species: str | None
    animal: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Vocabulary:
    """All words that are known for one tank."""

    catalogue: Catalogue
    animals: tuple[AnimalEntry, ...] = ()
    """Those of the plan; none where no plan is at hand."""

    def food(self, name: str) -> str:
        """The food that a name means, or a complaint with the nearest."""
        known = meaning(name, "food") or meaning(_singular(name), "food")
        found = find(self.catalogue, "foods", name)
        if known is not None:
            return known
        if found.entry is not None:
            return found.entry.id
        near = [*nearest(name, _words("food"))[:1], *found.near]
        raise NotUnderstood(f"'{name}' is no food that is known here{_hint(near)}")

    def task(self, name: str) -> str | None:
        """The task that a name means; None if it is none."""
        known = meaning(name, "task")
        if known is not None:
            return known
        asked = plain(name)
        exact = (one.id for one in self.catalogue.tasks.values() if asked in {plain(x) for x in names(one)})
        return next(exact, None)

    def named(self, name: str) -> Named:
        """Whom a name means: of the plan's animals, of the catalogue, or a kind of animal at least."""
        for asked in dict.fromkeys((name, _singular(name))):
            found = self._in_plan(asked) or self._in_catalogue(asked)
            if found is not None:
                return Named(name=name, species=found[0], animal=found[1])
        group = meaning(name, "group") or meaning(_singular(name), "group")
        if group is not None or self._many(name):
            return Named(name=name, species=None, animal=None)
        near = [*find(self.catalogue, "species", name).near, *nearest(_singular(name), _words("group"))]
        raise NotUnderstood(f"'{name}' is no animal that is known here{_hint(near)}")

    def _many(self, name: str) -> bool:
        """Whether the words are words of names in the catalogue, as 'clownfish' or 'tang' of several."""
        wholes = [{word for one in names(entry) for word in plain(one).split()} for entry in self._species()]
        asked = [set(plain(one).split()) for one in (name, _singular(name))]
        return any(words and any(words <= whole for whole in wholes) for words in asked)

    def _species(self) -> tuple[Species, ...]:
        return tuple(self.catalogue.species.values())

    def _in_plan(self, name: str) -> tuple[str, str | None] | None:
        """Species and animal of the plan, where the name fits one species of it only."""
        asked = plain(name)
        by_id = [one for one in self.animals if asked in (plain(one.id), plain(_singular(one.id)))]
        group = meaning(name, "group")
        fitting = by_id or [one for one in self.animals if self._is_about(one, asked, group)]
        if len({one.species for one in fitting}) != 1:
            return None
        return fitting[0].species, fitting[0].id if len(fitting) == 1 else None

    def _is_about(self, animal: AnimalEntry, asked: str, group: str | None) -> bool:
        species = self.catalogue.species[animal.species]
        words = {word for one in names(species) for word in plain(one).split()}
        said = asked.split()
        told = bool(said) and all(any(word.startswith(part) for word in words) for part in said)
        return told or species.kind == group

    def _in_catalogue(self, name: str) -> tuple[str, str | None] | None:
        entry = find(self.catalogue, "species", name).entry
        return (entry.id, None) if isinstance(entry, Species) else None


@cache
def all_words() -> tuple[Word, ...]:
    """The table of everyday words."""
    with (_DATA / "words.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            Word(word=row["word"], kind=row["kind"], means=row["means"], unit=row["unit"])  # type: ignore[arg-type]
            for row in csv.DictReader(file)
        )


def word_of(text: str, kind: WordKind) -> Word | None:
    """The everyday word of a kind, however its letters and blanks are set."""
    asked = " ".join(text.lower().split())
    return next((one for one in all_words() if one.kind == kind and one.word == asked), None)


def meaning(text: str, kind: WordKind) -> str | None:
    """What a word of a kind stands for; None if it is none."""
    found = word_of(text, kind)
    return None if found is None else found.means


def count_of(text: str) -> int | None:
    """The number of '2' or 'two'; None if it is none."""
    if re.fullmatch(r"\d{1,6}", text):
        return int(text)
    word = meaning(text, "number")
    return None if word is None else int(word)


def nearest(text: str, words: Iterable[str]) -> list[str]:
    """The words that are most like a text, if any are; two at most."""
    return difflib.get_close_matches(text.lower(), list(words), n=2, cutoff=NEAR_RATIO)


def nearest_meaning(text: str) -> str:
    """The word that was probably meant by the beginning or the end of a text, with what it stands for."""
    letters = re.findall(r"[a-z][a-z0-9-]*", text.lower())
    if letters and (lacking := _lacking(letters[0])):
        return lacking
    for asked in (" ".join(letters[:2]), letters[0] if letters else "", letters[-1] if letters else ""):
        near = nearest(asked, (*_all_spellings(), *VERBS)) if len(asked) >= _ASKED - 1 else []
        if near:
            return f"did you mean {' or '.join(_explained(word) for word in near)}?"
    return ""


def _lacking(word: str) -> str:
    """What a known word still needs to say something."""
    if word in _GOES_ON:
        return f"write {_GOES_ON[word]}"
    if word_of(word, "series") or word in {one.word for one in all_series()}:
        return f"'{word}' needs a number behind it"
    return ""


def _explained(word: str) -> str:
    """A word in quotes, with what it stands for where that is another."""
    means = _all_spellings().get(word, "").replace("_", " ")
    return f"'{word}' ({means})" if means and means != word else f"'{word}'"


_GOES_ON = {
    "fed": "'fed double', 'fed half', 'fed nothing' or 'fed 0.4 g pellets'",
    "died": "'2 snails died'",
    "added": "'added 2 firefish 6 cm'",
}
"""How what begins with a verb goes on."""
VERBS = ("fed", "died", "added", "arrived", "eating", "not eating", "note:")
"""The words that make a feeding, a death, an addition, a sighting of appetite or a note."""


@cache
def _all_spellings() -> dict[str, str]:
    series = {one.word: one.word for one in all_series()}
    said = {one.word: one.means for one in all_words() if one.kind in ("series", "thing")}
    tasks = {one.word: "" for one in all_words() if one.kind == "task"}
    return series | said | tasks


def _words(kind: WordKind) -> list[str]:
    return [one.word for one in all_words() if one.kind == kind]


def _singular(name: str) -> str:
    for ending, instead in (("ies", "y"), ("shes", "sh"), ("ches", "ch"), ("s", "")):
        if name.endswith(ending) and not name.endswith("ss"):
            return name[: -len(ending)] + instead
    return name


def _hint(near: list[str]) -> str:
    shown = [f"'{one.replace('_', ' ')}'" for one in dict.fromkeys(near)][:2]
    return f"; did you mean {' or '.join(shown)}?" if shown else ""
