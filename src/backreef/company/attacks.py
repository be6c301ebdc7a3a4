"""Hazards of company: rivals that chase, their own kind, mouths that swallow."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.catalogue.entries import known
from backreef.company.corals import fed_ratio
from backreef.company.eaten import hunted, swallowed
from backreef.company.findings import CheckFinding, Found, Resident, Setting
from backreef.company.hazards import Hazard, Rate, day_of, hazard, number, rate_of
from backreef.company.rivals import OWN, comes_first, quarrels
from backreef.company.sexes import in_peace

_WEIGHT_WORD = {"serious": "unsafe", "caution": "risk", "note": "mostly"}
_STING = "stings"


def attacks(setting: Setting) -> Iterator[Hazard]:
    """What each quarrelsome animal does to its targets, shared among them."""
    for bold in setting.residents:
        if bold.species.kind == "coral" or bold.species.aggression in ("none", _STING):
            continue
        targets = [
            meek
            for meek in setting.residents
            if meek.entry.id != bold.entry.id and any(True for _ in quarrels(bold, meek, setting))
        ]
        heads = sum(meek.entry.count for meek in targets)
        for meek in targets:
            ratio = bold.entry.count / heads * _strength(bold, meek)
            since = max(day_of(bold, setting), day_of(meek, setting))
            yield hazard(meek, setting, "rivals", attack_rate(bold, setting).times(ratio), since_day=since)
    yield from _own_kind(setting)


def attack_rate(bold: Resident, setting: Setting) -> Rate:
    """Deaths a year that one animal causes among its targets together, in this tank as it is fed."""
    rate = rate_of(f"attacks_{bold.species.aggression}_per_y")
    return rate.times(crowding_ratio(bold, setting) * chases_ratio(fed_ratio(setting)))


def chases_ratio(fed_over_need_ratio: float | None) -> float:
    """Chases over those of well-fed fish; 1 where meals follow the need.

    Validity
    --------
    Linear between starved and fed for growth.

    Source
    ------
    Common practice, no source: 1.5 to 3 times as many chases when under-fed.
    """
    fed = 1.0 if fed_over_need_ratio is None else min(1.0, max(0.0, fed_over_need_ratio))
    return 1.0 + (number("hungry_chases_ratio") - 1.0) * (1.0 - fed)


def crowding_ratio(bold: Resident, setting: Setting) -> float:
    """How much worse an attacker is for want of room, or milder where there is plenty.

    Validity
    --------
    Between the bounds of the table; 1 where its need is not known.

    Source
    ------
    Own rule: the room that it needs over the room there is.
    """
    need = known(bold.species.min_volume_l)
    if need is None:
        return 1.0
    ratio = (need.value / setting.plan.tank.display_gross_l) ** number("room_exponent")
    return float(min(number("most_room_ratio"), max(number("least_room_ratio"), ratio)))


def _strength(bold: Resident, meek: Resident) -> float:
    ratio = number("resident_first_ratio") if comes_first(bold, meek) else 1.0
    large, small = bold.length_cm, meek.length_cm
    if large is not None and small is not None and large < small:
        ratio *= number("smaller_attacker_ratio")
    return ratio


def _own_kind(setting: Setting) -> Iterator[Hazard]:
    """The first of a kind chases all others of it: the more they are, the less falls on each."""
    for first, heads in setting.by_species:
        if heads < 2 or OWN not in first.species.fights_with or not first.is_fish:  # noqa: PLR2004
            continue
        rate = own_kind_rate(first, setting, heads=heads)
        days = sorted(day_of(one, setting) for one in _same(first, setting))
        together = days[1] if len(days) > 1 else days[0]
        for one in _same(first, setting):
            yield hazard(one, setting, "its own kind", rate, since_day=together)


def own_kind_rate(first: Resident, setting: Setting, *, heads: int) -> Rate:
    """Deaths a year per head among so many of one kind.

    Validity
    --------
    One chases, the others share it; a number that the catalogue says lives in peace is nearly spared,
    but not sexes that fight; where sexes are not known they are taken as fitting.

    Source
    ------
    Common practice, no source: of two one dies in weeks to months, of many fewer each.
    """
    species = first.species
    peace = in_peace(first, setting, heads=heads)
    if heads < 2 or species.aggression not in ("low", "medium", "high", "very_high"):  # noqa: PLR2004
        return rate_of("attacks_low_per_y").times(0.0)
    ratio = number("own_kind_ratio") * (number("in_group_ratio") if peace else 1.0) / heads
    return attack_rate(first, setting).times(ratio)


def _same(first: Resident, setting: Setting) -> list[Resident]:
    return [one for one in setting.residents if one.species.id == first.species.id]


def eaten(setting: Setting) -> Iterator[Hazard]:
    """Prey of the plan, from the day on which it fits the mouth."""
    by_id = {one.entry.id: one for one in setting.residents}
    for found in (*_only(swallowed(setting)), *_only(hunted(setting))):
        _, eater_id, prey_id = found.id.split(".")
        prey, eater = by_id[prey_id], by_id[eater_id]
        since = max(day_of(prey, setting), day_of(eater, setting))
        if found.from_on is not None:
            since = max(since, (found.from_on - setting.plan.start_on).days)
        rate = rate_of(f"eaten_{_WEIGHT_WORD[found.weight]}_per_y")
        yield hazard(prey, setting, f"eaten by {eater.species.common_name}", rate, since_day=since)


def _only(found: Found) -> Iterator[CheckFinding]:
    for one in found:
        if isinstance(one, CheckFinding):
            yield one
