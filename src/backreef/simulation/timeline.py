"""The horizon cut into segments, and what happens before each: meals, chores, arrivals, midnights.

A segment ends where light turns on or off, where food is given or the pumps start again, where a chore is done, at
midnight, and after three hours at the latest. Everything here is the same for all members; what differs between them
(portions, kit errors, jams) is a row of drawn numbers that an event refers to.
"""

from __future__ import annotations

import math
from bisect import insort
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.build import Schedule as KeeperSchedule
from backreef.schedule.chores import Chore
from backreef.schedule.meals import MealOccasion
from backreef.simulation.block import Schedule, make_schedule
from backreef.simulation.cohorts import Cohort
from backreef.simulation.events import EventProgram
from backreef.simulation.foods import FoodSlot
from backreef.simulation.layout import FORCINGS, Layout
from backreef.simulation.operators import Operators
from backreef.simulation.system import refugium_of

HOURS = 24.0
LONGEST_H = 3.0
LEAST_GAP_H = 1.0 / 60.0
"""Instants nearer than a minute are one."""
DAYS_PER_YEAR = 365.25
WARMEST_DAY_OF_YEAR = 205
"""Late July; the southern half of the world is half a year off (see `tank.room_temperature`). practice"""
WRITE_LAST_D = 1e-9


@dataclass(slots=True)
class Instants:
    """What happens in a day, by hour."""

    at: dict[float, list[Callable[[EventProgram], None]]] = field(default_factory=lambda: defaultdict(list))

    def add(self, hour: float, action: Callable[[EventProgram], None]) -> None:
        """Let something happen at an hour; instants within a minute are put together."""
        for known_hour in self.at:
            if abs(known_hour - hour) < LEAST_GAP_H:
                self.at[known_hour].append(action)
                return
        self.at[hour].append(action)


@dataclass(slots=True)
class Drawn:
    """A list of drawn numbers that events ask for: names of rows, in order."""

    rows: list[tuple[str, ...]] = field(default_factory=list)

    def row(self, *what: str) -> int:
        """Give the number of the row for something drawn."""
        self.rows.append(what)
        return len(self.rows) - 1


@dataclass(slots=True, kw_only=True)
class Timeline:
    """The compiled schedule and the keys of what it drew and noted."""

    schedule: Schedule
    drawn: list[tuple[str, ...]]
    noted: list[str]
    """Id of the conditional chore behind each note."""
    spin_up_days: int


def build_timeline(
    plan: Plan,
    catalogue: Catalogue,
    keeper: KeeperSchedule,
    *,
    cohorts: list[Cohort],
    foods: tuple[FoodSlot, ...],
    layout: Layout,
    spin_up_days: int,
) -> Timeline:
    """Give all segments and events of a plan, with so many days of the same life before the first day."""
    drawn, noted = Drawn(), []
    operators = Operators(plan, catalogue, layout, cohorts, foods, drawn)
    meals_on: dict[int, list[MealOccasion]] = defaultdict(list)
    for meal in keeper.meals.occasions:
        if meal.food_g > 0:
            meals_on[meal.day].append(meal)
    chores_on: dict[int, list[Chore]] = defaultdict(list)
    for chore in keeper.chores:
        if chore.done_day is not None and chore.merged_into is None and operators.touches_water(chore):
            chores_on[chore.done_day].append(chore)
    light = _light_hours(plan)
    segments: list[list[float]] = []
    events: list[EventProgram] = []
    for day in range(-spin_up_days, keeper.days):
        source_day = day if day >= 0 else (day + spin_up_days) % keeper.days
        instants = Instants()
        pauses = _meals(instants, meals_on[source_day], plan, operators)
        for chore in chores_on[source_day]:
            _chore(instants, chore, operators, noted, counted=day >= 0)
        opening = EventProgram()
        if day == 0:
            operators.begin(opening)
        for slot, cohort in enumerate(cohorts):
            if day == 0 and cohort.settled:
                operators.settle_anew(opening, slot, cohort)
            elif cohort.arrives_day == day and not cohort.settled:
                operators.arrive(opening, slot, cohort)
        operators.surfaces_arrive(opening, day)
        operators.daily(opening)
        opening.put("midnight")
        if day > 0:
            opening.put("write_day")
        _cut(day, instants, opening, pauses, light, plan, segments, events)
    last = EventProgram()
    last.put("write_day")
    segments.append([WRITE_LAST_D, *([0.0] * (len(FORCINGS)))])
    segments[-1][1 + FORCINGS.index("pumps")] = 1.0
    events.append(last)
    return Timeline(
        schedule=make_schedule(segments, events, notes=len(noted), days=keeper.days),
        drawn=drawn.rows,
        noted=noted,
        spin_up_days=spin_up_days,
    )


def _meals(instants: Instants, meals: list[MealOccasion], plan: Plan, operators: Operators) -> list[float]:
    """Put the meals of a day; give the hours at which the pumps rest for one.

    The return pump counts as resting until the next instant of the day: what a meal leaves adrift has settled long
    before, so the end of the rest needs no segment of its own.
    """
    pauses = []
    by_id = {meal.id: meal for meal in plan.meals}
    for meal in meals:
        instants.add(meal.hour, lambda program, meal=meal: operators.feed(program, meal))  # type: ignore[misc]
        rest = by_id[meal.meal_id].pump_pause_min
        if rest > 0:
            pauses.append(meal.hour)
    return pauses


def _chore(
    instants: Instants, chore: Chore, operators: Operators, noted: list[str], *, counted: bool
) -> None:
    note: int | None = None
    if chore.condition is not None and counted:
        note = len(noted)
        noted.append(chore.id)
    instants.add(chore.hour, lambda program: operators.chore(program, chore, note))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Light:
    corners: tuple[tuple[float, float], ...]
    refugium: tuple[float, float] | None


def _light_hours(plan: Plan) -> _Light:
    tank = plan.tank
    on, length = tank.light_on_at, tank.light_hours_h
    ramp = min(tank.light_ramp_h, length / 2.0)
    corners = ((on, 0.0), (on + ramp, 1.0), (on + length - ramp, 1.0), (on + length, 0.0))
    refugium = refugium_of(plan)
    lit = None if refugium is None else (refugium.on_at % HOURS, min(refugium.hours, HOURS))
    return _Light(corners=corners, refugium=lit)


def _shape(hour: float, light: _Light) -> float:
    """Light of the display as a share of its peak; a day may run past midnight."""
    for shift in (0.0, HOURS):
        (a, _), (b, _), (c, _), (d, _) = light.corners
        at = hour + shift
        if a <= at <= d:
            if at < b:
                return (at - a) / (b - a)
            return 1.0 if at <= c else (d - at) / (d - c) if d > c else 0.0
    return 0.0


def _refugium_lit(hour: float, light: _Light) -> float:
    if light.refugium is None:
        return 0.0
    on, length = light.refugium
    return 1.0 if (hour - on) % HOURS < length else 0.0


def _cut(
    day: int,
    instants: Instants,
    opening: EventProgram,
    pauses: list[float],
    light: _Light,
    plan: Plan,
    segments: list[list[float]],
    events: list[EventProgram],
) -> None:
    """Append the segments of a day."""
    edges = [0.0, HOURS]
    corners = [hour % HOURS for hour, _ in light.corners]
    if light.refugium is not None:
        corners += [light.refugium[0], (light.refugium[0] + light.refugium[1]) % HOURS]
    for hour in [*corners, *instants.at]:
        if all(abs(hour - edge) >= 1e-9 for edge in edges):
            insort(edges, hour)
    season = math.cos(2 * math.pi * (_day_of_year(plan, day) - WARMEST_DAY_OF_YEAR) / DAYS_PER_YEAR)
    for since, until in zip(edges[:-1], edges[1:], strict=True):
        program = opening if since == 0.0 else EventProgram()
        for action in instants.at.get(since, ()):
            action(program)
        pieces = max(1, math.ceil((until - since) / LONGEST_H - 1e-9))
        for piece in range(pieces):
            start = since + (until - since) * piece / pieces
            end = since + (until - since) * (piece + 1) / pieces
            segments.append(_segment(start, end, pauses, light, season))
            events.append(program if piece == 0 else EventProgram())


def _segment(start: float, end: float, pauses: list[float], light: _Light, season: float) -> list[float]:
    days, middle = (end - start) / HOURS, (start + end) / 2
    first, last = _shape(start + 1e-9, light), _shape(end - 1e-9, light)
    values = dict.fromkeys(FORCINGS, 0.0)
    values["day_shape"], values["day_slope"] = first, (last - first) / days
    values["refugium_shape"] = _refugium_lit(middle, light)
    values["overflow"] = 0.0 if any(abs(start - hour) < LEAST_GAP_H for hour in pauses) else 1.0
    values["pumps"] = 1.0
    values["room_season"] = season
    return [days, *(values[name] for name in FORCINGS)]


def _day_of_year(plan: Plan, day: int) -> float:
    return float(plan.start_on.timetuple().tm_yday + day)
