"""What the keeper's wishes ask for: which animals would fulfil each, and how many of them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from backreef.aquarium.plan import Plan, Wish
from backreef.catalogue.entries import Catalogue, Pool, Species, known
from backreef.company.findings import rule_number
from backreef.planning.numbers import count, number, table
from backreef.simulation.tables import InItsUnit

_GRAZED: tuple[Pool, ...] = ("film_algae", "turf_algae", "macro_algae")
Test = Callable[[Species, Catalogue], bool]
_WORD = re.compile(r"[a-z]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadWish:
    """A wish with the animals that would fulfil it."""

    id: str
    text: str
    weight: InItsUnit
    species: frozenset[str]
    """Empty where the wish names nothing that the catalogue knows: then it is not counted."""
    least_count: int
    """How many of one kind it takes."""
    named: bool
    """Whether the plan names the animals itself."""
    together: bool = False
    """Whether it is met by all of its animals alone, and not by any of them."""

    @property
    def counted(self) -> bool:
        """Whether a plan can be measured by it."""
        return bool(self.species)


def read_wishes(plan: Plan, catalogue: Catalogue) -> tuple[ReadWish, ...]:
    """Give every wish of a plan as it was understood; a surprise is what nothing else asks for."""
    read = [_read(f"wish{number + 1}", wish, catalogue) for number, wish in enumerate(plan.keeper.wishes)]
    asked = {species for wish in read if not _surprises(wish) for species in wish.species}
    there = {entry.species for entry in plan.animals}
    return tuple(
        replace(wish, species=wish.species - asked - there) if _surprises(wish) else wish for wish in read
    )


def _surprises(wish: ReadWish) -> bool:
    return not wish.named and _has(wish.text, table("wishes")["surprise"]["words"])


def _read(wish_id: str, wish: Wish, catalogue: Catalogue) -> ReadWish:
    least = max((count(name) for name in _numbers(wish.text)), default=1)
    found = wish.species or tuple(one.id for one in _meant(wish.text, least, catalogue))
    return ReadWish(
        id=wish_id,
        text=wish.text,
        weight=wish.weight,
        species=frozenset(found),
        least_count=least,
        named=bool(wish.species),
        together=len(wish.species) > 1 and _has(wish.text, table("wishes")["together"]["words"]),
    )


def _has(text: str, words: list[str]) -> bool:
    """Whether a text has one of some words or phrases."""
    spoken = f" {' '.join(_WORD.findall(text.lower()))} "
    return any(f" {word} " in spoken for word in words)


def _numbers(text: str) -> Iterator[str]:
    for name, words in table("wishes")["numbers_wanted"].items():
        if _has(text, words):
            yield name


def _meant(text: str, least_count: int, catalogue: Catalogue) -> Iterator[Species]:
    """The animals that a wish without names means: those that fit each of its words."""
    tests: list[Test] = [
        *([grazes] if _has(text, table("wishes")["grazes"]["words"]) else []),
        *([_anything] if _has(text, table("wishes")["surprise"]["words"]) else []),
        *(_Cleans(tuple(what)) for word, what in table("wishes")["cleans"].items() if _has(text, [word])),
        *(_Tagged(tag) for word, tag in table("wishes")["tags"].items() if _has(text, [word])),
    ]
    if not tests and least_count > 1:
        tests = [_Tagged("fish")]
    for one in catalogue.species.values():
        fits = bool(tests) and all(test(one, catalogue) for test in tests)
        if fits and _lives_as(one, least_count) and _is_seen(one):
            yield one


def _is_seen(one: Species) -> bool:
    """Whether it is large enough when grown to be seen; what is not known is not held against it."""
    adult = known(one.adult_length_cm)
    return adult is None or adult.value > number("least_seen_cm")


def _lives_as(one: Species, least_count: int) -> bool:
    """Whether so many of a kind live together."""
    return one.group_max_count is None or one.group_max_count >= least_count


def grazes(one: Species, catalogue: Catalogue) -> bool:
    """Whether an animal eats enough algae to count as a grazer."""
    likes = catalogue.guilds[one.guild].feeds_on
    return max(likes[pool].value for pool in _GRAZED) >= rule_number("crew_grazes_frac")


def _anything(one: Species, _: Catalogue) -> bool:
    return one.kind not in ("pod", "coral")


@dataclass(frozen=True, slots=True)
class _Cleans:
    what: tuple[str, ...]

    def __call__(self, one: Species, _: Catalogue) -> bool:
        return any(each in one.cleans for each in self.what)


@dataclass(frozen=True, slots=True)
class _Tagged:
    tag: str

    def __call__(self, one: Species, _: Catalogue) -> bool:
        return self.tag in one.tags
