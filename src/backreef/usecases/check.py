"""Look a plan over without a forecast: what is written wrong, and what stands out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.aquarium import load
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.labels import with_labels
from backreef.catalogue.load import load_catalogue
from backreef.company import engine
from backreef.company.findings import CheckFinding
from backreef.company.order import Step, additions_of
from backreef.errors import Fault, InputFaults

if TYPE_CHECKING:
    import pandas as pd

SCHEMA = "backreef.check/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """What is wrong with a plan file, and what stands out in the plan it holds."""

    file: str
    faults: tuple[Fault, ...]
    findings: tuple[CheckFinding, ...]
    """Gravest first; none where faults keep the plan from being read."""
    plan: Plan | None
    """None where the file has faults."""
    steps: tuple[Step, ...] = ()
    """The animals that are still to come, in the order of their days."""

    @property
    def ok(self) -> bool:
        """Whether the file holds a plan that can be forecast."""
        return self.plan is not None

    def to_frame(self) -> pd.DataFrame:
        """One row per fault and per finding, faults first. Needs pandas."""
        from backreef.judgement.frames import pandas_module

        rows: list[dict[str, str | int | None]] = [
            {"kind": "fault", "file": f.file, "line": f.line, "key": f.key, "what": f.message}
            for f in self.faults
        ]
        for f in self.findings:
            rows.append({"kind": f.weight, "file": self.file, "balance": f.balance, "who": f.who})
            rows[-1] |= {"what": f.what, "why": f.why, "source": f.source}
        columns = ["kind", "file", "line", "key", "balance", "who", "what", "why", "source"]
        return pandas_module().DataFrame(rows, columns=columns)


def check_plan(
    path: str | Path, catalogue: Catalogue | None = None, own: str | Path | None = None
) -> CheckResult:
    """Every fault of a plan file or, if it has none, every finding that needs no forecast.

    `own` is a folder of own entries, instead of the one that the plan may name.
    """
    try:
        plan, shelves = _read(path, catalogue, own)
        known = with_labels(shelves, plan.foods)
    except InputFaults as refusal:
        return CheckResult(file=str(path), faults=refusal.faults, findings=(), plan=None)
    return CheckResult(
        file=str(path),
        faults=(),
        findings=engine.check_plan(plan, known),
        plan=plan,
        steps=additions_of(engine.setting_of(plan, known)),
    )


def load_plan(path: str | Path, catalogue: Catalogue | None = None, own: str | Path | None = None) -> Plan:
    """The plan of a file, read with the catalogue that ships and own entries, unless another is given.

    `own` is a folder of own entries, instead of the one that the plan may name.

    Raises
    ------
    InputFaults
        With every fault of the file, in the order of their lines.
    """
    plan, _ = _read(path, catalogue, own)
    return plan


def _read(path: str | Path, catalogue: Catalogue | None, own: str | Path | None) -> tuple[Plan, Catalogue]:
    """A plan, and the catalogue that it was read with."""
    if catalogue is not None:
        return load.load_plan(path, catalogue), catalogue
    folder = load.named_catalogue(path) if own is None else Path(own)
    shelves = load_catalogue(extra=folder)
    plan = load.load_plan(path, shelves)
    return (plan if own is None else replace(plan, catalogue=str(Path(own).resolve()))), shelves


def catalogue_of(plan: Plan) -> Catalogue:
    """The catalogue that ships, with the own entries and the foods' labels that a plan has.

    Raises
    ------
    InputFaults
        With every fault of the own entries.
    """
    shelves = load_catalogue(extra=Path(plan.file).parent / plan.catalogue if plan.catalogue else None)
    return with_labels(shelves, plan.foods)
