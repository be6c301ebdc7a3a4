"""Rules of place in the tank: sand, holes in the rock, flow, light."""

from __future__ import annotations

import re

from backreef.catalogue.entries import known
from backreef.company.findings import (
    Found,
    Lacking,
    Rule,
    Setting,
    Weight,
    about,
    rule_number,
    rule_words,
    rules,
)

_STATED = re.compile(r"light (\d+)-(\d+) umol/m2/s")
"""How a zone states the light that an animal lives in."""
_AREA = re.compile(r"(\d+(?:\.\d+)?) m2")
"""How a need of sand states the area for one animal."""


def sand(setting: Setting) -> Found:
    """An animal that needs sand, or deeper sand."""
    tank = setting.plan.tank
    for one in setting.residents:
        depth = known(one.species.sand_cm)
        if not one.species.sand_need:
            continue
        if depth is None:
            yield Lacking(one=one, fact="the depth of sand")
            continue
        bare = tank.sand_area_m2 <= 0
        wide = bare or tank.sand_area_m2 >= (sand_for_one_m2(one.species.sand_need) or 0.0) * one.entry.count
        if not bare and wide and tank.sand_depth_cm >= depth.value:
            continue
        has = "a bare floor" if bare else f"sand of {tank.sand_depth_cm:g} cm"
        has += "" if wide else f" on {tank.sand_area_m2:.2g} m2"
        far = bare or not wide or tank.sand_depth_cm < depth.lowest
        yield about(
            one,
            setting,
            rule="sand",
            weight="caution" if far else "note",
            what=f"{one.called}: not enough sand",
            why=f"{one.species.sand_need}, about {depth.value:g} cm; this tank has {has}",
            value=depth,
        )


def sand_for_one_m2(need: str) -> float | None:
    """Sand that one animal lives from, as its words state it; None where they say nothing. [m2]

    Validity
    --------
    Old sand with life in it; an area for each animal adds up.

    Source
    ------
    The animal's own row of the catalogue: common practice, no source.
    """
    stated = _AREA.search(need)
    return float(stated[1]) if stated else None


def holes(setting: Setting) -> Found:
    """A fish that lives in holes and ledges, in a tank with next to no rock."""
    tank = setting.plan.tank
    share = tank.rock_kg / tank.display_gross_l
    if share >= rule_number("least_rock_kg_per_l"):
        return
    for one in setting.residents:
        if not one.is_fish or not any(word in one.species.zone for word in rule_words("rock", "zones")):
            continue
        yield about(
            one,
            setting,
            rule="holes",
            weight="caution",
            what=f"{one.called}: no rock to live in",
            why=f"it lives: {one.species.zone}; this tank has {tank.rock_kg:g} kg of rock",
            number="least_rock_kg_per_l",
            condition="pipes and a few arches of rock do as well as a wall of it",
        )


def flow(setting: Setting) -> Found:
    """An animal of calm water in strong flow, or of strong flow in calm water."""
    turnover = setting.plan.tank.turnover_per_h
    calm, strong = rule_number("calm_turnover_per_h"), rule_number("strong_turnover_per_h")
    for one in setting.residents:
        still = one.species.guild in rule_words("flow", "calm_guilds") or bool(
            one.species.tags & rule_words("flow", "calm_tags")
        )
        swift = bool(one.species.tags & rule_words("flow", "strong_tags"))
        if still and turnover > calm:
            what, number = "swept about in this flow", "calm_turnover_per_h"
        elif swift and turnover < strong:
            what, number = "too little flow", "strong_turnover_per_h"
        else:
            continue
        yield about(
            one,
            setting,
            rule="flow",
            weight="caution",
            what=f"{one.called}: {what}",
            why=f"the water turns over {turnover:g} times an hour; "
            f"{'at most' if still else 'at least'} {rule_number(number):g} suits it",
            number=number,
            condition="what counts is the flow where it sits: a lee or a jet changes it",
        )


def light(setting: Setting) -> Found:
    """A coral, clam or anemone under less or more light than it lives in."""
    here = setting.plan.tank.light_par_umol_m2_s
    for one in setting.residents:
        if not setting.guild(one).light_fed:
            continue
        band = light_band_umol_m2_s(one.species.zone)
        if band is None:
            yield Lacking(one=one, fact="the light that it lives in")
            continue
        least, most = band
        if here < least:
            weight: Weight = "caution"
            what, why = "too dark", f"the rock gets {here:g} umol/m2/s at most, it lives in {least:g} or more"
        elif most is not None and here > most:
            weight, what = "note", "bright light: place it low"
            why = f"the rock gets up to {here:g} umol/m2/s, it lives in {least:g} to {most:g}"
        else:
            continue
        yield about(
            one,
            setting,
            rule="light",
            weight=weight,
            what=f"{one.called}: {what}",
            why=why,
            condition="light falls with depth and shade: measure where it sits, and change it over weeks",
        )


def light_band_umol_m2_s(zone: str) -> tuple[float, float | None] | None:
    """Least and most light of a zone, as its words state it; None where they say nothing. [umol/m2/s]"""
    stated = _STATED.search(zone)
    if stated:
        return float(stated[1]), float(stated[2])
    for words, number in rules()["light"].items():
        if words in zone:
            return rule_number(number), None
    return None


RULES = (
    Rule(name="sand", look=sand, reads=("sand_need", "sand_cm"), plan=("tank.sand_area", "tank.sand_depth")),
    Rule(name="holes", look=holes, reads=("zone",), plan=("tank.rock", "tank.display")),
    Rule(name="flow", look=flow, reads=("guild", "tags"), plan=("tank.turnover",)),
    Rule(name="light", look=light, reads=("guild", "zone"), plan=("tank.light_par",)),
)
