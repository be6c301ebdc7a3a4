"""Why a number is what it is: the working behind a figure, recorded by the code that computes it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.errors import InputFaults
from backreef.usecases.reconcile import MEMBERS, SEED, WEEKS_AHEAD
from backreef.working.steps import InItsUnit
from backreef.working.tree import Tree

if TYPE_CHECKING:  # asking for help needs none of them
    import pandas as pd

    from backreef.catalogue.entries import Catalogue
    from backreef.judgement.elasticity import Elasticities
    from backreef.judgement.tornado import Tornado
    from backreef.logbook.entries import Entry
    from backreef.usecases.asked import Asking, Figure, Found, Moved

SCHEMA = "backreef.why/1"
FIT_ASKED = (MEMBERS, SEED, WEEKS_AHEAD)
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
    from backreef.usecases.asked_by_name import known_figures

    return _worked_out(asking, known_figures(asking), figure, with_tornado=True)


def why_fit(
    plan: str | Path,
    entries: Sequence[Entry],
    figure: str,
    *,
    asked: tuple[int, int, int] = FIT_ASKED,
    progress: Progress | None = None,
) -> Working:
    """The working behind a figure of the plan put together with the log of its tank.

    Parameters
    ----------
    asked : tuple
        Members, seed and weeks ahead, as for `reconcile`.

    Raises
    ------
    InputFaults
        With every fault of the file, if no reading can be used, or if the fit has no such figure.
    """
    from backreef.usecases.asked_fit import AskingFit

    return working_of(AskingFit(plan, entries, asked=asked, progress=progress), figure)


def askable_of_fit(
    plan: str | Path,
    entries: Sequence[Entry],
    *,
    asked: tuple[int, int, int] = FIT_ASKED,
    progress: Progress | None = None,
) -> tuple[Askable, ...]:
    """Everything that can be asked of a plan put together with the log of its tank.

    Raises
    ------
    InputFaults
        With every fault of the file, or if no reading can be used.
    """
    from backreef.usecases.asked_fit import AskingFit

    figures = AskingFit(plan, entries, asked=asked, progress=progress).own_figures()
    return tuple(_askable(one) for one in figures)


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
    from backreef.usecases.asked_by_name import known_figures
    from backreef.usecases.forecast import refuse_impossible

    refuse_impossible(members, seed)
    asking = Asking(plan, members=members, seed=seed, progress=progress)
    known = known_figures(asking)
    found = {}
    for figure in figures:
        with suppress(InputFaults):
            found[figure] = _worked_out(asking, known, figure, with_tornado=False)
    return found


def _worked_out(asking: Asking, known: Mapping[str, Figure], figure: str, *, with_tornado: bool) -> Working:
    from backreef.judgement.sources import source_texts
    from backreef.usecases.asked_by_name import answered, full_name

    found, answer = answered(asking, known, figure)
    texts = source_texts(asking.catalogue)
    named = {key for node in answer.tree.nodes for key in node.about.source.split() if key in texts}
    return Working(
        plan_name=asking.plan.tank.name,
        plan_file=asking.file,
        figure=full_name(found, answer),
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
    from backreef.usecases.asked_by_name import answered

    for other in figure.beside(asking, name.partition("@")[2].strip()):
        with suppress(InputFaults):
            one, answer = answered(asking, known, other)
            yield Beside(
                figure=other, title=one.title, shown=answer.shown, value=float(answer.tree.root.value)
            )


def workings_beside(
    plan: str | Path,
    figure: str,
    *,
    members: int = 64,
    seed: int = 1,
    progress: Progress | None = None,
    text: str | None = None,
) -> dict[str, Working]:
    """The working behind a figure and, of a day of the simulation, all else that is shown of it.

    The plan is simulated once for all of them; `text` is a plan that would stand in that file.

    Raises
    ------
    InputFaults
        With every fault of the file, or if the plan has no such figure or not such a day.
    """
    from backreef.usecases.asked import Asking
    from backreef.usecases.asked_by_name import known_figures
    from backreef.usecases.forecast import refuse_impossible

    refuse_impossible(members, seed)
    asking = Asking(plan, members=members, seed=seed, progress=progress, text=text)
    known = known_figures(asking)
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

    from backreef.judgement.tornado import ranked, tornado

    values, unit = np.array(answer.by_member), answer.tree.root.about.unit
    if answer.inputs is not None:
        return ranked(values, answer.inputs, seed=asking.seed, unit=unit)
    return tornado(values, asking.course, unit=unit)


def _elasticities(asking: Asking, figure: str) -> Elasticities | None:
    """What each uncertain number does to a figure that is simulated."""
    import numpy as np

    from backreef.judgement.elasticity import elasticities
    from backreef.usecases.asked_by_name import answered, known_figures

    moved, numbers = asking.moved_one_by_one()
    answer = answered(moved, known_figures(moved), figure)[1]
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
    from backreef.usecases.asked_by_name import known_figures

    asking = Asking(plan, members=members, seed=1)
    figures = known_figures(asking)
    if told:
        from backreef.usecases.asked_told import told_figures

        figures = {one.name: one for one in told_figures(asking)} | figures
    return tuple(_askable(one) for one in figures.values() if told or one.of_its_own)


def _askable(figure: Figure) -> Askable:
    return Askable(name=figure.name, title=figure.title, daily=figure.daily, forecast=figure.forecast)
