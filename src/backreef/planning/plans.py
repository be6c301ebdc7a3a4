"""What the planner gives back: plans with what they rest on, and why there are no more."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from backreef.aquarium.plan import Optimise, Plan
from backreef.judgement.verdict import Forecast
from backreef.planning.candidates import Shortlist
from backreef.planning.choices import Choice
from backreef.planning.facts import Facts
from backreef.planning.numbers import number
from backreef.planning.programme import Solved
from backreef.planning.ways import WayOut
from backreef.planning.wishes import ReadWish
from backreef.planning.writing import Coming
from backreef.simulation.tables import InItsUnit

if TYPE_CHECKING:
    import pandas as pd

Aim = Literal["most_wishes", "fewest_minutes", "widest_margins"]
AIMS: tuple[Aim, ...] = ("most_wishes", "fewest_minutes", "widest_margins")
AIM_WORDS: Mapping[Aim, str] = {
    "most_wishes": "most of the wishes",
    "fewest_minutes": "fewest minutes",
    "widest_margins": "widest margins",
}
KEPT: Mapping[Aim, str] = {
    "most_wishes": "",
    "fewest_minutes": "wishes_kept_frac",
    "widest_margins": "margins_wishes_kept_frac",
}


def kept_frac(aim: Aim) -> InItsUnit:
    """Share of the wishes of the first plan, by weight, that the plan of an aim keeps at least."""
    return number(KEPT[aim]) if KEPT[aim] else 0.0


GOAL_AIMS: Mapping[Optimise, Aim] = {
    "most_wishes": "most_wishes",
    "fewest_hands": "fewest_minutes",
    "largest_margin": "widest_margins",
}
"""What a plan's goals call best -> the aim."""


def aims_of(goal: Optimise) -> tuple[Aim, ...]:
    """The aims in the order in which they are sought: wishes first, as the others keep a part of them."""
    asked = GOAL_AIMS[goal]
    return tuple(sorted(AIMS, key=lambda aim: (aim != "most_wishes", aim != asked)))


Read = Callable[[str], Plan]
"""Reads the text of a plan file."""
Write = Callable[[Plan], str]
"""Writes the text of a plan file."""
Judge = Callable[[Plan], Forecast]
"""The simulation and its judgement."""
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doors:
    """What the planner asks others to do: it reads no file, writes none, and judges nothing."""

    read: Read
    write: Write
    judge: Judge


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """What stage 1 and stage 2 chose."""

    solved: Solved
    coming: tuple[Coming, ...]
    feeding: Choice
    choices: tuple[Choice, ...]
    ration_ratio: InItsUnit
    wishes: tuple[ReadWish, ...]
    """Those that are met."""
    minutes_per_month: InItsUnit
    """As the programme counts them."""
    margin_share: InItsUnit
    levels: Mapping[str, InItsUnit]
    """Limit -> level of the worst member, as the programme counts it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Proposal:
    """A plan that the simulation was asked about, and what it said."""

    aim: Aim
    picked: Picked
    plan: Plan
    """As read from the text."""
    text: str
    forecast: Forecast
    rounds: int
    bound: InItsUnit
    """No plan of the programme does better by its aim: weight of wishes, minutes a month, or margin."""

    @property
    def holds(self) -> bool:
        """Whether the simulation says that it holds."""
        return self.forecast.holds

    @property
    def reached(self) -> InItsUnit:
        """What it reaches of its aim, as the programme counts it."""
        if self.aim == "most_wishes":
            return sum(wish.weight for wish in self.picked.wishes)
        return self.picked.minutes_per_month if self.aim == "fewest_minutes" else self.picked.margin_share

    @property
    def gap(self) -> InItsUnit:
        """How far what it reaches is from the bound, over the bound; 0 where nothing better can be."""
        return abs(self.reached - self.bound) / max(abs(self.bound), 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """One plan that was asked about on the way, and why it was not taken."""

    aim: Aim
    what: str
    share_holding: InItsUnit | None
    """Of the members that were marched until it was sure, the weakest first; None where the rules refused it
    before any simulation."""
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """A wish that cannot be met, what it collides with, and what would make room for it."""

    wish: str
    collides_with: tuple[str, ...]
    ways_out: tuple[WayOut, ...]
    proved: bool = False
    """Whether each of the set was left out in turn and the rest then shown to hold together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyNot:
    """What came of forcing an animal in that somebody asked about."""

    species_id: str
    name: str
    what: str
    """The nearest reason it was left out."""
    costs: tuple[str, ...]
    """What it costs in minutes, nitrate, wishes and risk, as far as it could be forced in."""
    ways_in: tuple[WayOut, ...]
    share_holding: InItsUnit | None
    """Of the plan with it, where one could be made; simulated like any other."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Given:
    """What could be had if so many minutes were given."""

    minutes_per_month: InItsUnit
    proposal: Proposal | None
    """None where no plan was found that holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One point of the frontier, by the programme alone."""

    minutes_per_month: InItsUnit
    wishes_share: InItsUnit
    nitrate_mg_no3_per_l: InItsUnit
    species: tuple[str, ...]
    proved: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Proposals:
    """Everything that was found for one plan."""

    plan: Plan
    seed: int
    members: int
    status: Literal["found", "none", "stopped"]
    proposals: tuple[Proposal, ...]
    wishes: tuple[ReadWish, ...]
    shortlist: Shortlist
    facts: Facts | None
    tries: tuple[Try, ...]
    conflicts: tuple[Conflict, ...]
    frontier: tuple[Point, ...]
    why_not: tuple[WhyNot, ...]
    """Of the animals that somebody asked about."""
    given: tuple[Given, ...]
    """For other budgets of minutes that somebody asked about, the smallest first."""
    as_it_is: Forecast | None
    """The kept plan with nothing added; judged only where no plan was found."""
    seconds: tuple[tuple[str, InItsUnit], ...] = ()

    @property
    def counted_weight(self) -> InItsUnit:
        """Weight of all wishes that can be measured."""
        return sum(wish.weight for wish in self.wishes if wish.counted)

    def to_frame(self) -> pd.DataFrame:
        """One row for each plan that was found. Needs pandas."""
        from backreef.judgement.frames import pandas_module

        rows = [
            {
                "aim": one.aim,
                "wishes_share": self.wishes_share(one),
                "minutes_per_month": one.forecast.minutes.per_month_p50,
                "share_holding": one.forecast.share_holding,
                "reached": one.reached,
                "bound": one.bound,
                "gap": one.gap,
                "rounds": one.rounds,
                "newcomers": ", ".join(f"{each.count} {each.candidate.id}" for each in one.picked.coming),
            }
            for one in self.proposals
        ]
        return pandas_module().DataFrame(rows)

    @property
    def asked_for(self) -> Proposal | None:
        """The plan that is best at what the plan's goals name."""
        aim = GOAL_AIMS[self.plan.goals.optimise]
        return next((one for one in self.proposals if one.aim == aim), None)

    def wishes_share(self, proposal: Proposal) -> InItsUnit:
        """Weight of the wishes that a plan meets over that of all that can be measured."""
        met = sum(wish.weight for wish in proposal.picked.wishes)
        return met / self.counted_weight if self.counted_weight else 0.0
