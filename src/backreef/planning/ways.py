"""A way out of what stands in the way of a wish, in the keeper's own terms."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.aquarium.plan import Plan
from backreef.planning.programme import Row
from backreef.simulation.tables import InItsUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """Something to give, to give up, to buy or to wait for, and what the simulation said of it."""

    words: str
    rows: tuple[Row, ...] = ()
    """What the programme has to keep with it."""
    budget_min_per_month: InItsUnit | None = None
    """The keeper's minutes with it; None: as they are."""
    plan: Plan | None = None
    """The whole plan with it, where no programme is needed to make one."""
    simulable: bool = True
    share_holding: InItsUnit | None = None
    """Of the members with it; None where it was not simulated."""
    holds: bool = False

    @property
    def told(self) -> str:
        """The words with what the simulation said."""
        if self.share_holding is None:
            return f"{self.words} (not simulated)"
        verdict = "holds" if self.holds else "does not hold"
        return f"{self.words} (simulated: {verdict}, in {self.share_holding:.0%} of the members tried)"
