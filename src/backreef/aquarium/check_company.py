"""Checks of animals in pairs: who eats whom, and who fights whom."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from backreef.aquarium.findings import (
    CheckFinding,
    Resident,
    Setting,
    Weight,
    rule_number,
    rules,
    source_text,
)
from backreef.catalogue.entries import Safe, Species, known

_OWN = "own_species_or_genus"
_NEWCOMER = "any_newcomer"
_NEIGHBOUR = "coral_neighbour"
_BURROWER = "burrower"
_FIERCE = ("high", "very_high")
_WEIGHT_OF: dict[Safe, Weight | None] = {
    "safe": None,
    "mostly": "note",
    "risk": "caution",
    "unsafe": "serious",
}
_BITTEN = ("soft", "lps", "sps", "clams")
"""Columns that speak for themselves: whoever bites these does so whatever else it eats."""
_LIKELY: tuple[Safe, ...] = ("risk", "unsafe")
_HOSTS, _GUESTS = "anemone", "anemonefish"


def check_predators(setting: Setting) -> Iterator[CheckFinding]:
    """An animal that eats, nips or picks at another of the plan."""
    for eater in setting.residents:
        for prey in setting.residents:
            if eater.species.id == prey.species.id:
                continue
            weight = _danger(eater.species, prey)
            if weight is None:
                continue
            condition = eater.species.safety_condition
            reason = condition or "it eats such animals"
            yield CheckFinding(
                id=f"eats.{eater.entry.id}.{prey.entry.id}",
                balance="mouths",
                weight=weight,
                who=prey.species.common_name,
                what=f"{eater.species.common_name} may eat or nip {prey.called}",
                why=reason,
                source=source_text(setting.catalogue, "practice"),
                status=eater.species.status,
            )


def _danger(eater: Species, prey: Resident) -> Weight | None:
    """How grave it is, by the catalogue's columns of who is safe with whom."""
    if _HOSTS in eater.tags and _GUESTS in prey.species.tags:
        return None
    tokens = set(eater.eats) - set(rules()["no_prey"]["tokens"])
    if prey.species.kind == "fish":
        return _danger_to_fish(eater, prey)
    for tag, column in rules()["prey_tags"].items():
        if tag not in prey.species.tags:
            continue
        if not column:
            return "caution" if tokens & prey.species.tags else None
        grade = _safe(eater, column)
        hunted = column in _BITTEN or grade in _LIKELY or bool(tokens & prey.species.tags)
        return _WEIGHT_OF[grade] if hunted else None
    return None


def _danger_to_fish(eater: Species, prey: Resident) -> Weight | None:
    """Only fish that fit its mouth are in danger."""
    adult = known(eater.adult_length_cm)
    length = _length_cm(prey)
    if adult is None or length is None or length > rule_number("prey_length_frac") * adult.value:
        return None
    return _WEIGHT_OF[eater.safe_small_fish]


def _length_cm(one: Resident) -> float | None:
    """Length on arrival, as the plan has it or as usually sold."""
    usual = known(one.species.purchase_length_cm)
    return one.entry.length_cm if one.entry.length_cm is not None else usual.value if usual else None


def _safe(eater: Species, column: str) -> Safe:
    found: Safe = getattr(eater, f"safe_{column}")
    return found


def check_rivals(setting: Setting) -> Iterator[CheckFinding]:
    """Two entries of the plan that fight, in either direction once."""
    residents = setting.residents
    for number, one in enumerate(residents):
        for other in residents[number + 1 :]:
            reasons = [
                reason
                for pair in ((one, other), (other, one))
                for reason in _quarrel(*pair, words=setting.catalogue.tokens)
            ]
            if not reasons:
                continue
            stings = one.species.kind == "coral" and other.species.kind == "coral"
            fierce = any(each.species.aggression in _FIERCE for each in (one, other))
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
            )


def _quarrel(one: Resident, other: Resident, *, words: Mapping[str, str]) -> Iterator[str]:
    """Why the first fights the second; empty if it does not."""
    if one.species.id == other.species.id:
        return
    for token in one.species.fights_with:
        if token == _OWN:
            if _genus(one.species) & _genus(other.species):
                yield f"{one.species.common_name} fights its close relatives"
        elif token == _NEWCOMER:
            if one.species.aggression in _FIERCE and _comes_first(one, other):
                yield f"{one.species.common_name} is there first and attacks what comes after it"
        elif token == _NEIGHBOUR and token in other.species.tags:
            yield "they sting or crowd each other: leave room between them"
        elif token in other.species.tags and not _shares_burrow(token, one, other):
            yield f"{one.species.common_name} fights {words.get(token, token)}"


def _genus(species: Species) -> frozenset[str]:
    return frozenset(tag for tag in species.tags if tag.startswith("genus_"))


def _comes_first(one: Resident, other: Resident) -> bool:
    """Whether the first fish has its place before the second one comes."""
    if one.species.kind != "fish" or other.species.kind != "fish":
        return False
    first, second = one.entry.arrives_on, other.entry.arrives_on
    return second is not None and (first is None or first < second)


def _shares_burrow(token: str, one: Resident, other: Resident) -> bool:
    """A goby and a snapping shrimp live in one burrow; two of the same sort fight for it."""
    return token == _BURROWER and one.species.kind != other.species.kind
