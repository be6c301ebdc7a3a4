"""Rounds of one carer through a week: which tanks on which day, for few visits and no long day.

Way and travel are left out: a visit is a visit. Two programmes are solved one after the other: the fewest
visits that do all the work, then, with no visit more, the least minutes on the longest day. Work whose day is
settled stays on it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from backreef.planning.programme import Programme, Row, Variable
from backreef.planning.solver import solve

LONGEST = "longest day"
LIMIT_S = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A piece of work at a tank, and the days of the week (0 to 6) on which the carer can do it."""

    tank: str
    what: str
    minutes: float
    """Without the set-up."""
    setup_group: str
    setup_minutes: float
    """Once for each day on which anything of the group is done at the tank."""
    days: tuple[int, ...]
    look: bool = False
    """A glance or a head count, which is listed apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One visit: a tank on a day with the work that is done there."""

    day: int
    tank: str
    jobs: tuple[Job, ...]

    @property
    def minutes(self) -> float:
        """All work of the visit with its set-ups. [min]"""
        groups: dict[str, float] = {}
        for job in self.jobs:
            groups[job.setup_group] = max(groups.get(job.setup_group, 0.0), job.setup_minutes)
        return sum(job.minutes for job in self.jobs) + sum(groups.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounds:
    """A carer's week."""

    stops: tuple[Stop, ...]
    """By day, then by tank."""
    proven: bool
    """No other choice of days has fewer visits or, with as few, a shorter longest day."""

    @property
    def minutes_by_day(self) -> dict[int, float]:
        """Day -> all minutes of it. [min]"""
        found: dict[int, float] = defaultdict(float)
        for stop in self.stops:
            found[stop.day] += stop.minutes
        return dict(found)


def rounds_of(jobs: Sequence[Job], *, seed: int = 1) -> Rounds:
    """The rounds that do all of these jobs.

    Raises
    ------
    ValueError
        If a job has no day.
    """
    without = [f"{job.what} at {job.tank}" for job in jobs if not job.days]
    if without:
        raise ValueError(f"no day for {', '.join(without)}")
    if not jobs:
        return Rounds(stops=(), proven=True)
    programme = _programme(jobs)
    visits = dict.fromkeys(_visit_names(jobs), 1.0)
    few = solve(programme.aiming(dict.fromkeys(visits, -1.0)), seed=seed, limit_s=LIMIT_S)
    if not few.found:
        return _as_they_fall(jobs)
    count = sum(few.count(name) for name in visits)
    kept = Row(rule="no_more_visits", about="the week", terms=visits, high=float(count))
    short = solve(programme.aiming({LONGEST: -1.0}, kept), seed=seed, limit_s=LIMIT_S)
    best = short if short.found else few
    day_of = {
        place: next(day for day in job.days if best.count(_does(place, day)))
        for place, job in enumerate(jobs)
    }
    proven = few.status == "optimal" and short.status == "optimal"
    return Rounds(stops=_stops(jobs, day_of), proven=proven)


def _as_they_fall(jobs: Sequence[Job]) -> Rounds:
    """Each job on its first day: what is done where no better week was found in time."""
    return Rounds(stops=_stops(jobs, {place: job.days[0] for place, job in enumerate(jobs)}), proven=False)


def _stops(jobs: Sequence[Job], day_of: dict[int, int]) -> tuple[Stop, ...]:
    found: dict[tuple[int, str], list[Job]] = defaultdict(list)
    for place, job in enumerate(jobs):
        found[day_of[place], job.tank].append(job)
    return tuple(
        Stop(day=day, tank=tank, jobs=tuple(mine)) for (day, tank), mine in sorted(found.items(), key=_where)
    )


def _where(item: tuple[tuple[int, str], list[Job]]) -> tuple[int, str]:
    return item[0]


# --- the programme ------------------------------------------------------------------------------------------


def _does(place: int, day: int) -> str:
    return f"job {place} on {day}"


def _visits(tank: str, day: int) -> str:
    return f"visit {tank} on {day}"


def _sets_up(tank: str, group: str, day: int) -> str:
    return f"set up {group} at {tank} on {day}"


def _visit_names(jobs: Sequence[Job]) -> list[str]:
    return sorted({_visits(job.tank, day) for job in jobs for day in job.days})


def _programme(jobs: Sequence[Job]) -> Programme:
    set_ups: dict[str, float] = {}
    for job in jobs:
        for day in job.days:
            name = _sets_up(job.tank, job.setup_group, day)
            set_ups[name] = max(set_ups.get(name, 0.0), job.setup_minutes)
    variables = [Variable(name=_does(place, day)) for place, job in enumerate(jobs) for day in job.days]
    variables += [Variable(name=name) for name in (*_visit_names(jobs), *sorted(set_ups))]
    most = sum(job.minutes for job in jobs) + sum(set_ups.values())
    variables.append(Variable(name=LONGEST, high=most, whole=False))
    rows = (*_all_work_is_done(jobs), *_only_on_visits(jobs), *_longest_day(jobs, set_ups))
    return Programme(variables=tuple(variables), rows=rows)


def _all_work_is_done(jobs: Sequence[Job]) -> Iterator[Row]:
    for place, job in enumerate(jobs):
        terms = {_does(place, day): 1.0 for day in job.days}
        yield Row(rule="all_work_is_done", about=str(place), terms=terms, low=1.0, high=1.0)


def _only_on_visits(jobs: Sequence[Job]) -> Iterator[Row]:
    for place, job in enumerate(jobs):
        for day in job.days:
            for needs in (_visits(job.tank, day), _sets_up(job.tank, job.setup_group, day)):
                terms = {_does(place, day): 1.0, needs: -1.0}
                yield Row(rule="only_on_visits", about=f"{place} {needs}", terms=terms, high=0.0)


def _longest_day(jobs: Sequence[Job], set_ups: dict[str, float]) -> Iterator[Row]:
    for day in sorted({day for job in jobs for day in job.days}):
        terms: dict[str, float] = {LONGEST: -1.0}
        for place, job in enumerate(jobs):
            if day in job.days:
                terms[_does(place, day)] = job.minutes
                name = _sets_up(job.tank, job.setup_group, day)
                terms[name] = set_ups[name]
        yield Row(rule="longest_day", about=str(day), terms=terms, high=0.0)
