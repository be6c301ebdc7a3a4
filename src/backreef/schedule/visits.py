"""On which day each chore is done: `plan_visits` is the one door, so that another method can take its place.

The rule. A chore may be done in a window about its due day. Chores of one group that one person does on the
same day share one set-up, so the number of set-ups is the number of (day, group) pairs. Within a group, the
fewest days that meet all windows are found by always taking the last present day of the window that ends
first; no choice of days needs fewer (each of those windows ends before the next one starts, so each needs a
day of its own). That number is kept; where chores of a group have set-ups of different length, the least
minutes of all are (`set_ups`). What freedom is left, which of the common days and which of several set-ups
that are long enough, goes to keeping each week within the keeper's minutes, then to days that already have
work, then to staying close to the due day; that part is a rule and not proven best.

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

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from backreef.schedule.people import KEEPER, Doers
from backreef.schedule.presence import Presence
from backreef.schedule.set_ups import SetUp, Wish, least_set_ups, served_by
from backreef.schedule.work import Due, Line

_DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """When a chore is done and by whom."""

    day: int | None
    """None: nobody is there within what it can slip."""
    by: str = ""
    merged_into: int | None = None
    """Index of the later chore of the same line that does this one's work on the same day."""
    past_end: bool = False
    """It can still be done after the horizon, or the keeper has dropped the task by then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Where a chore may go: from `first` to `last` on the keeper's days, or settled with a person."""

    first: int
    last: int
    by: str = KEEPER


NOBODY_THERE = Visit(day=None)
PAST_END = Visit(day=None, past_end=True)


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
    free: dict[str, list[tuple[int, Window]]] = defaultdict(list)
    helper_minutes: dict[tuple[str, int], float] = defaultdict(float)
    for index, due in enumerate(dues):
        found = settle(due, doers=doers[due.line.task_id], days=presence.days, helper_minutes=helper_minutes)
        if isinstance(found, Visit):
            visits[index] = found
            loads.add_settled(found, line=due.line)
        elif found.by == KEEPER:
            free[_group(due.line)].append((index, found))
        else:
            helper_minutes[found.by, found.first] += due.line.load_minutes
            visits[index] = Visit(day=found.first, by=found.by)
    for index, day in _place(free, dues=dues, presence=presence, loads=loads).items():
        visits[index] = Visit(day=day, by=KEEPER)
    return _merge(visits, dues=dues)


def fewest_days(windows: Sequence[tuple[int, int]]) -> int:
    """The least number of days that meet every window (first and last day of each, both included)."""
    count, last_taken = 0, -1
    for first, last in sorted(windows, key=lambda window: window[1]):
        if first > last_taken:
            count, last_taken = count + 1, last
    return count


# --- windows ------------------------------------------------------------------------------------------------


def settle(
    due: Due, *, doers: Doers, days: int, helper_minutes: Mapping[tuple[str, int], float] | None = None
) -> Visit | Window:
    """The window in which a chore may be done, or its visit where there is nothing to choose."""
    line = due.line
    if line.device is not None:
        return Visit(day=due.day, by=line.device)
    if due.missed:
        return NOBODY_THERE
    if due.done_on is not None:
        return Visit(day=due.done_on, by=doers.who(due.done_on) or KEEPER)
    if not line.needs_presence:
        return Visit(day=due.day, by=KEEPER)
    used = helper_minutes or {}
    return (
        _near(due, doers=doers, days=days, used=used)
        or _later(due, doers=doers, days=days, used=used)
        or _earlier(due, doers=doers, days=days)
        or NOBODY_THERE
    )


def settle_alone(due: Due, *, doers: Doers, days: int) -> Due:
    """The chore with its day settled by itself, on the day nearest to the due day that its window has.

    For work on which other things depend before all chores are placed, as refills of a feeder.
    """
    found = settle(due, doers=doers, days=days)
    if isinstance(found, Visit):
        done_on, missed = found.day, found.day is None and not found.past_end
    else:
        able = [day for day in range(found.first, found.last + 1) if found.by != KEEPER or doers.keeper[day]]
        done_on, missed = min(able, key=lambda day: (abs(day - due.day), day)), False
    return replace(due, done_on=done_on, missed=missed)


def _near(due: Due, *, doers: Doers, days: int, used: Mapping[tuple[str, int], float]) -> Window | None:
    """The due day where the plan names it, else the days about it."""
    line = due.line
    if line.pinned and doers.keeper[due.day]:
        return Window(first=due.day, last=due.day)
    late = line.flex_days if line.tolerated_days is None else min(line.flex_days, int(line.tolerated_days))
    earliest = max(0, due.day - line.flex_days if due.earliest is None else due.earliest)
    latest = min(days - 1, due.day + late if due.latest is None else due.latest)
    first, last = doers.after[earliest], doers.before[latest]
    if first <= last:
        return (
            _nearest(due.day, first=first, last=last, doers=doers)
            if line.pinned
            else Window(first=first, last=last)
        )
    for day in sorted(range(earliest, latest + 1), key=lambda each: (abs(each - due.day), each)):
        helper = _helper_on(day, line=line, doers=doers, used=used)
        if helper:
            return Window(first=day, last=day, by=helper)
    return None


def _nearest(day: int, *, first: int, last: int, doers: Doers) -> Window:
    """The keeper's day closest to a named day, the later of two."""
    able = [each for each in range(first, last + 1) if doers.keeper[each]]
    best = min(able, key=lambda each: (abs(each - day), -each))
    return Window(first=best, last=best)


def _later(
    due: Due, *, doers: Doers, days: int, used: Mapping[tuple[str, int], float]
) -> Window | Visit | None:
    """The first day on which anybody can, within what the chore tolerates."""
    tolerated = due.line.tolerated_days if due.line.tolerated_days is not None else due.line.flex_days
    latest = due.day + int(tolerated) if due.latest is None else due.latest
    for day in range(due.day, min(latest, days - 1) + 1):
        if doers.keeper[day]:
            return Window(first=day, last=day)
        helper = _helper_on(day, line=due.line, doers=doers, used=used)
        if helper:
            return Window(first=day, last=day, by=helper)
    ends = days if doers.helpers else min(days, doers.stop_day)
    return PAST_END if latest >= ends else None


def _earlier(due: Due, *, doers: Doers, days: int) -> Window | None:
    """The keeper's last day before, if the gap until the next chance is one that the task bears."""
    line = due.line
    if not line.repeats or line.tolerated_days is None or due.latest is not None:
        return None
    before, following = doers.before[due.day], doers.after[due.day]
    borne = before >= 0 and due.day - before < line.interval_d
    if borne and following < days and following - before <= line.interval_d + line.tolerated_days:
        return Window(first=before, last=before)
    return None


def _helper_on(day: int, *, line: Line, doers: Doers, used: Mapping[tuple[str, int], float]) -> str:
    """Name of a helper who is there, can do it and has the minutes; empty for none."""
    for helper, able in doers.helpers:
        if not able[day]:
            continue
        limit = helper.visit_minutes
        if (
            limit is None
            or used.get((helper.name, day), 0.0) + line.load_minutes + line.setup_minutes <= limit
        ):
            return helper.name
    return ""


# --- placing ------------------------------------------------------------------------------------------------


class _Loads:
    """Minutes of the keeper per week, and the days that have work already."""

    __slots__ = ("_minutes", "_offset", "_weekly", "days_with_work")

    def __init__(self, *, presence: Presence, weekly_minutes: float) -> None:
        self._minutes: dict[int, float] = defaultdict(float)
        self._offset = presence.start_on.weekday()
        self._weekly = weekly_minutes
        self.days_with_work: set[int] = set()

    def add(self, day: int, minutes: float) -> None:
        self._minutes[(day + self._offset) // _DAYS_PER_WEEK] += minutes

    def add_settled(self, visit: Visit, *, line: Line) -> None:
        """Count the keeper's settled chores; looks stand apart from the budget."""
        if visit.day is None or visit.by != KEEPER or line.look:
            return
        self.add(visit.day, line.load_minutes + line.setup_minutes)
        if line.interval_d > 1:
            self.days_with_work.add(visit.day)

    def over(self, day: int, minutes: float) -> float:
        """Minutes by which the week of that day would exceed the budget."""
        return max(0.0, self._minutes[(day + self._offset) // _DAYS_PER_WEEK] + minutes - self._weekly)


@dataclass(slots=True, kw_only=True)
class _Cluster:
    """Chores of one group that can all be done on one day."""

    group: str
    members: list[tuple[int, Window]]
    first: int
    last: int


def _place(
    free: Mapping[str, list[tuple[int, Window]]],
    *,
    dues: Sequence[Due],
    presence: Presence,
    loads: _Loads,
) -> dict[int, int]:
    """Index of each chore with a choice -> the day it is done on."""
    clusters = [cluster for group, items in free.items() for cluster in _clusters(group, items, dues)]
    there = presence.present.tolist()
    taken: dict[str, list[int]] = defaultdict(list)
    chosen: dict[int, int] = {}

    def heavy(cluster: _Cluster) -> tuple[int, float, int, str]:
        minutes = sum(dues[index].line.load_minutes for index, _ in cluster.members)
        return cluster.last - cluster.first, -minutes, cluster.last, cluster.group

    for cluster in sorted(clusters, key=heavy):
        lines = [dues[index].line for index, _ in cluster.members]
        minutes = sum(line.load_minutes for line in lines) + max(line.setup_minutes for line in lines)
        due_on = [dues[index].day for index, _ in cluster.members]
        days = [day for day in range(cluster.first, cluster.last + 1) if there[day]]
        day = min(days, key=lambda each: _badness(each, minutes=minutes, due_on=due_on, loads=loads))
        loads.add(day, minutes)
        loads.days_with_work.add(day)
        taken[cluster.group].append(day)
        chosen.update((index, day) for index, _ in cluster.members)
    _spread(free, chosen=chosen, taken=taken, dues=dues, loads=loads)
    return chosen


def _badness(day: int, *, minutes: float, due_on: list[int], loads: _Loads) -> tuple[float, bool, int, int]:
    away = sum(abs(day - due) for due in due_on)
    return loads.over(day, minutes), day not in loads.days_with_work, away, day


def _clusters(group: str, items: list[tuple[int, Window]], dues: Sequence[Due]) -> list[_Cluster]:
    """Sets of chores that have a day in common, of the least set-up minutes in all."""
    lengths = {dues[index].line.setup_minutes for index, _ in items}
    return _by_length(group, items, dues) if len(lengths) > 1 else _fewest(group, items)


def _by_length(group: str, items: list[tuple[int, Window]], dues: Sequence[Due]) -> list[_Cluster]:
    """Where set-ups differ in length, the sets of the least minutes."""
    wishes = {
        index: Wish(first=window.first, last=window.last, setup_minutes=dues[index].line.setup_minutes)
        for index, window in items
    }
    set_ups = least_set_ups(list(wishes.values()))
    result: dict[SetUp, _Cluster] = {}
    for item in sorted(items, key=lambda each: (each[1].last, each[1].first, each[0])):
        index, window = item
        mine = served_by(wishes[index], set_ups)
        found = result.setdefault(mine, _Cluster(group=group, members=[], first=0, last=window.last))
        found.members.append(item)
        found.first, found.last = max(found.first, window.first), min(found.last, window.last)
    return list(result.values())


def _fewest(group: str, items: list[tuple[int, Window]]) -> list[_Cluster]:
    """The fewest sets of chores such that all of a set have a day in common."""
    result: list[_Cluster] = []
    for item in sorted(items, key=lambda each: (each[1].last, each[1].first, each[0])):
        window = item[1]
        if result and window.first <= result[-1].last:
            result[-1].members.append(item)
            result[-1].first = max(result[-1].first, window.first)
        else:
            result.append(_Cluster(group=group, members=[item], first=window.first, last=window.last))
    return result


def _spread(
    free: Mapping[str, list[tuple[int, Window]]],
    *,
    chosen: dict[int, int],
    taken: Mapping[str, list[int]],
    dues: Sequence[Due],
    loads: _Loads,
) -> None:
    """Where a chore could join several set-ups, take the one whose week has room, then the nearest.

    Only those that are long enough for it, so that joining makes none longer.
    """
    for group, items in free.items():
        set_ups = sorted(set(taken[group]))
        longest: dict[int, float] = defaultdict(float)
        for index, _ in items:
            longest[chosen[index]] = max(longest[chosen[index]], dues[index].line.setup_minutes)
        for index, window in items:
            wanted = dues[index].line.setup_minutes
            options = [
                day for day in set_ups if window.first <= day <= window.last and longest[day] >= wanted
            ]
            if len(options) <= 1:
                continue
            line, old = dues[index].line, chosen[index]
            loads.add(old, -line.load_minutes)
            best = min(
                options, key=lambda day: (loads.over(day, line.load_minutes), abs(day - dues[index].day), day)
            )
            loads.add(best, line.load_minutes)
            chosen[index] = best


def _group(line: Line) -> str:
    """Work without a set-up has nothing to share: each line is its own group."""
    return line.setup_group if line.setup_minutes > 0 else f"{line.entry_id} {line.task_id}"


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
