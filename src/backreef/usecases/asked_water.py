"""Figures of the forecast's daily series: nitrate, phosphate, oxygen at dawn and all others, on a day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.judgement.books import Shown, moved_until
from backreef.judgement.water import water_bands
from backreef.models.tables import load_tables
from backreef.simulation.trajectories import series_from
from backreef.usecases.asked import Asking, Figure, Found, Moved, middle_of, shown
from backreef.usecases.asked_states import state
from backreef.usecases.figure_names import figure_names
from backreef.working.number import Worked
from backreef.working.record import leaf, recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of

Array = npt.NDArray[np.float64]
COUNTED: dict[str, Shown] = {
    "nitrate_mg_no3_per_l": "N",
    "nitrite_mg_n_per_l": "N",
    "ammonia_total_mg_n_per_l": "N",
    "phosphate_mg_po4_per_l": "P",
    "oxygen_mg_per_l": "O2",
}
"""Series -> the element whose ways in and out stand behind it."""


def series_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of each daily series of the water and of what grows."""
    labels = {name: words for name, (words, _) in figure_names("series").items()}
    labels |= {band.series: band.label for band in water_bands(asking.plan)}
    for name in series_from(lambda _: 1.0, 1.0):
        yield Figure(
            name=name,
            title=f"{labels[name]}, the median of the members",
            daily=True,
            forecast=True,
            find=partial(_on_day, name),
        )


def _on_day(name: str, asking: Asking, on: date | None) -> Found:
    course = asking.course
    day = asking.day(on, course.prepared.keeper.days - 1)
    values = np.asarray(course.series[name][day], dtype=float)
    layout = course.prepared.layout
    coral = course.members.parameters[layout.parameter("T_coral")]

    def of_member(member: int) -> InItsUnit:
        def row(name: str) -> InItsUnit:
            return state(asking, name, day, member)

        found: InItsUnit = series_from(row, _coral(coral, member))[name]()
        return found

    unit = next((band.unit for band in water_bands(asking.plan) if band.series == name), "")
    with recording():
        value = middle_of(values, of_member, About(symbol=name, key=f"series.{name}", kind="law", unit=unit))
    element = COUNTED.get(name)
    moved: tuple[Moved, ...] = ()
    if element is not None:
        doors = moved_until(course.prepared, course.members, element, day)
        moved = tuple(_moved(door, element, grams) for door, grams in doors.items() if np.any(grams))
    return Found(
        tree=tree_of(value, About(symbol=name, key=f"series.{name}", kind="law", unit=unit)),
        shown=shown(value, unit),
        on=asking.on(day),
        by_member=tuple(values.tolist()),
        moved=moved,
    )


def _moved(door: str, element: Shown, grams: Array) -> Moved:
    low, middle, high = (float(np.percentile(grams, percent)) for percent in (5, 50, 95))
    return Moved(door=door, element=element, g_p05=low, g_p50=middle, g_p95=high)


def _coral(values: Array, member: int) -> Worked:
    parameter = load_tables().parameters["T_coral"]
    about = About(
        symbol="T_coral",
        key=f"models.parameters.T_coral.member {member + 1}",
        kind="drawn",
        what=f"{parameter.meaning}, as drawn for member {member + 1}",
        unit=parameter.unit,
        low=parameter.low,
        high=parameter.high,
        source=parameter.source,
        place=parameter.place,
        status=parameter.status,
    )
    return leaf(float(values[member]), about)
