"""What each mitigation is worth over all mishaps of an absence together."""

from __future__ import annotations

from collections.abc import Iterable

from backreef.judgement.rehearsal import Advice, Mishap, Mitigation
from backreef.working.number import total
from backreef.working.steps import InItsUnit


def advice_of(mishaps: Iterable[Mishap]) -> tuple[Advice, ...]:
    """Every mitigation that helps against one of them: by its work, then those with a device by device."""
    helped: dict[str, list[tuple[Mishap, Mitigation]]] = {}
    for mishap in mishaps:
        for each in mishap.mitigations:
            helped.setdefault(each.id, []).append((mishap, each))
    found = [_advice(pairs) for pairs in helped.values()]
    return tuple(sorted(found, key=_rank))


def _advice(pairs: list[tuple[Mishap, Mitigation]]) -> Advice:
    first = pairs[0][1]
    known = [(mishap, each) for mishap, each in pairs if mishap.chance.value is not None]
    places = {mishap.id.partition(".")[2] for mishap, _ in pairs}
    return Advice(
        id=first.id,
        what=first.what,
        minutes=max(each.minutes for _, each in pairs),
        device=first.device,
        device_name=first.device_name,
        devices_count=len(places - {""} or {""}) if first.device else 0,
        price=first.price,
        spared_heads=spared_heads(
            (mishap.chance.value or 0.0, each.harm_avoided_heads) for mishap, each in known
        ),
        against=tuple(mishap.id for mishap, _ in pairs),
        chance_unknown=tuple(mishap.id for mishap, _ in pairs if mishap.chance.value is None),
    )


def spared_heads(against: Iterable[tuple[InItsUnit, InItsUnit]]) -> InItsUnit:
    """Animals spared on the mean of many absences, by the chance of each mishap and what is spared in it."""
    return total(chance * heads for chance, heads in against)


def _rank(advice: Advice) -> tuple[bool, float, str]:
    worth = advice.heads_per_device if advice.device else advice.heads_per_hour_of_work
    return bool(advice.device), -worth, advice.id
