"""The horizon cut into segments, and what happens before each: meals, chores, arrivals, midnights.

A segment ends where light turns on or off, where food is given, where a chore is done, at midnight, and after
three hours at the latest. Everything here is the same for all members; what differs between them (portions,
kit errors, jams) is a row of drawn numbers that an event refers to.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.company.engine import setting_of
from backreef.company.hazards import Hazard
from backreef.company.survival import hazards_of
from backreef.schedule.build import Schedule as KeeperSchedule
from backreef.schedule.chores import Chore
from backreef.schedule.meals import MealOccasion
from backreef.schedule.staleness import overdue_ratios
from backreef.simulation.block import Schedule, make_schedule
from backreef.simulation.cohorts import Cohort
from backreef.simulation.dangers import Dangers
from backreef.simulation.day_light import HOURS, DayLight, day_light
from backreef.simulation.events import Drawn, EventProgram
from backreef.simulation.foods import FoodSlot, refused_of_stale_frac
from backreef.simulation.layout import FORCINGS, packaged_layout
from backreef.simulation.mishaps import Mishaps
from backreef.simulation.operators import Operators
from backreef.simulation.sensors import looks, may_flood
from backreef.simulation.system import spin_up_days_of
from backreef.simulation.tables import system_number
from backreef.units import DAYS_PER_YEAR

LONGEST_H = 3.0
LONGEST_MISHAP_H = 1.0
"""Temperature drifts quickly without heater and pumps."""
LEAST_GAP_H = 1.0 / 60.0
"""Instants nearer than a minute are one."""
SAME_HOUR_H = 1e-9
LAST_H = HOURS - LEAST_GAP_H
"""What is to happen when a day ends happens in its last minute: midnight is the next day's."""
SEASON = 1 + FORCINGS.index("room_season")
"""Where a segment has the season: behind its length."""
WRITE_LAST_D = 1e-9
"""Length of the last segment, which only writes the last day down."""
Action = Callable[[EventProgram], None]
Piece = tuple[float | None, list[float]]
"""The hour at which a segment begins with what happens then, None where it only goes on; and its row."""
_NOTHING = EventProgram()
"""Before a segment that only light or length divides from the one before; never written to."""


@dataclass(slots=True)
class Instants:
    """What happens in a day, by hour."""

    at: dict[float, list[Action]] = field(default_factory=lambda: defaultdict(list))
    rests: list[float] = field(default_factory=list)
    """Hours of meals at which the return pump rests.

    It counts as resting until the next instant of the day: what a meal leaves adrift has settled long before,
    so the end of the rest needs no segment of its own.
    """

    def add(self, hour_h: float, action: Action) -> None:
        """Let something happen at an hour; instants within a minute are put together."""
        hour_h = 0.0 if hour_h < SAME_HOUR_H else min(hour_h, LAST_H)
        for known_h in self.at:
            if abs(known_h - hour_h) < LEAST_GAP_H:
                self.at[known_h].append(action)
                return
        self.at[hour_h].append(action)

    def pumps_rest(self, hour_h: float) -> bool:
        """Whether food stays away from the overflow in the segment that begins at an hour."""
        return bool(self.rests) and any(abs(hour_h - rest_h) < LEAST_GAP_H for rest_h in self.rests)


@dataclass(slots=True, kw_only=True)
class Timeline:
    """The compiled schedule and the keys of what it drew and noted."""

    schedule: Schedule
    drawn: list[tuple[str, ...]]
    noted: list[str]
    """Id of the conditional chore behind each note."""
    spin_up_days: int
    hazards: tuple[Hazard, ...]
    """What a drawn row of a hazard refers to, by its number."""


def build_timeline(
    plan: Plan,
    catalogue: Catalogue,
    keeper: KeeperSchedule,
    *,
    cohorts: list[Cohort],
    foods: tuple[FoodSlot, ...],
) -> Timeline:
    """Give all segments and events of a plan, the days before the first day included."""
    drawn, spin_up_days = Drawn(), spin_up_days_of(plan)
    hazards = hazards_of(setting_of(plan, catalogue))
    wrongs = Mishaps(plan, catalogue)
    operators = Operators(plan, catalogue, packaged_layout(), cohorts=cohorts, foods=foods, drawn=drawn)
    dangers = Dangers(hazards, cohorts, operators.book, drawn)
    life = Life(keeper, operators, wrongs)
    cut = Cut(plan, wrongs)
    for day in range(-spin_up_days, keeper.days):
        source_day = day if day >= 0 else (day + spin_up_days) % keeper.days
        instants = life.instants(source_day, counted=day >= 0)
        opening = opening_of(day, operators, cohorts, dangers, life)
        cut.day(day, instants, opening)
    cut.last()
    return Timeline(
        schedule=make_schedule(cut.segments, cut.events, notes=len(life.noted), days=keeper.days),
        drawn=drawn.rows,
        noted=life.noted,
        spin_up_days=spin_up_days,
        hazards=hazards,
    )


def opening_of(
    day: int, operators: Operators, cohorts: list[Cohort], dangers: Dangers, life: Life
) -> EventProgram:
    """What a midnight brings: the first day, arrivals, devices, growth and deaths; yesterday is written.

    What somebody saw yesterday is mended by now.
    """
    program = EventProgram()
    if day == 0:
        operators.begin(program)
    for slot, cohort in enumerate(cohorts):
        if day == 0 and cohort.settled:
            operators.settle_anew(program, slot, cohort)
        elif cohort.arrives_day == day and not cohort.settled:
            operators.arrive(program, slot, cohort)
    operators.surfaces_arrive(program, day)
    if life.looked_at_on(day - 1):
        operators.chores.look(program)
    operators.daily(program, **life.mishaps.devices_at(day * HOURS))
    if life.may_spill:
        operators.chores.spill(program)
    dangers.reckon(program, day)
    program.put("midnight")
    if day > 0:
        program.put("write_day")
    return program


class Life:
    """Meals and chores by day."""

    def __init__(self, keeper: KeeperSchedule, operators: Operators, mishaps: Mishaps) -> None:
        self.operators, self.mishaps = operators, mishaps
        plan, catalogue = operators.plan, operators.catalogue
        self.days, self.looks = keeper.days, looks(keeper)
        self.may_spill = mishaps.may_spill or may_flood(plan, catalogue, keeper)
        self.noted: list[str] = []
        self.rest_min = {meal.id: meal.pump_pause_min for meal in plan.meals}
        self.refused_frac = {
            at: refused_of_stale_frac(overdue)
            for at, overdue in overdue_ratios(plan, catalogue, keeper).items()
        }
        """Food and day -> what is left of its meals because the pack is stale."""
        self.meals: dict[int, list[MealOccasion]] = defaultdict(list)
        for meal in keeper.meals.occasions:
            if meal.food_g > 0:
                self.meals[meal.day].append(meal)
        self.chores: dict[int, list[Chore]] = defaultdict(list)
        self.wanted: dict[int, list[Chore]] = defaultdict(list)
        """Chores with a condition that nobody can do: whether they are wanted is decided in each member."""
        for chore in keeper.chores:
            if chore.merged_into is not None:
                continue
            if chore.done_day is None:
                if chore.condition is not None:
                    self.wanted[max(0, chore.due_day)].append(chore)
            elif operators.chores.touches_water(chore):
                self.chores[chore.done_day].append(chore)

    def looked_at_on(self, day: int) -> bool:
        """Whether somebody looks at the machines on a day; days before the first are lived as those after."""
        return day % self.days in self.looks

    def instants(self, day: int, *, counted: bool) -> Instants:
        """Give what happens on a day; conditional chores are noted where the day counts."""
        instants = Instants()
        for meal in self.meals[day]:
            if counted and not self.mishaps.feeds(meal.by, day * HOURS + meal.hour):
                continue
            refused_frac = self.refused_frac.get((meal.food_id, meal.day), 0.0)
            instants.add(meal.hour, partial(self.operators.feed, meal=meal, refused_frac=refused_frac))
            if self.rest_min[meal.meal_id] > 0:
                instants.rests.append(meal.hour)
        for chore in self.chores[day]:
            note = self._note(chore) if chore.condition is not None and counted else None
            instants.add(chore.hour, partial(self.operators.chores.do, chore=chore, note=note))
        for chore in self.wanted[day] if counted else ():
            instants.add(chore.hour, partial(self.operators.chores.ask, chore=chore, note=self._note(chore)))
        return instants

    def _note(self, chore: Chore) -> int:
        self.noted.append(chore.id)
        return len(self.noted) - 1


class Cut:
    """Days cut into segments, each with the program that runs before it."""

    def __init__(self, plan: Plan, mishaps: Mishaps) -> None:
        self.mishaps = mishaps
        self.first_day_of_year = float(plan.start_on.timetuple().tm_yday)
        self.light: DayLight = day_light(plan)
        self.segments: list[list[float]] = []
        self.events: list[EventProgram] = []
        self._alike: dict[tuple[tuple[float, ...], tuple[float, ...]], list[Piece]] = {}
        """Pieces of days on which nothing goes wrong, by the instants and rests of the day."""

    def day(self, day: int, instants: Instants, opening: EventProgram) -> None:
        """Append the segments of a day."""
        season_ratio = self._season_ratio(day)
        for since_h, usual in self._pieces(day, instants):
            segment = usual.copy()
            segment[SEASON] = season_ratio
            self.segments.append(segment)
            actions = () if since_h is None else instants.at.get(since_h, ())
            program = opening if since_h == 0.0 else EventProgram() if actions else _NOTHING
            for action in actions:
                action(program)
            self.events.append(program)

    def last(self) -> None:
        """Append the segment that writes the last day."""
        program = EventProgram()
        program.put("write_day")
        values = dict.fromkeys(FORCINGS, 0.0) | {"pumps": 1.0}
        self.segments.append([WRITE_LAST_D, *(values[name] for name in FORCINGS)])
        self.events.append(program)

    def _pieces(self, day: int, instants: Instants) -> list[Piece]:
        """The segments of a day, but for their season; days with the same hours are alike."""
        if self.mishaps.spells:
            return list(self._cut(day, instants))
        kind = (tuple(instants.at), tuple(instants.rests))
        if kind not in self._alike:
            self._alike[kind] = list(self._cut(day, instants))
        return self._alike[kind]

    def _cut(self, day: int, instants: Instants) -> Iterator[Piece]:
        # instants first: of two hours that are one but for rounding, what happens is looked up by its own
        hours = (*instants.at, *self.light.corners, *self.mishaps.edges(day))
        edges = _with_edges([0.0, HOURS], hours)
        for since_h, until_h in pairwise(edges):
            wrong = self.mishaps.any_at(day * HOURS + since_h)
            longest_h = LONGEST_MISHAP_H if wrong else LONGEST_H
            pieces = max(1, math.ceil((until_h - since_h) / longest_h - SAME_HOUR_H))
            for piece in range(pieces):
                start_h = since_h + (until_h - since_h) * piece / pieces
                end_h = since_h + (until_h - since_h) * (piece + 1) / pieces
                overflows = not instants.pumps_rest(start_h)
                yield since_h if piece == 0 else None, self._forced(day, start_h, end_h, overflows=overflows)

    def _season_ratio(self, day: int) -> float:
        """1 on the warmest day of the room's year, -1 on the coldest."""
        since_warmest_d = self.first_day_of_year + day - system_number("warmest_day_d")
        return math.cos(2 * math.pi * since_warmest_d / DAYS_PER_YEAR)

    def _forced(self, day: int, start_h: float, end_h: float, *, overflows: bool) -> list[float]:
        """The length of a segment and its forcings, in their order; the season follows the day."""
        length_d, at_h = (end_h - start_h) / HOURS, day * HOURS + (start_h + end_h) / 2
        first = self.light.display_frac(start_h + SAME_HOUR_H)
        last = self.light.display_frac(end_h - SAME_HOUR_H)
        values = dict.fromkeys(FORCINGS, 0.0) | self.mishaps.switches(at_h)
        if not self.mishaps.dark(at_h):
            values["day_shape"], values["day_slope"] = first, (last - first) / length_d
            values["refugium_shape"] = self.light.refugium_frac((start_h + end_h) / 2)
        values["pumps"] = 1.0 if self.mishaps.pumps(at_h) else 0.0
        values["overflow"] = values["pumps"] if overflows else 0.0
        return [length_d, *(values[name] for name in FORCINGS)]


def _with_edges(edges: list[float], hours: Iterable[float]) -> list[float]:
    """Put hours in order among the edges of a day, but for those that are there already."""
    together = edges.copy()
    for hour in hours:
        place = bisect_left(together, hour)
        near = together[max(0, place - 1) : place + 1]
        if all(abs(hour - edge) >= SAME_HOUR_H for edge in near):
            together.insert(place, hour)
    return together
