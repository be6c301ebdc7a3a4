"""How long a plan is, as numbers that know where the plan says it while somebody asks."""

from __future__ import annotations

from backreef.simulation.prepared import Prepared
from backreef.units import DAYS_PER_MONTH
from backreef.working.record import told_constant, told_number
from backreef.working.steps import About


def horizon_d(prepared: Prepared) -> float:
    """Give the days of a plan; in a working, with where the plan says them."""
    about = About(
        symbol="horizon_d",
        key="goals.horizon",
        kind="plan",
        what="days of the plan, from start_on and goals.horizon",
        unit="d",
        place=prepared.plan.file,
    )
    return told_number(float(prepared.keeper.days), about)


def horizon_months(prepared: Prepared) -> float:
    """Give the months of a plan, each of average length."""
    return horizon_d(prepared) / told_constant(DAYS_PER_MONTH, "DAYS_PER_MONTH", "backreef.units")
