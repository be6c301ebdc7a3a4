"""Why a number is what it is: the working behind a figure, recorded by the code that computes it."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.errors import Fault, InputFaults
from backreef.working.steps import InItsUnit
from backreef.working.tree import Tree

if TYPE_CHECKING:  # asking for help needs none of them
    import pandas as pd

    from backreef.catalogue.entries import Catalogue
    from backreef.judgement.elasticity import Elasticities
    from backreef.judgement.tornado import Tornado
    from backreef.usecases.asked import Asking, Days, Figure, Found, Moved

SCHEMA = "backreef.why/1"
_NEAR, _MOST_HINTS = 0.5, 5
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Askable:
    """A figure that a plan can be asked about."""

    name: str
    title: str
    daily: bool
    """Whether a day may follow it, as `@2028-03-01`."""
    forecast: bool
    """Whether the plan is simulated for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """A figure that is shown beside another."""

    figure: str
    title: str
    shown: str
    value: InItsUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Working:
    """The working behind one figure."""

    plan_name: str
    plan_file: str
    figure: str
    title: str
    on: date | None
    shown: str
    """The figure as a report shows it."""
    members: int | None
    """Of the ensemble, where the plan was simulated for it."""
    seed: int | None
    tree: Tree
    sources: Mapping[str, str]
    """The text behind each key of a source."""
    moved: tuple[Moved, ...] = ()
    """Of a state of the water: what came in and left of its element since the first day."""
    tornado: Tornado | None = None
    """Which uncertain inputs move it most; None where nothing was simulated or the members are too few."""
    elasticities: Elasticities | None = None
    """What each uncertain number does that is moved alone; None where that was not asked or is unknown."""
    beside: tuple[Beside, ...] = ()
    """What is shown beside it."""

    @property
    def value(self) -> float:
        """The number itself, in the unit of the tree's root."""
        return self.tree.root.value

    def to_frame(self) -> pd.DataFrame:
        """One row for each quantity of the working. Needs pandas."""
        from backreef.judgement.frames import pandas_module

        rows = [
            {
                "id": node.id,
                "symbol": node.about.symbol,
                "value": node.value,
                "unit": node.about.unit,
                "formula": node.formula,
                "kind": node.about.kind,
                "low": node.about.low,
                "high": node.about.high,
                "source": node.about.source,
                "place": node.about.place,
                "status": node.about.status,
            }
            for node in self.tree.nodes
        ]
        return pandas_module().DataFrame(rows)


def why(
    plan: str | Path,
    figure: str,
    *,
    members: int = 64,
    seed: int = 1,
    progress: Progress | None = None,
    one_by_one: bool = False,
) -> Working:
    """The working behind a figure of a plan file; `askable_figures` lists what can be asked.

    With `one_by_one` the plan is simulated once more with each uncertain number moved alone.

    Raises
    ------
    InputFaults
        With every fault of the file, or if the plan has no such figure or not such a day.
    """
    from backreef.usecases.asked import Asking
    from backreef.usecases.forecast import refuse_impossible

    refuse_impossible(members, seed)
    asking = Asking(plan, members=members, seed=seed, progress=progress)
    found = working_of(asking, figure)
    if one_by_one and found.members is not None:
        found = replace(found, elasticities=_elasticities(asking, found.figure))
    return found


def working_of(asking: Asking, figure: str) -> Working:
    """The working behind a figure of a plan that is being asked about.

    Raises
    ------
    InputFaults
        If the plan has no such figure or not such a day.
    """
    return _worked_out(asking, {one.name: one for one in _figures(asking)}, figure, with_tornado=True)


def workings(
    plan: str | Path,
    figures: Iterable[str],
    *,
    members: int = 64,
    seed: int = 1,
    progress: Progress | None = None,
) -> dict[str, Working]:
    """The workings of several figures, without their tornados; those that cannot be asked are left out.

    The plan is simulated once for all of them.

    Raises
    ------
    InputFaults
        With every fault of the file.
    """
    from backreef.usecases.asked import Asking
    from backreef.usecases.forecast import refuse_impossible

    refuse_impossible(members, seed)
    asking = Asking(plan, members=members, seed=seed, progress=progress)
    known = {one.name: one for one in _figures(asking)}
    found = {}
    for figure in figures:
        with suppress(InputFaults):
            found[figure] = _worked_out(asking, known, figure, with_tornado=False)
    return found


def _worked_out(asking: Asking, known: Mapping[str, Figure], figure: str, *, with_tornado: bool) -> Working:
    from backreef.judgement.sources import source_texts

    found, answer = _answered(asking, known, figure)
    texts = source_texts(asking.catalogue)
    named = {key for node in answer.tree.nodes for key in node.about.source.split() if key in texts}
    return Working(
        plan_name=asking.plan.tank.name,
        plan_file=asking.file,
        figure=_full_name(found, answer),
        title=found.title,
        on=answer.on,
        shown=answer.shown,
        members=asking.members if found.forecast else None,
        seed=asking.seed if found.forecast else None,
        tree=answer.tree,
        sources={key: texts[key] for key in sorted(named)},
        moved=answer.moved,
        tornado=_tornado(asking, answer) if with_tornado else None,
        beside=tuple(_beside(asking, known, found, figure)) if with_tornado else (),
    )


def _beside(asking: Asking, known: Mapping[str, Figure], figure: Figure, name: str) -> Iterator[Beside]:
    """What is shown beside a figure, as far as it can be asked."""
    for other in figure.beside(asking, name.partition("@")[2].strip()):
        with suppress(InputFaults):
            one, answer = _answered(asking, known, other)
            yield Beside(
                figure=other, title=one.title, shown=answer.shown, value=float(answer.tree.root.value)
            )


def _answered(asking: Asking, known: Mapping[str, Figure], figure: str) -> tuple[Figure, Found]:
    name, at, day = figure.partition("@")
    found = _figure(asking, known, name.strip())
    return found, _answer(asking, found, day.strip()) if at else found.find(asking, None)


def workings_beside(
    plan: str | Path,
    figure: str,
    *,
    members: int = 64,
    seed: int = 1,
    progress: Progress | None = None,
) -> dict[str, Working]:
    """The working behind a figure and, of a day of the simulation, all else that is shown of it.

    The plan is simulated once for all of them.

    Raises
    ------
    InputFaults
        With every fault of the file, or if the plan has no such figure or not such a day.
    """
    from backreef.usecases.asked import Asking
    from backreef.usecases.forecast import refuse_impossible

    refuse_impossible(members, seed)
    asking = Asking(plan, members=members, seed=seed, progress=progress)
    known = {one.name: one for one in _figures(asking)}
    found = {figure: _worked_out(asking, known, figure, with_tornado=True)}
    name, _, day = figure.partition("@")
    of_day = [one.name for one in known.values() if one.daily and one.forecast and one.of_its_own]
    if day and name in of_day:
        for other in of_day:
            with suppress(InputFaults):  # not all can be asked of every day
                if other != name:
                    other_day = f"{other}@{day}"
                    found[other_day] = _worked_out(asking, known, other_day, with_tornado=True)
    return found


def daily_series() -> tuple[str, ...]:
    """The series of a forecast whose days can be asked about."""
    from backreef.simulation.trajectories import series_from

    return tuple(series_from(lambda _: 1.0, 1.0))


def is_fed(species_id: str, catalogue: Catalogue) -> bool:
    """Whether it can be asked how an animal is fed; of those that live on light it cannot."""
    from backreef.simulation.cohorts import lives_on_light

    species = catalogue.species.get(species_id)
    return species is not None and not lives_on_light(species, catalogue.guilds[species.guild])


def _tornado(asking: Asking, answer: Found) -> Tornado | None:
    if not answer.by_member:
        return None
    import numpy as np

    from backreef.judgement.tornado import tornado

    return tornado(np.array(answer.by_member), asking.course, unit=answer.tree.root.about.unit)


def _elasticities(asking: Asking, figure: str) -> Elasticities | None:
    """What each uncertain number does to a figure that is simulated."""
    import numpy as np

    from backreef.judgement.elasticity import elasticities

    moved, numbers = asking.moved_one_by_one()
    answer = _answered(moved, {one.name: one for one in _figures(moved)}, figure)[1]
    values = np.array(answer.by_member)
    return elasticities(values, numbers, unit=answer.tree.root.about.unit) if values.size else None


def askable_figures(plan: str | Path, *, members: int = 1, told: bool = False) -> tuple[Askable, ...]:
    """Everything that a plan file can be asked about; with `told` the plan is simulated for the rest.

    The rest are the numbers of the lines of its forecast, as of its findings, which only then are known.

    Raises
    ------
    InputFaults
        With every fault of the file.
    """
    from backreef.usecases.asked import Asking

    asking = Asking(plan, members=members, seed=1)
    figures = {one.name: one for one in _figures(asking)}
    if told:
        from backreef.usecases.asked_told import told_figures

        figures = {one.name: one for one in told_figures(asking)} | figures
    return tuple(
        Askable(name=one.name, title=one.title, daily=one.daily, forecast=one.forecast)
        for one in figures.values()
        if told or one.of_its_own
    )


def _figures(asking: Asking) -> Iterator[Figure]:
    from backreef.usecases.asked_absence import absence_figures
    from backreef.usecases.asked_animals import animal_figures
    from backreef.usecases.asked_bodies import body_figures
    from backreef.usecases.asked_corals import coral_figures
    from backreef.usecases.asked_crew import crew_figures
    from backreef.usecases.asked_fed import fed_figures
    from backreef.usecases.asked_hands import task_figures
    from backreef.usecases.asked_months import month_figures
    from backreef.usecases.asked_tank import tank_figures
    from backreef.usecases.asked_water import series_figures

    living = (animal_figures, fed_figures, coral_figures, body_figures, crew_figures)
    for family in (tank_figures, *living, task_figures, absence_figures, series_figures, month_figures):
        yield from family(asking)


def _figure(asking: Asking, known: Mapping[str, Figure], name: str) -> Figure:
    from backreef.usecases.asked_told import told_figure, told_figures
    from backreef.usecases.told_numbers import could_be_told

    found = known.get(name) or told_figure(asking, name)
    if found is not None:
        return found
    if could_be_told(name):
        known = {**known, **{one.name: one for one in told_figures(asking)}}
    near = difflib.get_close_matches(name, known, n=_MOST_HINTS, cutoff=_NEAR)
    near += [one for one in known if name and name in one and one not in near][:_MOST_HINTS]
    hint = f"did you mean {' or '.join(near[:_MOST_HINTS])}?" if near else ""
    raise _refused(asking.file, f"'{name}' cannot be asked of this plan; {hint}".rstrip("; "))


def _answer(asking: Asking, figure: Figure, at: str) -> Found:
    """A figure of a day or an absence."""
    if figure.over is not None and (days := days_together(asking, figure, at)) is not None:
        return figure.over(asking, days)
    if figure.away is None:
        return figure.find(asking, _day(asking, figure, at))
    from backreef.usecases.asked_absence import absence_of

    return figure.away(asking, absence_of(asking, figure, at))


def _full_name(figure: Figure, answer: Found) -> str:
    """A figure as it would be asked for again."""
    if answer.at:
        return f"{figure.name}@{answer.at}"
    return f"{figure.name}@{answer.on}" if figure.daily and answer.on is not None else figure.name


def _day(asking: Asking, figure: Figure, text: str) -> date:
    if not figure.daily:
        raise _refused(asking.file, f"'{figure.name}' is of no single day; ask it without '@{text}'")
    try:
        on = date.fromisoformat(text)
    except ValueError:
        raise _refused(asking.file, f"'{text}' is no date; write it as {figure.name}@2028-03-01") from None
    first, last = asking.on(0), asking.on(asking.plan.horizon_days - 1)
    if not first <= on <= last:
        raise _refused(asking.file, f"{on} lies outside the plan's days; it runs from {first} to {last}")
    return on


_OF_QUARTER = re.compile(r"(\d{4})-Q([1-4])$")
_OF_MONTH = re.compile(r"(\d{4})-(\d{2})$")


def days_together(asking: Asking, figure: Figure, text: str) -> Days | None:
    """Days that somebody wrote together, as `2027-04`, `2027-Q2` or `2027-04-01..2027-06-30`; else None.

    Raises
    ------
    InputFaults
        If none of them is a day of the plan.
    """
    from backreef.usecases.asked import Days

    try:
        if found := _OF_QUARTER.match(text):
            year, month = int(found[1]), 3 * int(found[2]) - 2
            first, last = date(year, month, 1), _month_end(year, month + 2)
        elif found := _OF_MONTH.match(text):
            first, last = date(int(found[1]), int(found[2]), 1), _month_end(int(found[1]), int(found[2]))
        else:
            one, between, other = text.partition("..")
            if not between:
                return None
            first, last = date.fromisoformat(one.strip()), date.fromisoformat(other.strip())
    except ValueError:
        raise _refused(asking.file, f"'{text}' is no date; write it as {figure.name}@2028-03") from None
    begin, stop = asking.day(first, 0), asking.day(last, 0) + 1
    begin, stop = max(0, begin), min(asking.plan.horizon_days, stop)
    if begin >= stop:
        until = asking.on(asking.plan.horizon_days - 1)
        words = f"{text} lies outside the plan's days; it runs from {asking.on(0)} to {until}"
        raise _refused(asking.file, words)
    return Days(first=begin, stop=stop, at=text)


def _month_end(year: int, month: int) -> date:
    return date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)


def _refused(file: str, message: str) -> InputFaults:
    return InputFaults([Fault(file=file, line=None, key="", message=message)])
