"""The visits of the least work that meet all windows, over all groups at once: exact, by dynamic programming.

A need has a window of days and, unless it wants none, a set-up of its group. A choice of visits is a set of
days and, on each, the length of set-up that is spent for each group. It meets a need if one of its days lies
in the need's window and the set-up of its group there is no shorter than the need's own. Sought are the least
set-up minutes in all and, of as many minutes, the fewest visits. Some days are visits anyway, and on some
days set-ups stand already; those are free.

Why few days are enough. A visit of our own can wait until the first window of its needs ends: it meets the
same needs then, and where it falls on another visit, both become one. So visits are sought on last days of
windows and on days that hold something anyway. Likewise a set-up can wait for the next visit, as long as no
window of its group ends before that. So a group is set up only when the next visit would be too late for one
of its needs, on the visit before; only where needs of a group differ in length, or a set-up stands already,
there is a choice.

What is to be remembered. Of all that was done, the rest depends on the last visit and, for each group and
length, on the day by which the next set-up must come: it tells which needs are open, for a need that began
before it and ends no sooner is met with it. Of two ways with the same last visit the one that has taken no
more and must come nowhere sooner is kept. ADR 0022 has the proofs; the tests try all choices on small cases,
and compare with an integer programme on half a year of chores.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

NEVER = 10**9
"""A day that no horizon reaches."""
_BEFORE = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """A chore that wants a visit in a window, the first and the last day included."""

    first: int
    last: int
    group: str = ""
    setup_minutes: float = 0.0
    """Of its group; 0 where it wants none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What is there before anything is chosen."""

    visits: frozenset[int] = frozenset()
    """Days that are visits anyway."""
    set_ups: Mapping[tuple[int, str], float] = field(default_factory=dict)
    """Day and group -> minutes of a set-up that is spent there anyway."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitDays:
    """A best choice."""

    visits: tuple[int, ...]
    """All days on which a need can be met, those that are visits anyway among them, in order."""
    set_ups: Mapping[tuple[int, str], float]
    """Day and group -> minutes of the set-up there, those that stand anyway among them."""
    setup_minutes: float
    """Of what was chosen, beyond what stands anyway. [min]"""
    own_visits: int
    """Visits beyond those that there are anyway."""

    def meets(self, need: Need, day: int) -> bool:
        """Whether a need can be met on one of the days."""
        spent = self.set_ups.get((day, need.group), 0.0)
        return need.first <= day <= need.last and spent >= need.setup_minutes


def least_visits(needs: Sequence[Need], standing: Standing | None = None) -> VisitDays:
    """The visits of the least set-up minutes and, of as many, the fewest."""
    return _Search(needs, standing or Standing()).run()


# --- the search ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Deadlines:
    """When the needs of one group and length must be met, as a function of the last time they were."""

    group: str
    minutes: float
    firsts: tuple[int, ...]
    soonest: tuple[int, ...]
    """For each need in order of `firsts` the soonest end among it and those that begin later."""

    def after(self, day: int) -> int:
        """The day by which those that begin after a day must be met."""
        at = bisect_right(self.firsts, day)
        return self.soonest[at] if at < len(self.soonest) else NEVER


@dataclass(frozen=True, slots=True)
class _Way:
    """A way to have met all needs that must be met before some day."""

    minutes: float
    visits: int
    last: int
    """The last visit."""
    due: tuple[int, ...]
    """For each group and length the day by which it must be met."""
    spent: tuple[float, ...]
    """For each group the set-up on the last visit so far."""
    before: _Way | None
    done: tuple[int, str, float] | None
    """What was added to the way before: a visit's day with no group, or a set-up."""

    @property
    def cost(self) -> tuple[float, int]:
        return self.minutes, self.visits


class _Search:
    """One programme with its tables."""

    def __init__(self, needs: Sequence[Need], standing: Standing) -> None:
        self.standing = standing
        self.lines = tuple(_lines(needs))
        self.groups = tuple(dict.fromkeys(line.group for line in self.lines))
        self.lines_of = {
            group: tuple(at for at, line in enumerate(self.lines) if line.group == group)
            for group in self.groups
        }
        held = standing.visits | {day for day, group in standing.set_ups if group in self.lines_of}
        self.days = sorted({need.last for need in needs} | held)

    def run(self) -> VisitDays:
        ways = [
            _Way(0.0, 0, _BEFORE, tuple(line.after(_BEFORE) for line in self.lines), self._none(), None, None)
        ]
        for day in self.days:
            ways = _undominated(self._pass(ways, day))
        best = min((way for each in ways for way in self._close(each, NEVER)), key=lambda way: way.cost)
        return self._told(best)

    def _pass(self, ways: Sequence[_Way], day: int) -> Iterator[_Way]:
        """Every way, with a visit on that day and without."""
        for way in ways:
            for closed in self._leave(way, day):
                yield self._visit(closed, day)
            if day not in self.standing.visits:
                yield from self._close(way, day + 1)

    def _visit(self, way: _Way, day: int) -> _Way:
        spent = tuple(self.standing.set_ups.get((day, group), 0.0) for group in self.groups)
        due = tuple(
            line.after(day) if line.minutes <= spent[self.groups.index(line.group)] else old
            for line, old in zip(self.lines, way.due, strict=True)
        )
        more = 0 if day in self.standing.visits else 1
        return _Way(way.minutes, way.visits + more, day, due, spent, way, (day, "", 0.0))

    def _leave(self, way: _Way, day: int) -> Iterator[_Way]:
        """Before the next visit: what stands there may be made longer, for that is cheaper than anew."""
        ways = [way]
        for at, group in enumerate(self.groups):
            if way.last != _BEFORE and way.spent[at] > 0.0:
                ways += [longer for each in ways for longer in self._set_up(each, group, least_min=0.0)]
        for each in ways:
            yield from self._close(each, day)

    def _close(self, way: _Way, before: int) -> Iterator[_Way]:
        """Set up, on the last visit, what must be met before a day; nothing where that is too late."""
        for group in self.groups:
            pressing = [at for at in self.lines_of[group] if way.due[at] < before]
            if pressing:
                least = max(self.lines[at].minutes for at in pressing)
                for more in self._set_up(way, group, least_min=least):
                    if all(more.due[at] >= before for at in self.lines_of[group]):
                        yield from self._close(more, before)
                return
        yield way

    def _set_up(self, way: _Way, group: str, *, least_min: float) -> Iterator[_Way]:
        """The ways with a set-up of the group on the last visit, of that length or longer."""
        if way.last == _BEFORE:
            return
        at = self.groups.index(group)
        for minutes in dict.fromkeys(self.lines[line].minutes for line in self.lines_of[group]):
            if minutes < least_min or minutes <= way.spent[at]:
                continue
            due = list(way.due)
            for line in self.lines_of[group]:
                if self.lines[line].minutes <= minutes:
                    due[line] = max(due[line], self.lines[line].after(way.last))
            spent = (*way.spent[:at], minutes, *way.spent[at + 1 :])
            took = way.minutes + minutes - way.spent[at]
            yield _Way(took, way.visits, way.last, tuple(due), spent, way, (way.last, group, minutes))

    def _none(self) -> tuple[float, ...]:
        return (0.0,) * len(self.groups)

    def _told(self, best: _Way) -> VisitDays:
        visits: set[int] = set(self.standing.visits)
        set_ups = dict(self.standing.set_ups)
        way: _Way | None = best
        while way is not None:
            if way.done is not None:
                day, group, minutes = way.done
                visits.add(day)
                if group:
                    set_ups[day, group] = max(minutes, set_ups.get((day, group), 0.0))
            way = way.before
        return VisitDays(
            visits=tuple(sorted(visits)),
            set_ups=set_ups,
            setup_minutes=best.minutes,
            own_visits=best.visits,
        )


def _lines(needs: Iterable[Need]) -> Iterator[_Deadlines]:
    kinds: dict[tuple[str, float], list[Need]] = {}
    for need in needs:
        group = need.group if need.setup_minutes > 0 else ""
        kinds.setdefault((group, need.setup_minutes), []).append(need)
    for (group, minutes), same in sorted(kinds.items()):
        ordered = sorted(same, key=lambda need: need.first)
        soonest: list[int] = []
        for need in reversed(ordered):
            soonest.append(min(need.last, soonest[-1]) if soonest else need.last)
        firsts = tuple(need.first for need in ordered)
        yield _Deadlines(group, minutes, firsts, tuple(reversed(soonest)))


def _undominated(ways: Iterable[_Way]) -> list[_Way]:
    """Of ways with the same last visit those that no other one is at least as good as in everything."""
    by_last: dict[int, list[_Way]] = {}
    for way in sorted(ways, key=lambda each: each.cost):
        kept = by_last.setdefault(way.last, [])
        if not any(_as_good(other, way) for other in kept):
            kept.append(way)
    return [way for kept in by_last.values() for way in kept]


def _as_good(one: _Way, other: _Way) -> bool:
    return all(mine >= its for mine, its in zip(one.due, other.due, strict=True)) and all(
        mine >= its for mine, its in zip(one.spent, other.spent, strict=True)
    )
