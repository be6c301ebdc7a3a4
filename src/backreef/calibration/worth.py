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
from backreef.logbook.kits import KitTrust, all_kits
from backreef.simulation.chore_events import READ_OF_SERIES
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import Layout

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
        shares = settled(foretold, choice.trust, targets)
        most = int(shares.argmax())
        found.append(
            NextReading(
                series=choice.series.door_series,
                label=choice.series.label,
                kit=choice.trust.kit,
                own=choice.own,
                minutes=choice.minutes,
                settles_frac=float(shares.mean()),
                per_minute_frac=float(shares.mean()) / choice.minutes,
                most_about=read[most].label,
            )
        )
    least = number("worth_reading_frac")
    worth = [one for one in found if one.settles_frac >= least]
    return tuple(sorted(worth, key=lambda one: -one.per_minute_frac))


def settled(foretold: Array, trust: KitTrust, targets: Array) -> Array:
    """Share of each target's variance that a reading would take away, (targets,)."""
    count = len(foretold)
    spread_sq = float(foretold.var())
    error_sq = float(np.mean([trust.error_at(value) ** 2 for value in foretold.tolist()]))
    if spread_sq <= LEAST_SPREAD**2:
        return np.zeros(len(targets))
    ranks = foretold.argsort().argsort()
    ranks = (ranks - ranks.mean()) / ranks.std()
    link_sq = (targets @ ranks / count) ** 2
    by_chance = 1.0 / (count - 1)
    link_sq = np.maximum(0.0, (link_sq - by_chance) / (1.0 - by_chance))
    return np.asarray(link_sq * spread_sq / (spread_sq + error_sq))
