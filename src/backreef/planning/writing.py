"""A proposal as a plan file: what was chosen, put into the keeper's own plan, with comments that say why."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.water import water_bands
from backreef.planning.candidates import Candidate
from backreef.planning.choices import OWN_PREFIX
from backreef.planning.problem import lines_of
from backreef.planning.wishes import ReadWish, grazes

COMMENT_WIDTH = 98
GATED = ("nitrate_mg_no3_per_l", "phosphate_mg_po4_per_l")
_HEADER = re.compile(r"^\[\[(animals|meals|upkeep|devices)\]\]\nid = \"([^\"]*)\"$", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """Animals that come by a proposal."""

    candidate: Candidate
    count: int
    on: date
    wishes: tuple[ReadWish, ...]
    """Those that it helps to meet."""


def entry_name(species_id: str) -> str:
    """The id of newcomers of a kind, unless the plan has a line of that name."""
    return f"{OWN_PREFIX}{species_id}"


def entry_id(species_id: str, plan: Plan) -> str:
    """An id for newcomers of a kind that no line of the plan has yet."""
    used = set(lines_of(plan))
    name = entry_name(species_id)
    number = 2
    while name in used:
        name, number = f"{entry_name(species_id)}_{number}", number + 1
    return name


def with_newcomers(plan: Plan, coming: Sequence[Coming], catalogue: Catalogue) -> Plan:
    """The plan with the animals that come, each behind a gate and with the wishes it is for."""
    gate = water_gate(plan)
    entries = [
        AnimalEntry(
            id=entry_id(each.candidate.id, plan),
            species=each.candidate.id,
            count=each.count,
            length_cm=None,
            arrives_on=each.on,
            gate=f"{gate} and film algae visible" if grazes(each.candidate.species, catalogue) else gate,
            why=_why(each),
        )
        for each in coming
    ]
    return replace(plan, animals=(*plan.animals, *entries))


def water_gate(plan: Plan) -> str:
    """What must be true before anybody comes: nutrients below the bounds that call for action."""
    bands = {band.series: band for band in water_bands(plan)}
    parts = [
        f"{bands[name].label} < {bands[name].act_high:g} {bands[name].unit}"
        for name in GATED
        if name in bands and bands[name].act_high is not None
    ]
    return " and ".join(parts)


def _why(each: Coming) -> str:
    if each.wishes:
        return "for the wish: " + "; ".join(wish.text for wish in each.wishes)
    return "for the tank: " + each.candidate.species.low_upkeep_reason


def commented(text: str, comments: Mapping[str, str], heading: str) -> str:
    """The text of a plan file with a heading, and a comment before each line of the plan that has one."""

    def before(match: re.Match[str]) -> str:
        words = comments.get(match.group(2), "")
        return f"{as_comment(words)}{match.group(0)}" if words else match.group(0)

    return f"{as_comment(heading)}\n{_HEADER.sub(before, text)}"


def as_comment(words: str) -> str:
    """Some words as lines of a comment."""
    paragraphs = [" ".join(line.split()) for line in words.split("\n")]
    lines = [line for each in paragraphs for line in textwrap.wrap(each, COMMENT_WIDTH) or [""]]
    return "".join(f"# {line}".rstrip() + "\n" for line in lines)
