"""Find the plans that this keeper can keep, and write them as plan files with comments that say why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.usecases import forecast as forecasting
from backreef.usecases.forecast import MEMBERS, SEED, Judge, Progress, refuse_impossible

if TYPE_CHECKING:
    from backreef.aquarium.plan import Plan
    from backreef.judgement.verdict import Forecast
    from backreef.planning.plans import Proposal, Proposals


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A proposal as a file: its name, and its text with comments."""

    proposal: Proposal
    file: str
    text: str


def propose_plans(  # noqa: PLR0913  each is a wish of the keeper's own
    plan: str | Path | Plan,
    *,
    pinned: Sequence[str] = (),
    why_not: Sequence[str] = (),
    for_minutes: Sequence[float] = (),
    members: int = MEMBERS,
    seed: int = SEED,
    progress: Progress | None = None,
    judge: Judge | None = None,
) -> Proposals:
    """Plans for the keeper, the tank and the wishes of a plan, each judged by the simulation.

    Animals that are there already and lines named in `pinned` or in the plan's `goals.keep` stay as they are;
    animals that are still to come are chosen anew. For each animal in `why_not` the nearest reason it was
    left out is sought by forcing it in; for each of `for_minutes` a month the plan that meets most is sought
    too. An interrupt ends the search and gives what was found so far.

    Raises
    ------
    InputFaults
        With every fault of the file, or with everything that a proposal needs and the plan does not say.
    ValueError
        If members or seed are impossible.
    """
    refuse_impossible(members, seed)
    from backreef.aquarium.dump import dump_plan
    from backreef.aquarium.load import load_plan_text
    from backreef.aquarium.plan import Plan
    from backreef.planning.plans import Doors
    from backreef.planning.problem import problem_of
    from backreef.planning.propose import propose
    from backreef.usecases.check import catalogue_of, load_plan

    read = plan if isinstance(plan, Plan) else load_plan(plan)
    catalogue = catalogue_of(read)
    chosen = judge or forecasting.sifting_judge()

    def judged(one: Plan) -> Forecast:
        return chosen(one, catalogue, members=members, seed=seed, remedies="none", progress=progress)

    problem = problem_of(read, catalogue, pinned=pinned, asked=why_not, seed=seed)
    return propose(
        replace(problem, budgets_min_per_month=tuple(for_minutes)),
        doors=Doors(
            read=lambda text: load_plan_text(text, read.file, catalogue), write=dump_plan, judge=judged
        ),
        members=members,
        progress=progress,
    )


def written(found: Proposals) -> tuple[Written, ...]:
    """Each proposal as the file that it may be written to, next to the others."""
    from backreef.planning.reasons import plan_file

    stem = Path(found.plan.file).stem
    return tuple(
        Written(
            proposal=each,
            file=f"{stem}-{each.aim.replace('_', '-')}.toml",
            text=plan_file(each, found),
        )
        for each in found.proposals
    )
