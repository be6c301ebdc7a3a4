"""Plans for tests, made as a keeper makes them: from the text of a plan file."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from backreef.aquarium.load import load_plan_text
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
SHORTEST = 'start_on = 2027-01-04\n[tank]\ndisplay = "300 L"\n'


@cache
def catalogue() -> Catalogue:
    return load_catalogue()


def plan_of(text: str) -> Plan:
    return load_plan_text(text, "plan.toml", catalogue())


def with_tank(lines: str) -> Plan:
    """The shortest plan, with more lines in [tank] and after it."""
    return plan_of(SHORTEST + lines)
