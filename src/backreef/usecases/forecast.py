"""What will become of a plan: read it if it is a file, let it be simulated and judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:  # asking for help needs none of them
    from backreef.aquarium.plan import Mishap, Plan
    from backreef.catalogue.entries import Catalogue
    from backreef.judgement.trials import Tried
    from backreef.judgement.verdict import Forecast

MEMBERS = 64
SEED = 1
MOST_MEMBERS = 100_000
"""More would only fill the memory; their bands would not change."""

Progress = Callable[[str, int, int], None]
"""Is told what is being done in a phrase, how many steps are done, and how many there are."""
Untried = Callable[["Forecast"], None]
"""Is given a forecast whose remedies are still being simulated; only what is said of those will change."""


class Judge(Protocol):
    """Whatever simulates a plan and judges it."""

    def __call__(
        self,
        plan: Plan,
        catalogue: Catalogue,
        *,
        members: int,
        seed: int,
        remedies: Tried,
        progress: Progress | None,
        untried: Untried = ...,
    ) -> Forecast:
        """The judged forecast of a plan."""
        ...


def forecast_plan(
    plan: str | Path | Plan,
    *,
    members: int = MEMBERS,
    seed: int = SEED,
    thorough: bool = False,
    mishaps: Sequence[Mishap] = (),
    progress: Progress | None = None,
    untried: Untried | None = None,
    judge: Judge | None = None,
) -> Forecast:
    """The judged forecast of a plan, given as its file or as read before.

    `members` is the size of the ensemble; equal seeds give equal forecasts; `thorough` simulates every remedy
    and not only those of the gravest findings; `mishaps` go wrong on their days, whatever the plan says, of
    the kinds that `backreef.simulation.mishaps.mishap_kinds` lists. `untried` is given the forecast while
    its remedies are still simulated.

    Raises
    ------
    InputFaults
        With every fault of the file.
    ValueError
        If there are fewer than one or very many members, the seed is negative, or something is wrong with
        mishaps (all of it at once).
    """
    refuse_impossible(members, seed)
    from backreef.aquarium.plan import Plan
    from backreef.usecases.check import catalogue_of, load_plan

    read = plan if isinstance(plan, Plan) else load_plan(plan)
    catalogue = catalogue_of(read)
    if mishaps:
        read = _with_mishaps(read, mishaps)
    chosen: Judge = judge or default_judge()
    if untried is not None:
        chosen = partial(chosen, untried=untried)
    return chosen(
        read,
        catalogue,
        members=members,
        seed=seed,
        remedies="all" if thorough else "worst",
        progress=progress,
    )


def refuse_impossible(members: int, seed: int) -> None:
    """Refuse numbers of members and seeds that no ensemble has.

    Raises
    ------
    ValueError
        If there are fewer than one or very many members, or the seed is negative.
    """
    if not 1 <= members <= MOST_MEMBERS:
        raise ValueError(f"members is {members}, but it lies between 1 and {MOST_MEMBERS}")
    if seed < 0:
        raise ValueError(f"seed is {seed}, but it is 0 or more")


def _with_mishaps(plan: Plan, mishaps: Sequence[Mishap]) -> Plan:
    from backreef.simulation.mishaps import wrong_mishaps

    wrong = wrong_mishaps(mishaps, plan)
    if wrong:
        raise ValueError("; ".join(wrong))
    return replace(plan, mishaps=tuple(mishaps))


def default_judge() -> Judge:
    """The simulation and its judgement; imported only when something is to be forecast."""
    from backreef.judgement.judge import judge_plan

    return judge_plan


def sifting_judge() -> Judge:
    """The same for a search among many plans: one that breaks is left as soon as that is sure."""
    usual = default_judge()
    from backreef.judgement.judge import judge_plan
    from backreef.judgement.sieve import Sieve

    return partial(judge_plan, sieve=Sieve()) if usual is judge_plan else usual
