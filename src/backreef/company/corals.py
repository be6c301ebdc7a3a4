"""Rules of harm to corals and clams, with what changes it: how well fed the fish are, and who came first."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.catalogue.entries import Safe
from backreef.company.eaten import WEIGHT_OF, at_home_with
from backreef.company.findings import (
    CheckFinding,
    Found,
    Resident,
    Rule,
    Setting,
    Weight,
    rule_number,
    rules,
    word_of,
)
from backreef.company.food import given_kj_per_d, needed_kj_per_d

_COVER = {"soft": ("soft",), "lps": ("lps",), "sps": ("sps",), "mixed": ("soft", "lps", "sps"), "none": ()}
_COLUMN_WORDS = {"soft": "soft corals", "lps": "corals with large polyps", "sps": "corals with small polyps"}
_BITES: dict[Weight, str] = {"serious": "will eat", "caution": "may bite", "note": "might bite"}
HUNGRY_FED_RATIO = 1.0
"""Food over need at which a picker is as full as it gets."""


def bites(setting: Setting) -> Found:
    """An animal that nips or eats a coral or clam of the plan, and what makes it more or less likely."""
    for eater in setting.residents:
        for prey in setting.residents:
            grade = _grade(eater, prey)
            weight = WEIGHT_OF[grade] if grade is not None else None
            if weight is None:
                continue
            word = word_of(setting, eater)
            yield CheckFinding(
                id=f"nips.{eater.entry.id}.{prey.entry.id}",
                balance="mouths",
                weight=weight,
                who=prey.species.common_name,
                what=f"{eater.species.common_name} {_BITES[weight]} {prey.called}",
                why=eater.species.safety_condition or "it bites such corals and clams",
                source=word.source,
                status=word.status,
                condition="; ".join(_conditions(eater, prey, setting)),
            )


def _grade(eater: Resident, prey: Resident) -> Safe | None:
    """How safe a coral or clam is with an animal; None where it is neither, or its own kind."""
    if eater.species.id == prey.species.id or at_home_with(eater.species, prey.species):
        return None
    for tag, column in rules()["bitten_tags"].items():
        if tag in prey.species.tags:
            found: Safe = getattr(eater.species, f"safe_{column}")
            return found
    return None


def _conditions(eater: Resident, prey: Resident, setting: Setting) -> Iterator[str]:
    if not eater.is_fish:
        return
    ratio = fed_ratio(setting)
    fish_first = setting.comes_on(eater) < setting.comes_on(prey)
    likely = nip_ratio(1.0 if ratio is None else ratio, fish_first=fish_first)
    yield f"nips about {likely:.1f} times as often as a well-fed fish that came after the corals"
    if ratio is None:
        yield "the meals follow the need"
    else:
        yield f"the meals hold {ratio:.1f} times what the fish need while they grow"
    yield "the fish was there before it" if fish_first else "it was there before the fish, or with it"


def fed_ratio(setting: Setting) -> float | None:
    """Energy of the meals over what the fish need to grow; None where meals follow the need."""
    given, needed = given_kj_per_d(setting), needed_kj_per_d(setting)
    return None if given is None or needed <= 0 else given / needed


def nip_ratio(fed_over_need_ratio: float, *, fish_first: bool) -> float:
    """How often a doubtful fish nips, over a well-fed one that came after the corals.

    Validity
    --------
    Dwarf angelfish, foxfaces and the like; linear between starved and well fed, never zero.

    Source
    ------
    Common practice, no source: 30 to 80 % fewer nips at high feeding; fish that were there before the
    corals take less notice of them.
    """
    full = min(max(fed_over_need_ratio, 0.0), HUNGRY_FED_RATIO) / HUNGRY_FED_RATIO
    hungry = 1.0 + (rule_number("nips_hungry_ratio") - 1.0) * (1.0 - full)
    return hungry / (rule_number("nips_corals_first_ratio") if fish_first else 1.0)


def bites_the_cover(setting: Setting) -> Found:
    """An animal that nips corals of the kind with which the tank is covered, though none is listed."""
    tank = setting.plan.tank
    columns = [
        column
        for column in _COVER.get(tank.corals, ())
        if tank.coral_cover_frac > 0 and f"coral_{column}" not in setting.tokens
    ]
    for eater in setting.residents:
        unsafe = [
            column for column in columns if getattr(eater.species, f"safe_{column}") in ("risk", "unsafe")
        ]
        if not unsafe:
            continue
        grave = any(getattr(eater.species, f"safe_{column}") == "unsafe" for column in unsafe)
        word = word_of(setting, eater)
        yield CheckFinding(
            id=f"cover.{eater.entry.id}",
            balance="mouths",
            weight="serious" if grave else "caution",
            who=eater.species.common_name,
            what=f"{eater.called}: a risk for the corals of this tank",
            why=eater.species.safety_condition
            or f"not safe with {', '.join(_COLUMN_WORDS[column] for column in unsafe)}",
            source=word.source,
            status=word.status,
            condition="unknown: which corals they are, as the plan lists none; list them to know more",
        )


RULES = (
    Rule(
        name="nips",
        look=bites,
        reads=("safe_soft", "safe_lps", "safe_sps", "safe_clams", "safety_condition", "tags"),
        plan=("meals", "animals[].arrives_on"),
    ),
    Rule(
        name="cover",
        look=bites_the_cover,
        reads=("safe_soft", "safe_lps", "safe_sps", "safety_condition"),
        plan=("tank.corals", "tank.coral_cover"),
    ),
)
