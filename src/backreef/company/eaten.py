"""Rules of predators and prey: who fits whose mouth, now and later, and who hunts whom whatever its size."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from backreef.catalogue.entries import Safe, Species, known
from backreef.company.findings import (
    CheckFinding,
    Found,
    Lacking,
    Resident,
    Rule,
    Setting,
    Weight,
    rule_number,
    rule_source,
    rule_words,
    rules,
    word_of,
)
from backreef.company.growing import length_on_cm
from backreef.units import DAYS_PER_YEAR

WEIGHT_OF: dict[Safe, Weight | None] = {
    "safe": None,
    "mostly": "note",
    "risk": "caution",
    "unsafe": "serious",
}
_LIKELY: tuple[Safe, ...] = ("risk", "unsafe")
_HOSTS = "anemone"
LOOKS_AHEAD_D = 91
"""Days between two looks at how large both are; a numerical choice."""
EATS: dict[Weight, str] = {"serious": "will eat", "caution": "may eat", "note": "might eat"}
YEARS_AHEAD = 10.0


def swallowed(setting: Setting) -> Found:
    """A fish that fits another's mouth, on the day it comes or on any later day as both grow."""
    for eater, prey in pairs(setting):
        if not prey.is_fish or at_home_with(eater.species, prey.species):
            continue
        weight = WEIGHT_OF[eater.species.safe_small_fish]
        if weight is None:
            continue
        if prey.length_cm is None or known(eater.species.adult_length_cm) is None:
            yield Lacking(one=prey if prey.length_cm is None else eater, fact="the length")
            continue
        fits = _days_it_fits(eater, prey, setting)
        if fits is None:
            continue
        first, last = fits
        source, status = rule_source(_share_name(eater))
        yield CheckFinding(
            id=f"eats.{eater.entry.id}.{prey.entry.id}",
            balance="mouths",
            weight=weight,
            who=prey.species.common_name,
            what=f"{eater.species.common_name} {EATS[weight]} {prey.called}",
            why=_sizes(eater, prey, setting, first),
            source=source,
            status=status,
            condition=_while((eater, prey), setting, first, last),
            from_on=first,
        )


def pairs(setting: Setting) -> Iterator[tuple[Resident, Resident]]:
    """Each entry with each other of another species."""
    for eater in setting.residents:
        for prey in setting.residents:
            if eater.species.id != prey.species.id:
                yield eater, prey


def at_home_with(eater: Species, prey: Species) -> bool:
    """Whether the one is the other's anemone."""
    return _HOSTS in eater.tags and bool(prey.tags & rule_words("guests", "tags"))


def _share_name(eater: Resident) -> str:
    for group, number in (("swallows", "swallowed_length_frac"), ("grips", "gripped_length_frac")):
        if eater.species.tags & rule_words(group, "tags"):
            return number
    return "prey_length_frac"


def _first_day(eater: Resident, prey: Resident, setting: Setting) -> date:
    return max(setting.comes_on(eater), setting.comes_on(prey))


def _days_it_fits(eater: Resident, prey: Resident, setting: Setting) -> tuple[date, date | None] | None:
    """First and last day on which the prey fits, None as the last where it always will; None if never."""
    first, last = None, None
    for day in range(0, round(YEARS_AHEAD * DAYS_PER_YEAR), LOOKS_AHEAD_D):
        on = _first_day(eater, prey, setting) + timedelta(days=day)
        large, small = length_on_cm(eater, setting, on), length_on_cm(prey, setting, on)
        gape_cm = rule_number(_share_name(eater)) * (large or 0.0)
        fits = large is not None and small is not None and slender_cm(prey.species, small) <= gape_cm
        if fits and first is None:
            first = on
        if not fits and first is not None:
            last = on
            break
    return None if first is None else (first, last)


def slender_cm(prey: Species, length_cm: float) -> float:
    """Length of a slender fish that is as hard to swallow as this one of this length. [cm]

    Validity
    --------
    Deep-bodied fish count for more, as the square root of their mass over that of a slender one; slender
    ones and those of unknown mass count as they are.

    Source
    ------
    Own rule: the gape limits depth, and depth times width goes with mass over length.
    """
    a, b = known(prey.weight_a_g), known(prey.weight_b_ratio)
    if a is None or b is None:
        return length_cm
    filled_ratio = a.value * length_cm ** (b.value - 3.0) / rule_number("slender_g_per_cm3")
    return float(length_cm * max(1.0, filled_ratio) ** 0.5)


def _sizes(eater: Resident, prey: Resident, setting: Setting, on: date) -> str:
    large, small = length_on_cm(eater, setting, on), length_on_cm(prey, setting, on)
    return (
        f"on {on} it measures {large or 0.0:.2g} cm and {prey.species.common_name} {small or 0.0:.2g} cm; "
        f"it takes slender fish up to {100 * rule_number(_share_name(eater)):.0f} % of its own length"
    )


def _while(pair: tuple[Resident, Resident], setting: Setting, first: date, last: date | None) -> str:
    eater, _ = pair
    words = [eater.species.safety_condition] if eater.species.safety_condition else []
    if first > max(setting.comes_on(one) for one in pair):
        words.append(f"not before about {first:%B %Y}, as the one grows faster than the other")
    if last is not None:
        words.append(f"until about {last:%B %Y}: then it is too large to be swallowed")
    return "; ".join(words)


def hunted(setting: Setting) -> Found:
    """A shrimp, snail, worm, fish that holds on, or other small animal that something in the plan eats."""
    for eater, prey in pairs(setting):
        if at_home_with(eater.species, prey.species):
            continue
        weight = (
            _seized(eater.species, prey.species) if prey.is_fish else _danger(eater.species, prey.species)
        )
        if weight is None:
            continue
        word = word_of(setting, eater)
        yield CheckFinding(
            id=f"hunts.{eater.entry.id}.{prey.entry.id}",
            balance="mouths",
            weight=weight,
            who=prey.species.common_name,
            what=f"{eater.species.common_name} {EATS[weight]} {prey.called}",
            why=_because(eater.species, prey.species, setting),
            source=word.source,
            status=word.status,
            condition=_condition(eater, prey, setting),
        )


def _danger(eater: Species, prey: Species) -> Weight | None:
    """How grave it is, by the catalogue's columns of who is safe with whom."""
    tokens = set(eater.eats) - rule_words("no_prey", "tokens")
    names_it = bool(tokens & prey.tags) or bool(set(prey.eaten_by) & eater.tags)
    for tag, column in rules()["prey_tags"].items():
        if tag not in prey.tags:
            continue
        if not column:
            return "caution" if names_it else None
        grade: Safe = getattr(eater, f"safe_{column}")
        if grade not in _LIKELY and not names_it:
            return None
        return WEIGHT_OF[grade] or ("note" if names_it else None)
    return None


def _seized(eater: Species, prey: Species) -> Weight | None:
    """How grave it is for a fish that holds on or hovers and does not flee: crabs and anemones get it."""
    holds_on = bool(prey.tags & rule_words("hold_on", "tags"))
    if not holds_on or eater.kind == "fish" or not set(prey.eaten_by) & eater.tags:
        return None
    return WEIGHT_OF[eater.safe_small_fish]


def _because(eater: Species, prey: Species, setting: Setting) -> str:
    words = setting.catalogue.tokens
    meant = sorted(words.get(token, token) for token in set(eater.eats) & prey.tags)
    if meant:
        return f"it eats {', '.join(meant)}"
    named = sorted(words.get(token, token) for token in set(prey.eaten_by) & eater.tags)
    return f"it is eaten by {', '.join(named)}" if named else "it eats such animals"


def _condition(eater: Resident, prey: Resident, setting: Setting) -> str:
    words = [eater.species.safety_condition] if eater.species.safety_condition else []
    if eater.is_fish and setting.comes_on(eater) < setting.comes_on(prey):
        words.append("it is there first and takes what comes as food; prey that was there first fares better")
    return "; ".join(words)


RULES = (
    Rule(
        name="eats",
        look=swallowed,
        reads=("safe_small_fish", "adult_length_cm", "purchase_length_cm", "growth_kmax_per_y", "tags"),
        plan=("animals[].length", "animals[].arrives_on"),
    ),
    Rule(
        name="hunts",
        look=hunted,
        reads=("eats", "eaten_by", "safe_shrimps", "safe_snails", "safe_worms", "safe_small_fish", "tags"),
        plan=("animals[].arrives_on",),
    ),
)
