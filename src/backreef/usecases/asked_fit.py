"""Figures of a fit to the log: every number that a reconciliation tells, and each day of its courses."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import cached_property, partial
from pathlib import Path

from backreef.aquarium.series import Series
from backreef.calibration.ahead import course_at_doors, spread_on
from backreef.calibration.deeds import deeds_of
from backreef.calibration.outcome import Reconciled
from backreef.calibration.run import Run, followed
from backreef.calibration.telling import reconciled_of
from backreef.calibration.window import plan_from
from backreef.logbook.entries import Entry
from backreef.simulation.prepared import lay_out
from backreef.usecases.asked import Array, Asking, Figure, Found, Progress, refused, shown
from backreef.usecases.kept_fits import run_again
from backreef.usecases.told_numbers import FIT, Number, course_name, numbers_of
from backreef.working.members import by_member
from backreef.working.number import Worked
from backreef.working.record import recording
from backreef.working.steps import About
from backreef.working.tree import tree_of

_POINTS = {"": "middle", "_p05": "lowest 5 %", "_p95": "highest 95 %"}


class AskingFit(Asking):
    """A plan and the log of its tank that are asked about together."""

    def __init__(
        self,
        plan: str | Path,
        entries: Sequence[Entry],
        *,
        asked: tuple[int, int, int],
        progress: Progress | None = None,
    ) -> None:
        members, seed, _ = asked
        super().__init__(plan, members=members, seed=seed, progress=progress)
        self.plain_run, since_day = run_again(plan, entries, asked=asked, progress=progress)
        self._entries, self._since_day = entries, since_day

    def own_figures(self) -> Iterator[Figure]:
        """All that can be asked of the fit."""
        return fit_figures(self)

    @cached_property
    def run(self) -> Run:
        """The marches, with a plan and a schedule whose numbers know where they stand."""
        plain = self.plain_run
        with recording():
            plan = plan_from(self.plan, self.catalogue, self._entries, self._since_day)
            last_day = plain.life.known_days - 1
            deeds = deeds_of(plain.entries, plan, self.catalogue, last_day=last_day)
            lived = replace(deeds.plan, horizon_days=plain.life.prepared.plan.horizon_days)
            keeper = deeds.alter(lay_out(lived, self.catalogue).keeper)
        return replace(plain, plan=lived, catalogue=self.catalogue, schedule=keeper)

    @cached_property
    def reconciled(self) -> Reconciled:
        """What the pages tell, each number with its working."""
        with recording():
            return reconciled_of(self.run)

    @cached_property
    def told_of_fit(self) -> tuple[Number, ...]:
        """Every number of what the pages tell."""
        return tuple(numbers_of(self.reconciled))


def fit_figures(asking: AskingFit) -> Iterator[Figure]:
    """What can be asked of a fit."""
    for number in asking.told_of_fit:
        if number.title and isinstance(number.value, Worked) and number.name.startswith(FIT):
            yield Figure(
                name=number.name,
                title=number.title,
                daily=False,
                forecast=True,
                find=partial(_found, number),
                beside=partial(_beside, number, asking.told_of_fit),
            )
    for series in followed(asking.run.fit):
        for fitted, said in ((True, "as fitted"), (False, "as planned")):
            yield from _of_course(asking.run, series, said, fitted=fitted)


def _found(number: Number, asking: Asking, _on: date | None) -> Found:
    about = About(symbol=number.field.rpartition(".")[2], key=number.name, kind="law", unit=number.unit)
    found = Found(tree=tree_of(number.value, about), shown=shown(number.value, number.unit))
    if not number.field.startswith("Outlook.") or not isinstance(asking, AskingFit):
        return found
    values = by_member(number.value, asking.members)
    return replace(found, by_member=values, inputs=_drawn(asking.run, fitted="fitted" in number.field))


def _drawn(run: Run, *, fitted: bool) -> Mapping[str, Array]:
    """What was drawn for the members, before or after the log was read."""
    return (run.fit.after if fitted else run.fit.before).learned


def _beside(number: Number, numbers: Sequence[Number], _asking: Asking, _at: str) -> tuple[str, ...]:
    """The other numbers of its line."""
    return tuple(
        one.name for one in numbers if one.line == number.line and one.name != number.name and one.title
    )


def _of_course(run: Run, series: Series, said: str, *, fitted: bool) -> Iterator[Figure]:
    name = course_name(series.door_series, fitted=fitted)
    for point, words in _POINTS.items():
        others = tuple(f"{name}{other}" for other in _POINTS if other != point)
        yield Figure(
            name=f"{name}{point}",
            title=f"{series.label} {said}, {words} of the members",
            daily=True,
            forecast=True,
            find=partial(_on_a_day, partial(_point_on, run, series, point, fitted=fitted)),
            beside=partial(_on_that_day, others),
        )


def _on_that_day(others: tuple[str, ...], _asking: Asking, at: str) -> tuple[str, ...]:
    return tuple(f"{one}@{at}" for one in others if at)


def _point_on(run: Run, series: Series, point: str, day: int, *, fitted: bool) -> Found:
    with recording():
        value = getattr(spread_on(run, series, day, fitted=fitted), point.removeprefix("_") or "p50")
    about = About(symbol=series.word, key=course_name(series.door_series, fitted=fitted), kind="law")
    on = run.life.prepared.plan.start_on + timedelta(days=day)
    return Found(
        tree=tree_of(value, about),
        shown=shown(value, series.door_unit),
        on=on,
        by_member=tuple(course_at_doors(run, series, fitted=fitted)[day].tolist()),
        inputs=_drawn(run, fitted=fitted),
    )


def _on_a_day(found_on: Callable[[int], Found], asking: Asking, on: date | None) -> Found:
    assert isinstance(asking, AskingFit)  # noqa: S101  nobody else is asked for it
    prepared = asking.run.life.prepared
    start_on, days = prepared.plan.start_on, prepared.keeper.days
    day = days - 1 if on is None else (on - start_on).days
    if not 0 <= day < days:
        raise refused(asking, f"{on} lies outside the days of the fit; it begins on {start_on}")
    return found_on(day)
