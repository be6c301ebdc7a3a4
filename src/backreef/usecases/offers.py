"""Proposals as a page keeps them: each plan with its text and its reasons, to be adopted later."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from backreef.judgement.verdict import Forecast

MOST_LINES = 12
_OF_OFFER = re.compile(r"offer\.(\d{1,3})\.(.+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One plan that holds."""

    aim: str
    title: str
    text: str
    """The whole plan file."""
    verdict: str
    reasons: tuple[str, ...]
    differences: tuple[str, ...]
    """What it says otherwise than the plan that it was made from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offers:
    """What was found for a plan."""

    status: str
    """found, none or stopped."""
    words: str
    plans: tuple[Offer, ...]
    outcomes: str
    """The plans side by side, as markup; empty where there are none."""
    wishes: tuple[str, ...]
    conflicts: tuple[tuple[str, str], ...]
    """A wish that cannot be met, and what it collides with and what would make room."""
    as_it_is: str
    """What becomes of the plan with nobody new; empty where plans were found."""
    tried: tuple[str, ...]
    """Plans that were simulated or looked at and not taken, with the reason."""
    left_out: tuple[str, ...]


def offer_asked(place: int, figure: str = "") -> str:
    """What a figure of a plan is asked as that was found and is not adopted."""
    return f"offer.{place}.{figure}"


def asked_of_offer(name: str) -> tuple[int, str] | None:
    """Which of the plans that were found a figure is of, and the figure; None for the plan itself."""
    found = _OF_OFFER.fullmatch(name)
    return None if found is None else (int(found[1]), found[2])


@dataclass(frozen=True, slots=True, kw_only=True)
class SoFar:
    """What was simulated while the search goes on, newest last."""

    lines: tuple[str, ...] = ()
    best: str = ""

    def with_another(self, forecast: Forecast) -> SoFar:
        """The same with one more plan that was simulated."""
        animals = sum(one.count_start for one in forecast.animals)
        minutes = forecast.minutes.per_month_p50
        holding = round(forecast.share_holding * forecast.members)
        words = f"{animals} animals, {minutes:.0f} minutes a month: holds in {holding} of {forecast.members}"
        cause = forecast.first_break_cause
        line = words if forecast.holds else f"{words}; {cause}" if cause else words
        return SoFar(lines=(*self.lines, line)[-MOST_LINES:], best=words if forecast.holds else self.best)
