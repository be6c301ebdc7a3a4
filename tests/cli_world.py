"""The command line for tests: in a process of its own, with a stand-in for the simulation."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.verdict import Forecast
from tests.forecast_world import a_breaking_forecast, a_holding_forecast

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ROOT / "examples"
GOOD_PLAN = """\
start_on = 2027-01-04

[tank]
name = "Test tank"
display = "300 L"
"""
BAD_PLAN = """\
start_on = 2027-01-04

[tank]
displai = "300 L"
display = "300 gal"

[[animals]]
species = "yelow_tang"
count = 1000000
"""
STAND_IN = """\
import sys
sys.path.insert(0, {root!r})
import backreef.usecases.forecast as usecase
from tests import cli_world
if {judge!r} != "real":
    usecase.default_judge = lambda: cli_world.judges[{judge!r}]
from backreef.cli.main import main
sys.exit(main())
"""


def stand_in(
    plan: Plan,
    catalogue: Catalogue,
    *,
    members: int,
    seed: int,
    remedies: str,
    progress: Callable[[str, int, int], None] | None,
    untried: Callable[[Forecast], None] = lambda _: None,
) -> Forecast:
    """A made-up forecast: it breaks if the plan's name says so."""
    if progress is not None:
        for done in range(4):
            progress("marching the members", done, 3)
    made = a_breaking_forecast() if "breaks" in plan.tank.name else a_holding_forecast()
    made = replace(made, plan_name=plan.tank.name, plan_file=plan.file, members=members, seed=seed)
    untried(made)
    return made


def sleeper(plan: Plan, catalogue: Catalogue, **_: Any) -> Forecast:
    """Say on standard error that the work has begun, then take long."""
    import time

    sys.stderr.write("at work\n")
    sys.stderr.flush()
    time.sleep(60)
    return a_holding_forecast()


def failing(plan: Plan, catalogue: Catalogue, **_: Any) -> Forecast:
    """Fail as a program fails."""
    raise ZeroDivisionError("the tank has no volume\nat all")


judges = {"stand_in": stand_in, "sleeper": sleeper, "failing": failing}


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str


def command(*arguments: str, judge: str = "stand_in") -> list[str]:
    """The command that starts a process of its own."""
    return [sys.executable, "-P", "-c", STAND_IN.format(root=str(ROOT), judge=judge), *arguments]


def environment(**settings: str) -> dict[str, str]:
    """The variables of this process without those that change how a terminal is taken."""
    kept = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS", "TERM", "BACKREEF_DEBUG")}
    return kept | settings


def start(*arguments: str, folder: Path, judge: str = "stand_in", **settings: str) -> subprocess.Popen[bytes]:
    """Start a command in a process of its own."""
    return subprocess.Popen(
        command(*arguments, judge=judge),
        cwd=folder,
        env=environment(**settings),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def process(*arguments: str, folder: Path, judge: str = "stand_in", **settings: str) -> Done:
    """Run a command in a process of its own to its end."""
    started = start(*arguments, folder=folder, judge=judge, **settings)
    out, err = started.communicate(timeout=60)
    return Done(
        code=started.returncode,
        out=out.decode("utf-8", errors="surrogateescape"),
        err=err.decode("utf-8", errors="surrogateescape"),
    )
