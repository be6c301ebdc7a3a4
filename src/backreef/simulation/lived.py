"""A plan as it was lived: what was fed and done, and who died, up to a day; after it the plan again.

The days before the first day are lived by the plan. Up to the day until which it is known who died, nobody
dies by chance: who died is said. A march may stop at any day and gives the same days as one that goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import BY_HAND, Plan
from backreef.catalogue.entries import Catalogue
from backreef.company.engine import setting_of
from backreef.company.survival import hazards_of
from backreef.models.matrix import packaged_matrix
from backreef.schedule.build import Schedule as KeeperSchedule
from backreef.schedule.build import build_schedule
from backreef.simulation.block import Schedule, make_schedule
from backreef.simulation.bodies import body_of
from backreef.simulation.bookings import Bookings
from backreef.simulation.cohorts import Cohort, cohorts_of
from backreef.simulation.dangers import Dangers
from backreef.simulation.draws import Draws
from backreef.simulation.events import OPERATIONS, Drawn, EventProgram
from backreef.simulation.foods import food_slots
from backreef.simulation.layout import packaged_layout
from backreef.simulation.mishaps import Mishaps
from backreef.simulation.operators import Operators
from backreef.simulation.prepared import Prepared
from backreef.simulation.rations import ration_function
from backreef.simulation.setting import Setting
from backreef.simulation.system import spin_up_days_of
from backreef.simulation.tables import InItsUnit
from backreef.simulation.timeline import Cut, Life, Timeline, opening_of

Array = npt.NDArray[np.float64]
QUIET = -1e6
"""A cumulated hazard at which nobody dies; the known deaths stand next above it. [-]"""
ALMOST = 0.5
"""Between one known death and the next on that scale. [-]"""
UNSURE_AT_START = ("S_NO3", "S_PO4", "S_ALK")
"""Components of which the first day's amount is only as good as a test or a guess."""
MIDNIGHT = OPERATIONS.index("midnight")


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownDeath:
    """One animal of an entry of the plan died."""

    entry_id: str
    day: int
    body_taken: bool
    """It was found and taken out; else it rots in the tank."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lived:
    """A plan made ready to march as it was lived."""

    prepared: Prepared
    known_days: int
    """Days of the horizon about which it is known who died."""
    deaths: tuple[KnownDeath, ...]
    """In order of days."""
    day_starts: tuple[int, ...]
    """Number of the segment with which each day of the horizon begins."""
    start_rows: Mapping[str, int]
    """Component -> row of the drawn numbers that says how much more of it there was on the first day than
    the plan says, as a share."""


def prepare_lived(
    plan: Plan,
    catalogue: Catalogue,
    *,
    alter: Callable[[KeeperSchedule], KeeperSchedule],
    deaths: Sequence[KnownDeath],
    known_days: int,
) -> Lived:
    """Turn a plan, and what was otherwise, into foods, cohorts, a schedule and a timeline.

    `alter` gives the schedule as it was lived. It keeps every meal of the plan, with 0 g where it was not
    given: the days before the first day refer to them.
    """
    matrix, layout = packaged_matrix(), packaged_layout()
    foods = food_slots(plan, catalogue, matrix)
    cohorts = cohorts_of(plan, catalogue, matrix, body_of(matrix), foods)
    planned = build_schedule(plan, catalogue, ration_g=ration_function(plan, cohorts, foods))
    lived = alter(planned)
    drawn, wrongs = Drawn(), Mishaps(plan, catalogue)
    operators = Operators(plan, catalogue, layout, cohorts=cohorts, foods=foods, drawn=drawn)
    hazards = hazards_of(setting_of(plan, catalogue))
    dangers = Dangers(hazards, cohorts, operators.book, drawn)
    before, life = Life(planned, operators, wrongs), Life(lived, operators, wrongs)
    known = _Known(cohorts, operators.book, tuple(sorted(deaths, key=lambda each: each.day)), known_days)
    cut, spin_up_days = Cut(plan, wrongs), spin_up_days_of(plan)
    starts: list[int] = []
    for day in range(-spin_up_days, lived.days):
        source = before if day < 0 else life
        source_day = day if day >= 0 else (day + spin_up_days) % lived.days
        instants = source.instants(source_day, counted=day >= 0)
        opening = opening_of(day, operators, cohorts, dangers, source)
        known.insert(opening, day)
        if day >= 0:
            starts.append(len(cut.segments))
        cut.day(day, instants, opening)
    cut.last()
    starts.append(len(cut.segments) - 1)
    timeline = Timeline(
        schedule=make_schedule(cut.segments, cut.events, notes=len(life.noted), days=lived.days),
        drawn=drawn.rows,
        noted=life.noted,
        spin_up_days=spin_up_days,
        hazards=hazards,
    )
    prepared = Prepared(
        plan=plan,
        catalogue=catalogue,
        keeper=lived,
        foods=foods,
        cohorts=cohorts,
        timeline=timeline,
        layout=layout,
    )
    return Lived(
        prepared=prepared,
        known_days=known_days,
        deaths=known.deaths,
        day_starts=tuple(starts),
        start_rows=known.start_rows,
    )


def cut_short(lived: Lived, days: int) -> Lived:
    """The same life, marched for its first days only."""
    timeline = lived.prepared.timeline
    last = lived.day_starts[days]
    schedule: Schedule = replace(
        timeline.schedule,
        segments=timeline.schedule.segments[: last + 1],
        event_from=timeline.schedule.event_from[: last + 2],
        days=days,
    )
    prepared = replace(lived.prepared, timeline=replace(timeline, schedule=schedule))
    return replace(lived, prepared=prepared, day_starts=lived.day_starts[: days + 1])


def setting_as_lived(
    lived: Lived, draws: Draws, *, hand_ratio: Array, start_ratio: Mapping[str, Array]
) -> Setting:
    """The first day of all members, whose number fills blocks.

    `hand_ratio` is what each member gives by hand over what the plan says, for good; `start_ratio` is what
    there was of a component on the first day over what the plan says. All (members,).
    """
    setting = Setting(lived.prepared, draws)
    died: dict[str, int] = {}
    for death in lived.deaths:
        died[death.entry_id] = died.get(death.entry_id, 0) + 1
    for slot, cohort in enumerate(lived.prepared.cohorts):
        known = died.get(cohort.entry.id, 0)
        if known:
            chance = setting.thresholds[slot].copy()
            setting.thresholds[slot, known:] = chance[: len(chance) - known]
            setting.thresholds[slot, :known] = (QUIET + ALMOST + np.arange(known))[:, None]
    by_hand = [
        place
        for place, key in enumerate(lived.prepared.timeline.drawn)
        if key[0] == "portion" and key[2] == BY_HAND
    ]
    setting.drawn[by_hand] *= hand_ratio
    for component, row in lived.start_rows.items():
        setting.drawn[row] = start_ratio[component] - 1.0
    return setting


class _Known:
    """Writes known deaths into the midnights that end their days."""

    def __init__(
        self, cohorts: list[Cohort], book: Bookings, deaths: tuple[KnownDeath, ...], known_days: int
    ) -> None:
        slots = {cohort.entry.id: slot for slot, cohort in enumerate(cohorts)}
        self.book, self.slots, self.known_days = book, slots, known_days
        self.counts = {cohort.entry.id: cohort.entry.count for cohort in cohorts}
        kept: list[KnownDeath] = []
        gone: dict[str, int] = dict.fromkeys(slots, 0)
        self.at: dict[int, list[tuple[int, KnownDeath]]] = {}
        for death in deaths:
            if death.entry_id in slots and gone[death.entry_id] < self.counts[death.entry_id]:
                self.at.setdefault(death.day, []).append((gone[death.entry_id], death))
                gone[death.entry_id] += 1
                kept.append(death)
        self.deaths = tuple(kept)
        self.start_rows = {name: book.drawn.row("start", name) for name in UNSURE_AT_START}

    def insert(self, program: EventProgram, day: int) -> None:
        """Put what is known of a day before what its midnight would do by chance."""
        known = EventProgram()
        if day == 0:
            self._set_all(known, QUIET)
            for name, row in self.start_rows.items():
                known.put("add_drawn", target=self.book.at(name), source=self.book.at(name), extra=row)
        for before, death in self.at.get(day - 1, ()):
            self._die(known, before, death)
        if day == self.known_days:
            self._set_all(known, 0.0)  # after the deaths: this has passed the thresholds of all known ones
        place = next(i for i, operation in enumerate(program.operations) if operation[0] == MIDNIGHT)
        program.operations[place:place] = known.operations

    def _row(self, entry_id: str, name: str) -> int:
        return self.book.slot_row(self.slots[entry_id], name, len(self.slots))

    def _set_all(self, program: EventProgram, hazard: InItsUnit) -> None:
        for entry_id in self.slots:
            target = self._row(entry_id, "hazard")
            program.put("set", target=target, source=self.book.at("one"), factor=hazard)

    def _die(self, program: EventProgram, before: int, death: KnownDeath) -> None:
        """One more has died: its body is taken out here, or midnight leaves it in the water."""
        one = self.book.at("one")
        if death.body_taken:
            share = 1.0 / (self.counts[death.entry_id] - before)
            for name in ("structure", "reserve"):
                row = self._row(death.entry_id, name)
                self.book.ledger(program, "animals", row, self.book.flesh, share)
                program.put("add", target=row, source=row, factor=-share)
            program.put("add", target=self._row(death.entry_id, "lost"), source=one, factor=1.0)
        hazard = QUIET + before + 1.0
        program.put("set", target=self._row(death.entry_id, "hazard"), source=one, factor=hazard)
