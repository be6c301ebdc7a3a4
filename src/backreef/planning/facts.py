"""What the search knows of a plan when it picks its stock, and the names of the variables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from backreef.planning.candidates import Candidate, Quarrel
from backreef.planning.choices import Choice
from backreef.planning.programme import Row
from backreef.planning.responses import Limit, Measured, Response
from backreef.planning.wishes import ReadWish
from backreef.simulation.tables import InItsUnit
from backreef.units import DAYS_PER_MONTH

MARGIN = "margin"
PINNED = "pinned"
"""The price of newcomers that come in any case."""
ANYBODY = "anybody"
"""The variable that says whether anybody comes at all: then there is at least one day of arrivals."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What the rules are made of: the candidates, what each does, and what has to hold."""

    candidates: tuple[Candidate, ...]
    quarrels: tuple[Quarrel, ...]
    wishes: tuple[ReadWish, ...]
    feedings: tuple[Choice, ...]
    choices: tuple[Choice, ...]
    limits: tuple[Limit, ...]
    base: Measured
    """The kept plan with the first way of feeding and an ample ration."""
    responses: Mapping[str, Response]
    """Id of a candidate (for one head of it), a choice or a way of feeding."""
    food_response: Response
    """Of the whole ample ration."""
    eaten_frac: InItsUnit
    """Share of the food offered that mouths get when all are hungry."""
    least_steps: int
    most_steps: int
    budget_min_per_month: InItsUnit
    further_frac: InItsUnit
    """Minutes of one more newcomer on a day on which others come, over those of the first."""
    fed_by_need: bool = False
    """Whether a meal is sized to the animals: then food grows with them, and their responses hold it."""
    unfit: frozenset[tuple[str, str]] = frozenset()
    """A way of feeding and an animal, or the kept plan (empty), that the rules do not let together."""
    asked_only: frozenset[str] = frozenset()
    """Candidates that are there because somebody asked why they are not."""
    later: tuple[Choice, ...] = ()
    """Choices that are measured only once something is short of a bound; until then none is taken."""
    cuts: tuple[Row, ...] = ()
    """What simulated plans taught."""
    shifts: Mapping[str, InItsUnit] = field(default_factory=dict)
    """Limit, 'minutes' or 'quarter' -> by how much the simulation came out worse than the rows said."""
    money: InItsUnit | None = None
    """What the keeper gives for all that is bought; None: no matter."""
    prices: Mapping[str, InItsUnit] = field(default_factory=dict)
    """Of one head of a candidate, of what a choice adds, and of newcomers that are pinned."""
    hunger_ratio: InItsUnit = 1.0
    """Food counted for each mouth, over what the responses say."""

    @property
    def months(self) -> InItsUnit:
        """Length of the horizon that the responses were taken over."""
        return len(self.base.slowest_per_day) / DAYS_PER_MONTH


def some(species_id: str) -> str:
    """The variable that says whether an animal comes."""
    return f"some:{species_id}"


def heads(species_id: str) -> str:
    """The variable that says how many of it come."""
    return f"heads:{species_id}"


def met(wish_id: str) -> str:
    """The variable that says whether a wish is met."""
    return f"met:{wish_id}"


def serves(wish_id: str, species_id: str) -> str:
    """The variable that says whether an animal meets a wish."""
    return f"serves:{wish_id}:{species_id}"


def taken(choice_id: str) -> str:
    """The variable that says whether a choice is taken."""
    return f"taken:{choice_id}"


def steps(feeding_id: str) -> str:
    """The variable that says how many steps of the ration are given in this way."""
    return f"steps:{feeding_id}"


def room(about: str) -> str:
    """The variable that says how much a balance has left, 1 where it is at ease."""
    return f"room:{about}"
