"""Show what the program does, on a plan that ships with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from backreef.usecases.examples import example_plan
from backreef.usecases.forecast import MEMBERS, SEED, Judge, Progress, Untried, forecast_plan

if TYPE_CHECKING:
    from backreef.judgement.verdict import Forecast


def run_demo(
    *,
    members: int = MEMBERS,
    seed: int = SEED,
    progress: Progress | None = None,
    untried: Untried | None = None,
    judge: Judge | None = None,
) -> Forecast:
    """The forecast of the reading-room example; `untried` as in `forecast_plan`."""
    return forecast_plan(
        example_plan(), members=members, seed=seed, progress=progress, untried=untried, judge=judge
    )
