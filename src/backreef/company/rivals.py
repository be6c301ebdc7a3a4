"""Rules of rivals: whoever fights by name, and whoever lives in the same place from the same food."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from backreef.catalogue.entries import Species, known
from backreef.company.findings import (
    CheckFinding,
    Found,
    Resident,
    Rule,
    Setting,
    Weight,
    rule_number,
    rule_source,
    rule_words,
    source_text,
)
from backreef.company.food import FED_BY_TANK

OWN = "own_species_or_genus"
NEWCOMER = "any_newcomer"
_NEIGHBOUR = "coral_neighbour"
_BURROWER = "burrower"
FIERCE = ("high", "very_high")
QUARRELSOME = ("medium", *FIERCE)
_APART = ("leave 15 to 20 cm between them, more where one has long tentacles",)
_POD_HUNTERS = ("pod_picker",)
_POD_TAG = "pod_eater"
_NAMED = 6


def fights(setting: Setting) -> Found:
    """Two entries of the plan that fight, in either direction once."""
    for one, other in combinations(setting.residents, 2):
        reasons = [reason for pair in ((one, other), (other, one)) for reason in quarrels(*pair, setting)]
        if not reasons:
            continue
        stings = one.species.kind == "coral" and other.species.kind == "coral"
        fierce = any(each.species.aggression in FIERCE for each in (one, other))
        weight: Weight = "note" if stings else "serious" if fierce else "caution"
        yield CheckFinding(
            id=f"fights.{one.entry.id}.{other.entry.id}",
            balance="mouths",
            weight=weight,
            who=f"{one.species.common_name}, {other.species.common_name}",
            what=f"{one.species.common_name} and {other.species.common_name} do not get on",
            why="; ".join(dict.fromkeys(reasons)),
            source=source_text(setting.catalogue, "practice"),
            status="practice",
            condition="" if stings else _order(one, other, setting),
            remedies=_APART if stings else (),
        )


def quarrels(one: Resident, other: Resident, setting: Setting) -> Iterator[str]:
    """Why the first fights the second; empty if it does not."""
    if one.species.id == other.species.id:
        return
    for token in one.species.fights_with:
        if token == OWN:
            if genus(one.species) & genus(other.species):
                yield f"{one.species.common_name} fights its close relatives"
        elif token == NEWCOMER:
            if one.species.aggression in FIERCE and comes_first(one, other):
                yield f"{one.species.common_name} is there first and attacks what comes after it"
        elif token == _NEIGHBOUR and token in other.species.tags:
            yield "they sting or crowd each other: leave room between them"
        elif token in other.species.tags and not _shares_burrow(token, one, other):
            yield f"{one.species.common_name} fights {setting.catalogue.tokens.get(token, token)}"


def genus(species: Species) -> frozenset[str]:
    """The tags that say its genus."""
    return frozenset(tag for tag in species.tags if tag.startswith("genus_"))


def comes_first(one: Resident, other: Resident) -> bool:
    """Whether the first fish has its place before the second one comes."""
    if not one.is_fish or not other.is_fish:
        return False
    first, second = one.entry.arrives_on, other.entry.arrives_on
    return second is not None and (first is None or first < second)


def _shares_burrow(token: str, one: Resident, other: Resident) -> bool:
    """A goby and a snapping shrimp live in one burrow; two of the same sort fight for it."""
    return token == _BURROWER and one.species.kind != other.species.kind


def _order(one: Resident, other: Resident, setting: Setting) -> str:
    """What order and size do to it in this plan."""
    if not one.is_fish or not other.is_fish:
        return ""
    bold, meek = sorted((one, other), key=lambda each: each.species.aggression in FIERCE, reverse=True)
    early = setting.comes_on(bold) < setting.comes_on(meek)
    large, small = bold.length_cm, meek.length_cm
    words = [f"worse, as {bold.species.common_name} holds its place first"] if early else []
    if large is not None and small is not None and large > small:
        words.append(f"worse, as {bold.species.common_name} is the larger on arrival")
    words.append("hungry fish chase more: two or three times as often")
    return "; ".join(words)


def same_niche(setting: Setting) -> Found:
    """Two quarrelsome fish of like size that live in the same place from the same food."""
    for one, other in combinations(setting.residents, 2):
        if not _alike(one.species, other.species):
            continue
        if any(True for pair in ((one, other), (other, one)) for _ in quarrels(*pair, setting)):
            continue
        source, status = rule_source("like_size_ratio")
        yield CheckFinding(
            id=f"niche.{one.entry.id}.{other.entry.id}",
            balance="mouths",
            weight="note",
            who=f"{one.species.common_name}, {other.species.common_name}",
            what=f"{one.species.common_name} and {other.species.common_name} want the same place and food",
            why=f"both live '{one.species.zone}' as {setting.guild(one).name.lower()}, and are of like size",
            source=source,
            status=status,
            condition="enough holes, food in two places, and the bolder one last help",
        )


def _alike(one: Species, other: Species) -> bool:
    first, second = known(one.adult_length_cm), known(other.adult_length_cm)
    if first is None or second is None or one.id == other.id:
        return False
    both_fish = one.kind == other.kind == "fish"
    ratio = max(first.value, second.value) / min(first.value, second.value)
    return (
        both_fish
        and one.guild == other.guild
        and one.zone == other.zone
        and all(each.aggression in QUARRELSOME for each in (one, other))
        and ratio <= rule_number("like_size_ratio")
    )


def share_pods(setting: Setting) -> Found:
    """A hunter of pods that has to share them."""
    hunters = [one for one in setting.residents if one.species.guild in _POD_HUNTERS]
    for one in hunters:
        others = [
            other
            for other in setting.residents
            if other.entry.id != one.entry.id and _POD_TAG in other.species.tags
        ]
        same = one.entry.count > 1
        if not others and not same:
            continue
        listed = [other.called for other in others[:_NAMED]]
        more = [f"{len(others) - _NAMED} more"] if len(others) > _NAMED else []
        names = ", ".join([*listed, *more]) or f"its own kind, {one.entry.count} in all"
        yield CheckFinding(
            id=f"pods.{one.entry.id}",
            balance="mouths",
            weight="caution",
            who=one.species.common_name,
            what=f"{one.called}: has to share its pods",
            why=f"pods are also hunted by {names}; a second mouth takes a third to four fifths of the stock",
            source=source_text(setting.catalogue, "practice"),
            status="practice",
            condition="goes where a refugium makes pods for all of them, or where all take frozen food",
        )


def too_slow(setting: Setting) -> Found:
    """A slow feeder at meals that quick fish empty first."""
    quick = [
        one
        for one in setting.residents
        if one.is_fish
        and setting.guild(one).feeds_on["particles_in_water"].value > 0
        and setting.guild(one).pace_ratio.value >= rule_number("quick_pace_ratio")
    ]
    for one in setting.residents:
        slow = one.is_fish and setting.guild(one).pace_ratio.value <= rule_number("slow_pace_ratio")
        if not quick or not slow or one.species.forage_replaces in FED_BY_TANK:
            continue
        names = ", ".join(dict.fromkeys(other.species.common_name for other in quick[:_NAMED]))
        source, status = rule_source("slow_pace_ratio")
        yield CheckFinding(
            id=f"pace.{one.entry.id}",
            balance="mouths",
            weight="serious" if one.species.guild in rule_words("flow", "calm_guilds") else "caution",
            who=one.species.common_name,
            what=f"{one.called}: too slow for the company at meals",
            why=f"{names} empty the water before it has found a bite",
            source=source,
            status=status,
            condition="lives in a tank of its own, or with others as slow",
        )


RULES = (
    Rule(
        name="fights",
        look=fights,
        reads=("fights_with", "tags", "aggression", "purchase_length_cm"),
        plan=("animals[].arrives_on", "animals[].length"),
    ),
    Rule(name="niche", look=same_niche, reads=("guild", "zone", "aggression", "adult_length_cm")),
    Rule(name="pods", look=share_pods, reads=("guild", "tags"), plan=("animals[].count",)),
    Rule(name="pace", look=too_slow, reads=("guild", "forage_replaces")),
)
