"""On which day each chore is done: `plan_visits` is the one door, so that another method can take its place.

A chore may be done in a window about its due day. Chores of one group that one person does on the same day
share one set-up. The days are those of the least set-up minutes and, of as many, the fewest visits, over all
chores at once: `visit_days` solves that exactly (ADR 0022). What freedom is left, on which day of its slack a
visit is made and which of several visits that could do it takes a chore, goes to keeping each week within the
keeper's minutes, then to staying close to the due day; that part is a rule, and takes no visit and no set-up
more.

The windows, in the order in which they are tried:

1. the due day itself, where the plan names the weekday and the keeper is there;
2. the days within `Line.flex_days` of it, with the keeper, and failing that with a helper who can do it;
3. the first day after it on which anybody can, as long as it does not slip by more than the task tolerates;
4. the last day before it, if the gap until the next chance stays within the interval and what the task
   tolerates.

If none has a day, nobody is there. Where the horizon ends, or the keeper drops the task, before that is
known, the chore is left to the time after.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import pairwise

from backreef.schedule.people import KEEPER, Doers
from backreef.schedule.presence import Presence
from backreef.schedule.settling import (
    NOBODY_THERE,
    Visit,
    Window,
    settle,
)
from backreef.schedule.visit_days import Need, Standing, VisitDays, least_visits
from backreef.schedule.work import Due, Line

_DAYS_PER_WEEK = 7


def plan_visits(
    dues: Sequence[Due],
    *,
    doers: Mapping[str, Doers],
    presence: Presence,
    weekly_minutes: float,
) -> list[Visit]:
    """The day and the person for every chore, in the order given."""
    visits: list[Visit] = [NOBODY_THERE] * len(dues)
    loads = _Loads(presence=presence, weekly_minutes=weekly_minutes)
    free: dict[int, Window] = {}
    helper_minutes: dict[tuple[str, int], float] = defaultdict(float)
    for index, due in sorted(enumerate(dues), key=lambda pair: _patience(pair[1])):
        found = settle(due, doers=doers[due.line.task_id], days=presence.days, helper_minutes=helper_minutes)
        if isinstance(found, Visit):
            visits[index] = found
            loads.add_settled(found, line=due.line)
            if found.day is not None:
                helper_minutes[found.by, found.day] += due.line.load_minutes
        elif found.by == KEEPER:
            free[index] = found
        else:
            helper_minutes[found.by, found.first] += due.line.load_minutes
            visits[index] = Visit(day=found.first, by=found.by)
    for index, day in _place(free, dues=dues, presence=presence, loads=loads).items():
        visits[index] = Visit(day=day, by=KEEPER)
    return _merge(visits, dues=dues)


def _patience(due: Due) -> tuple[bool, float]:
    """A helper's minutes go to what is settled, then to what can wait least."""
    tolerated = due.line.tolerated_days
    return due.done_on is None, math.inf if tolerated is None else tolerated


class _Loads:
    """What the keeper's days hold already: minutes per day and week, visits, set-ups."""

    __slots__ = ("_minutes", "_offset", "_weekly", "per_day", "set_ups", "visits")

    def __init__(self, *, presence: Presence, weekly_minutes: float) -> None:
        self._minutes: dict[int, float] = defaultdict(float)
        self._offset = presence.start_on.weekday()
        self._weekly = weekly_minutes
        self.per_day: dict[int, float] = defaultdict(float)
        self.visits: set[int] = set()
        self.set_ups: dict[tuple[int, str], float] = {}

    def add(self, day: int, minutes: float) -> None:
        self.per_day[day] += minutes
        self._minutes[(day + self._offset) // _DAYS_PER_WEEK] += minutes

    def add_settled(self, visit: Visit, *, line: Line) -> None:
        """Count the keeper's settled chores; looks are not counted, and what is daily is no visit."""
        if visit.day is None or visit.by != KEEPER or line.look:
            return
        self.add(visit.day, line.load_minutes + line.setup_minutes)
        if line.interval_d > 1:
            self.visits.add(visit.day)
        if line.setup_minutes > 0:
            place = (visit.day, line.setup_group)
            self.set_ups[place] = max(line.setup_minutes, self.set_ups.get(place, 0.0))

    def over(self, day: int, minutes: float) -> float:
        """Minutes by which the week of that day would exceed the budget."""
        return max(0.0, self._minutes[(day + self._offset) // _DAYS_PER_WEEK] + minutes - self._weekly)


def _place(
    free: Mapping[int, Window], *, dues: Sequence[Due], presence: Presence, loads: _Loads
) -> dict[int, int]:
    """Index of each chore with a choice -> the day it is done on."""
    needs = {index: _need(window, dues[index].line) for index, window in free.items()}
    standing = Standing(visits=frozenset(loads.visits), set_ups=loads.set_ups)
    solved = least_visits(list(needs.values()), standing)
    options = {index: _options(need, solved) for index, need in needs.items()}
    chosen: dict[int, int] = {}
    for day, minutes in _set_up_minutes(solved.set_ups, standing).items():
        loads.add(day, minutes)
    for index in sorted(free, key=lambda each: (len(options[each]), dues[each].day, each)):
        chosen[index] = _roomiest(options[index], due=dues[index], loads=loads)
        loads.add(chosen[index], dues[index].line.load_minutes)
    moved = _slide(needs, chosen=chosen, dues=dues, there=presence.present.tolist(), loads=loads)
    for index in sorted(free):
        days = [moved[day] for day in options[index]]
        days = [day for day in days if needs[index].first <= day <= needs[index].last]
        loads.add(moved[chosen[index]], -dues[index].line.load_minutes)
        chosen[index] = _roomiest(days, due=dues[index], loads=loads)
        loads.add(chosen[index], dues[index].line.load_minutes)
    _unload(chosen, needs=needs, dues=dues, presence=presence, loads=loads)
    return chosen


def _need(window: Window, line: Line) -> Need:
    group = line.setup_group if line.setup_minutes > 0 else ""
    return Need(first=window.first, last=window.last, group=group, setup_minutes=line.setup_minutes)


def _options(need: Need, solved: VisitDays) -> list[int]:
    """The visits on which a chore can be done, at least one."""
    days = solved.visits
    within = days[bisect_left(days, need.first) : bisect_right(days, need.last)]
    return [day for day in within if solved.meets(need, day)]


def _set_up_minutes(set_ups: Mapping[tuple[int, str], float], standing: Standing) -> dict[int, float]:
    """Day -> set-up minutes beyond those that stand anyway."""
    minutes: dict[int, float] = defaultdict(float)
    for (day, group), spent in set_ups.items():
        minutes[day] += spent - standing.set_ups.get((day, group), 0.0)
    return minutes


def _roomiest(days: Sequence[int], *, due: Due, loads: _Loads) -> int:
    """Of the visits that can do a chore the one whose week has room, then the nearest to the due day."""
    minutes = due.line.load_minutes
    return min(days, key=lambda day: (loads.over(day, minutes), abs(day - due.day), day))


def _slide(
    needs: Mapping[int, Need],
    *,
    chosen: Mapping[int, int],
    dues: Sequence[Due],
    there: Sequence[bool],
    loads: _Loads,
) -> dict[int, int]:
    """Day of each visit -> the best day that all of its chores allow.

    Days that hold work anyway stay. No visit can reach another: both would be one, and there would be fewer.
    """
    of_day: dict[int, list[int]] = defaultdict(list)
    for index, day in chosen.items():
        of_day[day].append(index)
    fixed = loads.visits | {day for day, _ in loads.set_ups}
    moved = {day: day for day in fixed | set(of_day)}

    def slack(day: int) -> tuple[int, int]:
        return max(needs[index].first for index in of_day[day]), min(
            needs[index].last for index in of_day[day]
        )

    def heavy(day: int) -> tuple[int, float, int]:
        first, last = slack(day)
        return last - first, -sum(dues[index].line.load_minutes for index in of_day[day]), day

    for day in sorted((each for each in of_day if each not in fixed), key=heavy):
        first, last = slack(day)
        lines = [dues[index].line for index in of_day[day]]
        minutes = sum(line.load_minutes for line in lines) + _set_ups_of(lines)
        loads.add(day, -minutes)
        days = [each for each in range(first, last + 1) if there[each]]
        moved[day] = min(
            days,
            key=lambda each: (
                loads.over(each, minutes),
                sum(abs(each - dues[index].day) for index in of_day[day]),
                each,
            ),
        )
        loads.add(moved[day], minutes)
    return moved


def _unload(
    chosen: dict[int, int],
    *,
    needs: Mapping[int, Need],
    dues: Sequence[Due],
    presence: Presence,
    loads: _Loads,
) -> None:
    """Where the hours of a day do not hold its work, take chores to days of their windows that have room.

    The longest go first, to days with work if there are any, then to the nearest. A rule: it may take visits
    and set-ups more, and it leaves what fits on no other day.
    """

    def room(day: int, minutes: float) -> bool:
        return loads.per_day[day] + minutes <= presence.minutes_there(day)

    for day in sorted(day for day in set(chosen.values()) if not room(day, 0.0)):
        mine = [index for index, other in chosen.items() if other == day]
        for index in sorted(mine, key=lambda each: (-dues[each].line.load_minutes, each)):
            if room(day, 0.0):
                break
            line, need = dues[index].line, needs[index]
            whole = line.load_minutes + line.setup_minutes
            window = (each for each in range(need.first, need.last + 1) if presence.present[each])
            others = [each for each in window if each != day and room(each, whole)]
            if others:
                used = set(chosen.values()) | loads.visits
                near = [(each not in used, abs(each - dues[index].day), each) for each in others]
                chosen[index] = min(near)[-1]
                loads.add(day, -line.load_minutes)
                loads.add(chosen[index], whole)


def _set_ups_of(lines: Sequence[Line]) -> float:
    """Minutes of set-ups that chores of one visit share."""
    longest: dict[str, float] = {}
    for line in lines:
        longest[line.setup_group] = max(line.setup_minutes, longest.get(line.setup_group, 0.0))
    return sum(longest.values())


def _merge(visits: list[Visit], *, dues: Sequence[Due]) -> list[Visit]:
    """Of two chores of one line on one day the earlier is done by the later."""
    by_line: dict[tuple[str, str], list[int]] = defaultdict(list)
    for index, due in enumerate(dues):
        if due.line.repeats and due.line.device is None and visits[index].day is not None:
            by_line[due.line.entry_id, due.line.task_id].append(index)
    for indices in by_line.values():
        ordered = sorted(indices, key=lambda index: (dues[index].day, index))
        for index, following in pairwise(ordered):
            if visits[index].day == visits[following].day:
                visits[index] = Visit(day=visits[index].day, by=visits[index].by, merged_into=following)
    return visits
