"""The away sheet: what a sitter who knows nothing is to do, to leave alone, to expect and to report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from backreef.schedule.away import Absence
from backreef.usecases.sheet_page import Sheet

if TYPE_CHECKING:  # asking for help needs none of them
    from backreef.aquarium.plan import Plan


def away_sheet(plan: str | Path | Plan, absence: Absence, *, calls: tuple[str, ...] = ()) -> Sheet:
    """The sheet for an absence, of a plan given as its file or as read before.

    Raises
    ------
    InputFaults
        With every fault of the file, or if the absence lies outside the plan's days.
    """
    from backreef.aquarium.plan import Plan
    from backreef.judgement.least_food import with_least_food
    from backreef.usecases.check import catalogue_of, load_plan
    from backreef.usecases.sheet_parts import write_sheet

    read = plan if isinstance(plan, Plan) else load_plan(plan)
    catalogue = catalogue_of(read)
    return write_sheet(with_least_food(read, catalogue), catalogue, absence, calls=calls)
