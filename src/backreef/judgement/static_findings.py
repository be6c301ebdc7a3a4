"""Findings that need no simulation, in the words of a verdict."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.company.engine import check_plan
from backreef.company.findings import CheckFinding
from backreef.judgement.verdict import Finding, Remedy
from backreef.working.members import Seen, seen_once

PREFIX = "plan."
_ALL = Seen(symbol="all_members", what="it follows from the plan alone, so it is so in every member")
WEAK_WORDS = {"memory": "from memory", "calc": "worked out by us"}


def static_findings(
    plan: Plan, catalogue: Catalogue, absence_days: int, more: Iterable[CheckFinding] = ()
) -> tuple[Finding, ...]:
    """Give what stands out in a plan before it is simulated, the gravest first; none of it breaks a plan.

    `absence_days` is the longest run of days on which nobody is there, public holidays counted; `more` is
    what only the schedule of the plan shows.
    """
    arrivals = {entry.id: entry.arrives_on or plan.start_on for entry in plan.animals}
    checked = (*check_plan(plan, catalogue, absence_days=absence_days), *more)
    return tuple(_finding(one, arrivals) for one in checked)


@cache
def _table() -> Mapping[str, Any]:
    with (files("backreef.judgement") / "data" / "static_harm.toml").open("rb") as file:
        return tomllib.load(file)


def _finding(one: CheckFinding, arrivals: Mapping[str, date]) -> Finding:
    own = _table()["remedies"].get(one.id.split(".")[0], ())
    known = [arrivals[entry] for entry in one.id.split(".")[1:] if entry in arrivals]
    return Finding(
        id=f"{PREFIX}{one.id}",
        balance=one.balance,
        harm=float(_table()["harm_by_weight"][one.weight]),
        breaks=False,
        who=one.who,
        first_on=one.from_on or max(known, default=None),
        days=0,
        share_of_members=seen_once(1.0, _ALL),
        value=None,
        bound=None,
        unit="",
        what=one.what,
        why=f"{one.why}; {one.condition}" if one.condition else one.why,
        source=_source(one),
        remedies=tuple(Remedy(id=what, what=what, advice=True) for what in one.remedies or own),
    )


def _source(one: CheckFinding) -> str:
    words = WEAK_WORDS.get(one.status)
    return f"{one.source} ({words})" if words and words not in one.source else one.source
