"""Proposals as plain data for JSON, in the shape of `data/propose.schema.json`."""

from __future__ import annotations

import json
import math
from importlib import resources
from typing import Any, cast

from backreef.planning.facts import Facts
from backreef.planning.plans import Proposal, Proposals
from backreef.planning.ways import WayOut
from backreef.reports.document import to_document
from backreef.simulation.tables import InItsUnit
from backreef.usecases.propose import Written

SCHEMA = "backreef.propose/1"
FORECAST_KEYS = ("holds", "share_holding", "first_break", "balances", "minutes")
CREW = "crew_sizes"

Json = Any


def propose_document(found: Proposals, files: tuple[Written, ...], folder: str | None) -> dict[str, Json]:
    """Everything that was found as dicts, lists, strings and numbers; what is not known is null."""
    return {
        "schema": SCHEMA,
        "status": found.status,
        "plan": {"name": found.plan.name, "file": found.plan.file},
        "seed": found.seed,
        "members": found.members,
        "asked_for": None if found.asked_for is None else found.asked_for.aim,
        "plans": [_plan(each, found, folder) for each in files],
        "conflicts": [
            {
                "wish": one.wish,
                "collides_with": list(one.collides_with),
                "ways_out": [way.words for way in one.ways_out],
                "proved": one.proved,
                "ways": [_way(way) for way in one.ways_out],
            }
            for one in found.conflicts
        ],
        "why_not": [
            {
                "species": one.species_id,
                "what": one.what,
                "costs": list(one.costs),
                "share_holding": one.share_holding,
                "ways": [_way(way) for way in one.ways_in],
            }
            for one in found.why_not
        ],
        "for_minutes": [
            {
                "minutes_per_month": one.minutes_per_month,
                "wishes_met": None if one.proposal is None else found.wishes_share(one.proposal),
                "share_holding": None if one.proposal is None else one.proposal.forecast.share_holding,
                "text": None if one.proposal is None else one.proposal.text,
            }
            for one in found.given
        ],
        "frontier": [
            {
                "minutes_per_month": one.minutes_per_month,
                "wishes_met": one.wishes_share,
                "nitrate_mg_no3_per_l": one.nitrate_mg_no3_per_l,
                "species": list(one.species),
                "proved": one.proved,
            }
            for one in found.frontier
        ],
        "wishes": [
            {
                "id": wish.id,
                "text": wish.text,
                "weight": wish.weight,
                "counted": wish.counted,
                "least_count": wish.least_count,
                "species": sorted(wish.species),
            }
            for wish in found.wishes
        ],
        "left_out": [
            {"species": each.species_id, "rule": each.rule, "what": each.what, "why": each.why}
            for each in found.shortlist.refused
        ],
        "tried": [
            {"aim": each.aim, "what": each.what, "share_holding": each.share_holding, "why": each.why}
            for each in found.tries
        ],
        "as_it_is": None
        if found.as_it_is is None
        else {key: to_document(found.as_it_is)[key] for key in FORECAST_KEYS},
        "responses": None if found.facts is None else _responses(found.facts),
    }


def _way(way: WayOut) -> dict[str, Json]:
    checked = way.share_holding is not None
    return {
        "what": way.words,
        "checked": checked,
        "holds_after": way.holds,
        "share_holding": way.share_holding,
    }


def propose_json(found: Proposals, files: tuple[Written, ...], folder: str | None) -> str:
    """The document as JSON text with a line break at its end."""
    document = propose_document(found, files, folder)
    return json.dumps(document, ensure_ascii=False, allow_nan=False) + "\n"


def propose_schema() -> dict[str, Json]:
    """The JSON Schema of the document."""
    path = resources.files("backreef.reports") / "data" / "propose.schema.json"
    return cast("dict[str, Json]", json.loads(path.read_text(encoding="utf-8")))


def _plan(written: Written, found: Proposals, folder: str | None) -> dict[str, Json]:
    proposal: Proposal = written.proposal
    forecast = to_document(proposal.forecast)
    picked = proposal.picked
    return {
        "name": proposal.aim,
        "file": None if folder is None else f"{folder}/{written.file}",
        "text": written.text,
        "minutes_per_month": proposal.forecast.minutes.per_month_p50,
        "wishes_met": found.wishes_share(proposal),
        "wishes": [wish.id for wish in picked.wishes],
        "status": picked.solved.status,
        "reached": proposal.reached,
        "bound": proposal.bound,
        "gap": proposal.gap,
        "rounds": proposal.rounds,
        **{key: forecast[key] for key in (*FORECAST_KEYS, CREW)},
        "programme": {
            "minutes_per_month": picked.minutes_per_month,
            "margin": picked.margin_share,
            "ration": picked.ration_ratio,
            "levels": {name: _number(level) for name, level in picked.levels.items()},
        },
        "animals": [
            {
                "species": each.candidate.id,
                "count": each.count,
                "arrives_on": each.on.isoformat(),
                "wishes": [wish.id for wish in each.wishes],
            }
            for each in picked.coming
        ],
        "choices": [choice.id for choice in picked.choices],
        "feeding": picked.feeding.id,
    }


def _responses(facts: Facts) -> dict[str, Json]:
    """What each choice does, for one head of an animal, as measured."""
    named = {**facts.responses, "food": facts.food_response}
    return {
        name: {
            "water": {limit: _number(value) for limit, value in one.water.items()},
            "minutes_per_month": one.minutes_per_month,
            "quarter_min_per_month": one.quarter_min_per_month,
            "eaten_g_dry_per_d": one.eaten_g_per_d,
            "more_members_break": one.risk_share,
        }
        for name, one in named.items()
    }


def _number(value: InItsUnit) -> float | None:
    return float(value) if math.isfinite(value) else None
