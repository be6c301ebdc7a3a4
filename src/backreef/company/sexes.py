"""Sexes of a kind: what a plan says of them, and whether such ones live in peace.

How a kind lives and whether it changes its sex is in data/sexes.csv, by genus before family. Where the plan
or the table says nothing, it stays unknown.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from backreef.catalogue.entries import Species
from backreef.company.findings import Found, Resident, Rule, Setting, Weight, about, rule_words, rules

_FIERCE = ("high", "very_high")
_PEACEFUL = ("none", "low")
_PAIR = 2
_WORDS = ("male", "female", "pair")
_CHANGES = ("larger", "turns")
"""Words of a social rule that say that sex follows size or rank."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mating:
    """How a kind lives with its own."""

    lives: str
    """pair, harem, group, alone, or any: each is both sexes at once."""
    change: str
    """none, male_first, female_first, both_ways or unknown."""
    females_least: int | None
    """Females to one male below which he gives them no rest; None: no number known."""
    place: str
    source: str
    status: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sexes:
    """What a plan says of the sexes of all its animals of a kind."""

    males: int
    females: int
    young: int
    unknown: int

    @property
    def said(self) -> bool:
        """Whether the plan says something of each."""
        return self.unknown == 0


@cache
def _table() -> dict[str, Mating]:
    path = files("backreef.company") / "data" / "sexes.csv"
    with path.open(encoding="utf-8") as file:
        return {row["tag"]: _mating(row) for row in csv.DictReader(file, strict=True)}


def _mating(row: dict[str, str]) -> Mating:
    return Mating(
        lives=row["lives"],
        change=row["change"],
        females_least=int(row["females_least"]) if row["females_least"] else None,
        place=row["place"],
        source=str(rules()["sources"][row["source"]]),
        status=row["status"],
    )


def mating_tags() -> frozenset[str]:
    """Every tag of the table."""
    return frozenset(_table())


def mating_of(species: Species) -> Mating | None:
    """How a kind lives with its own: by its genus, else by its family; None where nothing is known."""
    for prefix in ("genus_", "family_"):
        for tag in sorted(species.tags):
            if tag.startswith(prefix) and tag in _table():
                return _table()[tag]
    return None


def mating_words(mating: Mating) -> str:
    """How a kind lives with its own and whether it changes its sex, in a sentence without its point."""
    lives = {
        "pair": "lives in pairs",
        "harem": "one male with females",
        "group": "lives in groups, in which sexes do not matter for peace",
        "alone": "lives alone or loosely among its kind",
        "any": "any two are a pair",
    }[mating.lives]
    change = _change_words(mating) or {
        "none": "it keeps its sex",
        "unknown": "whether it changes is not known",
    }.get(mating.change, "")
    return "; ".join(filter(None, (lives, change if mating.lives != "any" else "")))


def sexes_of(species_id: str, setting: Setting) -> Sexes:
    """What the plan says of the sexes of a kind, over all its entries."""
    males = females = young = unknown = 0
    for one in setting.residents:
        if one.species.id != species_id:
            continue
        count, sex = one.entry.count, one.entry.sex
        young += count if sex == "young" else 0
        unknown += count if sex is None else 0
        males += count if sex == "male" else 1 if sex in ("pair", "harem") else 0
        females += count if sex == "female" else count - 1 if sex in ("pair", "harem") else 0
    return Sexes(males=males, females=females, young=young, unknown=unknown)


def clashes(mating: Mating, sexes: Sexes) -> Iterator[str]:
    """Why such sexes do not live in peace; empty where they do, or where it is not known."""
    pair = mating.lives == "pair"
    keeps_males = mating.change in ("none", "female_first")
    if sexes.males > 1 and keeps_males and mating.lives != "group":
        yield f"{sexes.males} males: males of this kind fight, and a male does not turn back"
    if sexes.males > 1 and mating.change == "unknown":
        yield f"{sexes.males} males in a kind that lives in pairs"
    if sexes.females > 1 and pair and mating.change in ("none", "male_first", "unknown"):
        why = "the largest female suffers no second one, and a female does not turn back"
        yield f"{sexes.females} females: " + (why if mating.change == "male_first" else "it lives in pairs")
    short = mating.females_least is not None and 0 < sexes.females < mating.females_least
    if sexes.males == 1 and short and mating.lives == "harem":
        yield f"{sexes.females} to one male: he drives them all day; {mating.females_least} or more share it"


def in_peace(first: Resident, setting: Setting, *, heads: int) -> bool:
    """Whether so many of a kind live in peace, by number and by what is said of their sexes."""
    species, mating = first.species, mating_of(first.species)
    sexes = sexes_of(species.id, setting)
    if mating is not None and any(True for _ in clashes(mating, sexes)):
        return False
    most = species.group_max_count
    within = species.group_min_count <= heads and (most is None or heads <= most)
    return within or is_known_pair(first, setting, heads=heads)


def is_known_pair(first: Resident, setting: Setting, *, heads: int) -> bool:
    """Whether the plan says that its two are a pair, of a kind of which a pair can live together."""
    sexes = sexes_of(first.species.id, setting)
    rule = first.species.social_rule
    able = "pair" in rule or "a female" in rule
    return heads == _PAIR and able and (sexes.males, sexes.females) == (1, 1)


def known_sexes(setting: Setting) -> Found:
    """Two or more of a kind whose sexes, as the plan gives them, do not live in peace, or are not known."""
    for one, count in setting.by_species:
        if count < _PAIR:
            continue
        mating, sexes = mating_of(one.species), sexes_of(one.species.id, setting)
        if mating is not None and mating.lives == "any":
            continue
        if mating is not None and (reasons := list(clashes(mating, sexes))):
            yield about(
                one,
                setting,
                rule="sexes",
                weight=_weight(one, mating),
                what=f"{one.species.common_name}: sexes that do not live in peace",
                why="; ".join(reasons),
                condition=_change_words(mating) or one.species.social_rule,
            )
        elif not sexes.said:
            yield from _not_said(one, count, mating, setting)
        elif mating is not None:
            yield from _will_change(one, mating, sexes, setting)


def _weight(one: Resident, mating: Mating) -> Weight:
    return "serious" if kills_its_own(one.species) and mating.change != "unknown" else "caution"


def kills_its_own(species: Species) -> bool:
    """Whether too many of a kind, or the wrong sexes, end in deaths and not only in chases."""
    said = any(word in species.social_rule for word in rule_words("own_kind", "grave"))
    return said or species.aggression in _FIERCE


def _not_said(one: Resident, count: int, mating: Mating | None, setting: Setting) -> Found:
    rule = one.species.social_rule
    within = one.species.group_min_count <= count <= (one.species.group_max_count or count)
    if not within or (mating is None and not any(word in rule for word in _WORDS)):
        return
    if mating is not None and mating.lives in ("group", "alone"):
        return
    changes = any(word in rule for word in _CHANGES) or (mating is not None and _sorts_itself_out(mating))
    grave = one.species.aggression not in _PEACEFUL and not changes
    yield about(
        one,
        setting,
        rule="sexes",
        weight="caution" if grave else "note",
        what=f"{one.species.common_name}: unknown: whether the {count} are of sexes that live in peace",
        why="the plan does not say of which `sex` they are"
        + (f"; {_change_words(mating)}" if mating is not None and _change_words(mating) else ""),
        condition=rule,
    )


def _will_change(one: Resident, mating: Mating, sexes: Sexes, setting: Setting) -> Found:
    """What becomes of sexes that are said and do not clash."""
    if sexes.young and mating.change in ("none", "unknown") and mating.lives != "group":
        yield about(
            one,
            setting,
            rule="sexes",
            weight="note",
            what=f"{one.species.common_name}: unknown: of which sex the {sexes.young} young will be",
            why="this kind does not sort it out by changing, as far as is known: two males may be among them",
            condition="a place for the one that is driven off, before they are grown",
        )
    elif not sexes.males and mating.change == "female_first":
        yield about(
            one,
            setting,
            rule="sexes",
            weight="note",
            what=f"{one.species.common_name}: the largest will turn male",
            why=f"no male among {sexes.females + sexes.young}; {mating.place}",
            condition="it takes weeks, with chasing while it lasts; a male that is added later meets a rival",
        )


def _sorts_itself_out(mating: Mating) -> bool:
    return mating.change in ("male_first", "female_first", "both_ways")


def _change_words(mating: Mating | None) -> str:
    """What a change of sex does, in words; empty where there is none."""
    if mating is None:
        return ""
    return {
        "male_first": "young ones are male, and the largest turns female",
        "female_first": "young ones are female, and the largest turns male",
        "both_ways": "of any two the larger one turns male, the other female",
    }.get(mating.change, "")


RULES = (
    Rule(
        name="sexes",
        look=known_sexes,
        reads=("group_min_count", "group_max_count", "social_rule", "aggression", "tags"),
        plan=("animals[].count", "animals[].sex"),
    ),
)
