"""A stretch of a plan's days marched hour by hour from a state that was kept, for all members side by side.

The days before are marched once; each trial of the stretch begins from the same kept state with the same
draws, so that two trials differ by what was changed and by nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.simulation.block import FORECAST, make_schedule
from backreef.simulation.dangers import Dangers
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import Keep, Members, march_members, marcher
from backreef.simulation.events import Drawn, EventProgram
from backreef.simulation.layout import FORCINGS, LANES
from backreef.simulation.mishaps import Mishaps
from backreef.simulation.operators import Operators
from backreef.simulation.prepared import Prepared
from backreef.simulation.resumed import Morning, mornings_of
from backreef.simulation.setting import Setting
from backreef.simulation.signature import EXTREMES, SEGMENT_COLUMNS
from backreef.simulation.timeline import LEAST_GAP_H, Action, Cut, Instants, Life, Timeline, opening_of

Array = npt.NDArray[np.float64]
HOURS = 24
SOON = -1.0
"""A threshold that every hazard has passed: the animal dies at the next midnight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Switched:
    """Forcings that stay at a value for some hours of the stretch."""

    from_h: int
    until_h: int
    values: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What is changed in a stretch, beside the plan and its schedule."""

    switched: tuple[Switched, ...] = ()
    set_at_start: Mapping[str, float] = field(default_factory=dict)
    """Register -> its value when the stretch begins, as litres in the top-off's reservoir."""
    dies: Mapping[str, int] = field(default_factory=dict)
    """Entry of the plan's animals -> how many die at the first midnight."""


NOTHING = Trial()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Days of the horizon, the last not included."""

    first_day: int
    until_day: int

    @property
    def hours(self) -> int:
        """How long it lasts. [h]"""
        return (self.until_day - self.first_day) * HOURS


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kept:
    """The state of all members when a stretch begins."""

    state: Array
    """(rows, members), filled up to whole blocks."""
    draws: Draws
    """Of whole blocks."""
    members: int


def keep_state(prepared: Prepared, draws: Draws, day: int) -> Kept:
    """March a plan up to the morning of a day and keep what is there; `prepared` ends no earlier."""
    padded = draws.some(draws.first, -(-draws.members // LANES) * LANES)
    marched = march_members(
        prepared, padded, FORECAST, keep=Keep(rows=frozenset(), audit=partial(Morning, day))
    )
    return Kept(state=mornings_of(marched), draws=padded, members=draws.members)


def march_stretch(prepared: Prepared, stretch: Stretch, kept: Kept, trial: Trial = NOTHING) -> Watched:
    """March a stretch from a kept state; what comes out has one row for each hour."""
    timeline = _timeline(prepared, stretch, trial)
    watched = replace(prepared, timeline=timeline)
    setting = Setting(watched, kept.draws)
    setting.state = kept.state.copy()
    _let_die(setting, watched, trial.dies)
    march = marcher(watched, FORECAST)
    blocks = [march(setting.block(number)) for number in range(kept.draws.members // LANES)]
    members = Members(
        count=kept.members,
        seed=kept.draws.seed,
        begun=setting.begun.lanes(slice(0, kept.members)),
        blocks=blocks,
        numbers=np.arange(kept.members),
    )
    return Watched(prepared=watched, members=members, first_day=stretch.first_day)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Watched:
    """A stretch hour by hour: row k of the members is the end of hour k + 1."""

    prepared: Prepared
    members: Members
    first_day: int
    """The day of the plan on which it begins."""


def _let_die(setting: Setting, prepared: Prepared, dies: Mapping[str, int]) -> None:
    """Let the hazard of the next animals of an entry be passed already."""
    slots = len(prepared.cohorts)
    for slot, cohort in enumerate(prepared.cohorts):
        count = dies.get(cohort.entry.id, 0)
        if not count:
            continue
        lost = setting.state[prepared.layout.slot_address(slot, "lost", slots)].round().astype(int)
        for member, gone in enumerate(lost.tolist()):
            setting.thresholds[slot, gone : gone + count, member] = SOON


def _timeline(prepared: Prepared, stretch: Stretch, trial: Trial) -> Timeline:
    drawn = Drawn()
    operators = Operators(
        prepared.plan,
        prepared.catalogue,
        prepared.layout,
        cohorts=prepared.cohorts,
        foods=prepared.foods,
        drawn=drawn,
    )
    hazards = prepared.timeline.hazards
    dangers = Dangers(hazards, prepared.cohorts, operators.book, drawn)
    wrongs = Mishaps(prepared.plan, prepared.catalogue)
    life = Life(prepared.keeper, operators, wrongs)
    cut = Cut(prepared.plan, wrongs)
    for day in range(stretch.first_day, stretch.until_day):
        instants = life.instants(day, counted=True)
        _write_each_hour(instants, operators.chores.spill if life.may_spill else None)
        if day == stretch.first_day:
            program = _start(operators, trial)
        else:
            program = opening_of(day, operators, prepared.cohorts, dangers, life)
        cut.day(day, instants, program)
    cut.last()
    _switch(cut.segments, trial.switched)
    schedule = make_schedule(cut.segments, cut.events, notes=len(life.noted), days=stretch.hours)
    return Timeline(schedule=schedule, drawn=drawn.rows, noted=life.noted, spin_up_days=0, hazards=hazards)


def _start(operators: Operators, trial: Trial) -> EventProgram:
    """The first midnight: bodies take their size, extremes begin anew, registers are set."""
    program, book = EventProgram(), operators.book
    program.put("midnight")
    for name, (_, value) in EXTREMES.items():
        book.set_to(program, name, value)
    for name, value in trial.set_at_start.items():
        book.set_to(program, name, value)
    return program


def _write_each_hour(instants: Instants, spill: Action | None) -> None:
    """Write the state down at each full hour, before all that happens then; midnights do so anyway.

    Where water may stand above the brim it runs out first.
    """

    def write(program: EventProgram) -> None:
        if spill is not None:
            spill(program)
        program.put("write_day")

    for hour in range(1, HOURS):
        near = next((at for at in instants.at if abs(at - hour) < LEAST_GAP_H), float(hour))
        instants.at[near].insert(0, write)


def _switch(segments: list[list[float]], switched: Sequence[Switched]) -> None:
    """Hold forcings in the segments that begin within their hours."""
    starts_h = np.concatenate([[0.0], np.cumsum([segment[0] for segment in segments])[:-1]]) * HOURS
    places = {name: SEGMENT_COLUMNS.index(name) for name in FORCINGS}
    for one in switched:
        inside = np.flatnonzero(
            (starts_h >= one.from_h - LEAST_GAP_H) & (starts_h < one.until_h - LEAST_GAP_H)
        )
        for place in inside.tolist():
            for name, value in one.values.items():
                segments[place][places[name]] = value
