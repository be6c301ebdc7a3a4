"""Which uncertain inputs move a figure most: its ranks over the members against the ranks of their draws."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.judgement.course import Course
from backreef.models.tables import load_tables
from backreef.simulation.layout import NATURE
from backreef.simulation.portions import feeder_bias
from backreef.simulation.tables import InItsUnit, system_table

Array = npt.NDArray[np.float64]
LEAST_MEMBERS = 16
"""With fewer, ranks say nothing. A numerical choice."""
SHUFFLES = 400
CHANCE_PERCENT = 95


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """How a figure goes with one input."""

    key: str
    what: str
    rank_correlation_ratio: float
    """-1 to 1."""
    low: InItsUnit
    """Median of the figure where the input is in its lowest third."""
    high: InItsUnit
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tornado:
    """The inputs that move a figure more than luck would, strongest first."""

    bars: tuple[Bar, ...]
    inputs: int
    """How many uncertain inputs were looked at."""
    members: int
    luck_ratio: float
    """What the strongest of so many inputs reaches by luck in 5 of 100 cases; weaker ones are
    not shown."""
    same_in_all: bool = False
    """No input moves the figure at all: it is the same in every member."""


def tornado(values: Array, course: Course, *, unit: str) -> Tornado | None:
    """Give the inputs that a figure goes with; None for too few members, or where nothing is uncertain.

    `values` is (members,).

    Validity
    --------
    One input at a time: what two do only together is not seen, and inputs drawn together share a
    bar. Ranks: a hump is not seen.

    Source
    ------
    Spearman's rank correlation; its noise by shuffling the members.
    """
    return ranked(values, inputs_of(course), seed=course.draws.seed, unit=unit)


def ranked(values: Array, inputs: Mapping[str, Array], *, seed: int, unit: str) -> Tornado | None:
    """The same of any members and what was drawn for them, by name, (members,)."""
    drawn = {name: row for name, row in inputs.items() if np.ptp(row) > 0}
    if len(values) < LEAST_MEMBERS or not drawn:
        return None
    if not np.ptp(values):
        return Tornado(bars=(), inputs=len(drawn), members=len(values), luck_ratio=0.0, same_in_all=True)
    names, rows = list(drawn), np.array(list(drawn.values()))
    ranks = _standard_ranks(rows)
    found = ranks @ _standard_ranks(values[None])[0]
    luck = _luck(ranks, seed)
    strong = sorted((i for i in range(len(names)) if abs(found[i]) > luck), key=lambda i: -abs(found[i]))
    return Tornado(
        bars=tuple(_bar(names[i], float(found[i]), rows[i], values, unit) for i in strong),
        inputs=len(names),
        members=len(values),
        luck_ratio=luck,
    )


def inputs_of(course: Course) -> Mapping[str, Array]:
    """Give every lasting number that was drawn for the members, (members,), by its name.

    What differs from one day to the next (portions, errors of kits, jams) is none, and chances of death are
    left out.
    """
    members, layout = course.members, course.prepared.layout
    found = {f"model.{name}": members.parameters[layout.parameter(name)] for name in layout.parameters}
    for cohort, nature in zip(course.prepared.cohorts, members.natures, strict=True):
        for name, row in zip(NATURE, nature, strict=True):
            found[f"{cohort.entry.id}.{name}"] = row
    if np.any(course.series["coral_area_m2"]):
        span = system_table()["coral_scale"].span
        scale = course.draws.value("coral_scale", span.value, span.low, span.high)
        found["corals.surface over what the plan says"] = scale
    for device_id, feeder in course.prepared.keeper.meals.feeders.items():
        found[f"{device_id}.gives over its setting"] = feeder_bias(feeder, course.prepared, course.draws)
    for task in course.work.by_task:
        found[f"{task}.pace"] = course.draws.normal(f"minutes {task}")[0]
    return found


def _standard_ranks(rows: Array) -> Array:
    """Ranks of each row with mean 0 and length 1; equal values share their mean rank."""
    ranks = np.empty(rows.shape)
    for number, row in enumerate(rows):
        _, place, count = np.unique(row, return_inverse=True, return_counts=True)
        last = np.cumsum(count)
        ranks[number] = (last - (count - 1) / 2.0)[place]
    centred = ranks - ranks.mean(axis=1, keepdims=True)
    return np.asarray(centred / np.linalg.norm(centred, axis=1, keepdims=True))


def _luck(ranks: Array, seed: int) -> float:
    """The strongest correlation that luck alone gives, in all but 5 of 100 shuffles."""
    generator = np.random.Generator(np.random.Philox(key=seed))
    lucky = _standard_ranks(np.arange(ranks.shape[1], dtype=float)[None])[0]
    strongest = [np.abs(ranks @ generator.permutation(lucky)).max() for _ in range(SHUFFLES)]
    return float(np.percentile(strongest, CHANCE_PERCENT))


def _bar(name: str, ratio: float, row: Array, values: Array, unit: str) -> Bar:
    low, high = np.percentile(row, [100 / 3, 200 / 3])
    parameter = load_tables().parameters.get(name.partition(".")[2] or name)
    return Bar(
        key=name,
        what=parameter.meaning if parameter is not None else name.replace("_", " ").replace(".", ": ", 1),
        rank_correlation_ratio=ratio,
        low=float(np.median(values[row <= low])),
        high=float(np.median(values[row >= high])),
        unit=unit,
    )
