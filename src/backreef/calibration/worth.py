"""Which reading next week would settle most: how far it narrows the outlook, for the minutes it takes.

The fitted members foretell both the reading and the outlook. How they go together says how much of the spread
of the outlook a reading with such a kit would take away, whatever it showed (the expected reduction of
variance of a Gaussian update). Links that chance alone would give so few members are taken off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.aquarium.series import Series, all_series
from backreef.calibration.evidence import REGISTERS, Taken, at_moments, course_of
from backreef.calibration.outcome import NextReading
from backreef.calibration.tables import number, reading_minutes
from backreef.calibration.workings import minutes_of, simulated
from backreef.logbook.kits import KitTrust, all_kits
from backreef.simulation.chore_events import READ_OF_SERIES
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import Layout
from backreef.working.number import total
from backreef.working.steps import InItsUnit

Array = npt.NDArray[np.float64]
NEXT_WEEK_D = 7
LEAST_SPREAD = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A reading that could be taken."""

    series: Series
    trust: KitTrust
    minutes: float
    own: bool
    """The keeper has used this kit."""


def choices_of(taken: Sequence[Taken]) -> list[Choice]:
    """What could be read: with the keeper's own kits, or for other series with the commonest kind."""
    own = {(one.series.series, one.trust.kit): one for one in taken}
    minutes = reading_minutes()
    found = []
    for series in all_series():
        if series.series not in READ_OF_SERIES and series.series not in REGISTERS:
            continue
        kits = [
            kit for kit in all_kits() if kit.series == series.series and (series.word, kit.kit) in minutes
        ]
        mine = [kit for kit in kits if (series.series, kit.kit) in own]
        found += [
            Choice(
                series=series,
                trust=kit,
                minutes=minutes[series.word, kit.kit],
                own=(series.series, kit.kit) in own,
            )
            for kit in (mine or kits[:1])
        ]
    return found


def targets_of(layout: Layout, members: Members, read: Sequence[Series]) -> Array:
    """What is to be settled: each followed series at the end of the outlook, in steps of its spread."""
    rows = []
    for series in read:
        last = course_of(series.series, layout, members)[-1]
        ranks = last.argsort().argsort()  # ranks: a long tail must not speak for all members
        rows.append((ranks - ranks.mean()) / ranks.std())
    return np.array(rows)


def is_open(series: Series, layout: Layout, members: Members) -> bool:
    """Whether members differ in a series at the end of the outlook: else it is settled already."""
    last = course_of(series.series, layout, members)[-1]
    return float(last.std()) > LEAST_SPREAD * max(1.0, abs(float(last.mean())))


def next_readings(
    layout: Layout, members: Members, *, taken: Sequence[Taken], read: Sequence[Series], last_day: int
) -> tuple[NextReading, ...]:
    """Readings of next week, that which settles most per minute first."""
    read = [series for series in read if is_open(series, layout, members)]
    targets = targets_of(layout, members, read)
    if not len(targets):
        return ()
    found = []
    for choice in choices_of(taken):
        course = course_of(choice.series.series, layout, members)
        foretold = at_moments(course, np.array([last_day + NEXT_WEEK_D + 0.5]))[0]
        worth = _Worth(choice, foretold, targets)
        minutes = minutes_of(choice.minutes, f"{choice.series.label}, {choice.trust.kit}", "reading_minutes")
        settles = worth.settled()
        found.append(
            NextReading(
                series=choice.series.door_series,
                label=choice.series.label,
                kit=choice.trust.kit,
                own=choice.own,
                minutes=minutes,
                settles_frac=settles,
                per_minute_frac=settles / minutes,
                most_about=read[int(worth.links_sq.argmax())].label,
            )
        )
    least = number("worth_reading_frac")
    return tuple(
        sorted((one for one in found if one.settles_frac >= least), key=lambda one: -one.per_minute_frac)
    )


class _Worth:
    """What a choice would settle, as the members have it."""

    def __init__(self, choice: Choice, foretold: Array, targets: Array) -> None:
        self.choice = choice
        self.links_sq = links_sq_of(foretold, targets)
        self.spread_sq, self.error_sq = float(foretold.var()), error_sq_of(foretold, choice.trust)

    def settled(self) -> InItsUnit:
        """Mean share of the variance of the targets that it would take away."""
        label = self.choice.series.label
        key = f"fit.next.{self.choice.series.word}.{self.choice.trust.kit}"

        def told(symbol: str, value: InItsUnit, words: str, part: str = "") -> InItsUnit:
            return simulated(symbol, value, words, key=f"{key}.{symbol}{part}")

        links = [
            told("link", link, f"how {label} next week and outlook {place} go together, squared", f".{place}")
            for place, link in enumerate(self.links_sq.tolist(), 1)
        ]
        spread_sq = told("spread_sq", self.spread_sq, f"variance of {label} next week over the members")
        error_sq = told("error_sq", self.error_sq, "variance of such a kit's error, mean of the members")
        return total(links) / float(len(links)) * certainty(spread_sq, error_sq)


def certainty(spread_sq: InItsUnit, error_sq: InItsUnit) -> InItsUnit:
    """The share of what differs between readings that is no error of the kit."""
    if spread_sq <= LEAST_SPREAD**2:
        return 0.0
    return spread_sq / (spread_sq + error_sq)


def error_sq_of(foretold: Array, trust: KitTrust) -> float:
    """The variance of a kit's error, mean of the members."""
    return float(np.mean([trust.error_at(value) ** 2 for value in foretold.tolist()]))


def links_sq_of(foretold: Array, targets: Array) -> Array:
    """How each target goes together with a reading in the members, squared, chance taken off, (targets,)."""
    count = len(foretold)
    if float(foretold.var()) <= LEAST_SPREAD**2:
        return np.zeros(len(targets))
    ranks = foretold.argsort().argsort()
    ranks = (ranks - ranks.mean()) / ranks.std()
    link_sq = (targets @ ranks / count) ** 2
    by_chance = 1.0 / (count - 1)
    return np.asarray(np.maximum(0.0, (link_sq - by_chance) / (1.0 - by_chance)))


def settled(foretold: Array, trust: KitTrust, targets: Array) -> Array:
    """Share of each target's variance that a reading would take away, (targets,)."""
    spread_sq, error_sq = float(foretold.var()), error_sq_of(foretold, trust)
    return links_sq_of(foretold, targets) * certainty(spread_sq, error_sq)
