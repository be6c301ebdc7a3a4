"""Forecast a reef aquarium for years ahead: is everybody fed, do nutrients leave again, do the chores fit.

    import backreef

    result = backreef.check("plan.toml")  # faults and findings, in a moment
    forecast = backreef.forecast("plan.toml")  # three years, judged
    forecast.holds, forecast.first_break, forecast.findings
    forecast.to_frame()  # daily series as a table (needs pandas)
    backreef.why("plan.toml", "floor_load_kn_per_m2").tree  # the working behind a number
    backreef.propose("plan.toml").proposals  # plans that this keeper can keep
    backreef.compare(["plan.toml", "other.toml"])  # plans side by side, with the same luck

Importing this costs next to nothing: what is behind a name is loaded when the name is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from backreef.aquarium.plan import Mishap as Mishap
    from backreef.aquarium.plan import Plan as Plan
    from backreef.calibration.outcome import Reconciled as Reconciled
    from backreef.catalogue.entries import Catalogue as Catalogue
    from backreef.catalogue.load import load_catalogue as load_catalogue
    from backreef.errors import BackreefError as BackreefError
    from backreef.errors import Fault as Fault
    from backreef.errors import InputFaults as InputFaults
    from backreef.judgement.rehearsal import Rehearsal as Rehearsal
    from backreef.judgement.verdict import Forecast as Forecast
    from backreef.planning.plans import Proposals as Proposals
    from backreef.schedule.away import Absence as Absence
    from backreef.usecases.check import CheckResult as CheckResult
    from backreef.usecases.check import check_plan as check
    from backreef.usecases.check import load_plan as load_plan
    from backreef.usecases.compare import Comparison as Comparison
    from backreef.usecases.compare import compare_plans as compare
    from backreef.usecases.forecast import forecast_plan as forecast
    from backreef.usecases.propose import propose_plans as propose
    from backreef.usecases.reconcile import reconcile as reconcile
    from backreef.usecases.rehearse import rehearse as rehearse
    from backreef.usecases.why import Working as Working
    from backreef.usecases.why import askable_figures as askable_figures
    from backreef.usecases.why import why as why

__version__ = "0.1.0"

_WHERE = {
    "Absence": ("backreef.schedule.away", "Absence"),
    "BackreefError": ("backreef.errors", "BackreefError"),
    "Catalogue": ("backreef.catalogue.entries", "Catalogue"),
    "CheckResult": ("backreef.usecases.check", "CheckResult"),
    "Comparison": ("backreef.usecases.compare", "Comparison"),
    "Fault": ("backreef.errors", "Fault"),
    "Forecast": ("backreef.judgement.verdict", "Forecast"),
    "InputFaults": ("backreef.errors", "InputFaults"),
    "Mishap": ("backreef.aquarium.plan", "Mishap"),
    "Plan": ("backreef.aquarium.plan", "Plan"),
    "Proposals": ("backreef.planning.plans", "Proposals"),
    "Reconciled": ("backreef.calibration.outcome", "Reconciled"),
    "Rehearsal": ("backreef.judgement.rehearsal", "Rehearsal"),
    "Working": ("backreef.usecases.why", "Working"),
    "askable_figures": ("backreef.usecases.why", "askable_figures"),
    "check": ("backreef.usecases.check", "check_plan"),
    "compare": ("backreef.usecases.compare", "compare_plans"),
    "forecast": ("backreef.usecases.forecast", "forecast_plan"),
    "load_catalogue": ("backreef.catalogue.load", "load_catalogue"),
    "load_plan": ("backreef.usecases.check", "load_plan"),
    "propose": ("backreef.usecases.propose", "propose_plans"),
    "reconcile": ("backreef.usecases.reconcile", "reconcile"),
    "rehearse": ("backreef.usecases.rehearse", "rehearse"),
    "why": ("backreef.usecases.why", "why"),
}

__all__ = [
    "Absence",
    "BackreefError",
    "Catalogue",
    "CheckResult",
    "Comparison",
    "Fault",
    "Forecast",
    "InputFaults",
    "Mishap",
    "Plan",
    "Proposals",
    "Reconciled",
    "Rehearsal",
    "Working",
    "__version__",
    "askable_figures",
    "check",
    "compare",
    "forecast",
    "load_catalogue",
    "load_plan",
    "propose",
    "reconcile",
    "rehearse",
    "why",
]


def __getattr__(name: str) -> object:
    """What a public name stands for, loaded when it is first asked for."""
    if name not in _WHERE:
        raise AttributeError(f"module 'backreef' has no attribute '{name}'")
    module, attribute = _WHERE[name]
    found: object = getattr(import_module(module), attribute)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
