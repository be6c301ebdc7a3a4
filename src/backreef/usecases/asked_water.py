"""Figures of the forecast's daily series: nitrate, phosphate, oxygen at dawn and all others, on a day."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.judgement.books import Shown, moved_until
from backreef.judgement.course import turf_share
from backreef.judgement.water import water_bands
from backreef.simulation.trajectories import series_from
from backreef.usecases.asked import Asking, Days, Figure, Found, Moved, middle_of, point_of, shown
from backreef.usecases.asked_states import coral_density, state
from backreef.usecases.figure_names import figure_names
from backreef.working.record import leaf, named, recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of

Array = npt.NDArray[np.float64]
MIDDLE, EDGES = (
    50,
    ((5, "low end of the band: 5 % of the members"), (95, "high end of the band: 95 % of them")),
)
TURF_COVER = "turf_cover_frac"
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
    for name in (*series_from(lambda _: 1.0, 1.0), TURF_COVER):
        yield Figure(
            name=name,
            title=f"{labels[name]}, the median of the members",
            daily=True,
            forecast=True,
            find=partial(_on_day, name),
            over=partial(_over, name, MIDDLE),
            beside=partial(_beside, name),
        )
        yield Figure(
            name=f"{name}.most",
            title=f"{labels[name]}, the highest median of the members",
            daily=True,
            forecast=True,
            find=partial(_most_of_all, name),
            of_its_own=False,
            over=partial(_most, name),
        )
        for percent, words in EDGES:
            yield Figure(
                name=f"{name}_p{percent:02d}",
                title=f"{labels[name]}, {words}",
                daily=True,
                forecast=True,
                find=partial(_edge_on_day, name, percent),
                of_its_own=False,
                over=partial(_over, name, percent),
            )


def _on_day(name: str, asking: Asking, on: date | None) -> Found:
    course = asking.course
    day = asking.day(on, course.prepared.keeper.days - 1)
    values = np.asarray(course.series[name][day], dtype=float)
    unit = unit_of(name, asking)
    with recording():
        value = point_on_day(name, MIDDLE, asking, day)
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


def unit_of(name: str, asking: Asking) -> str:
    """The unit in which a forecast shows a series."""
    known = figure_names("series").get(name, ("", ""))[1]
    return next((band.unit for band in water_bands(asking.plan) if band.series == name), known)


def point_on_day(name: str, percent: int, asking: Asking, day: int) -> InItsUnit:
    """A series at a point of the members on a day, with its working."""
    course = asking.course
    values = np.asarray(course.series[name][day], dtype=float)

    def of_member(member: int) -> InItsUnit:
        def row(name: str) -> InItsUnit:
            return state(asking, name, day, member)

        if name == TURF_COVER:
            return turf_of_member(asking, row, member)
        found: InItsUnit = series_from(row, coral_density(asking, member))[name]()
        return found

    about = About(symbol=name, key=f"series.{name}", kind="law", unit=unit_of(name, asking))
    if percent == MIDDLE:
        return middle_of(values, of_member, about)
    return point_of(values, percent, of_member, about)


def turf_of_member(asking: Asking, row: Callable[[str], InItsUnit], member: int) -> InItsUnit:
    """Turf over the rock in one member."""
    course = asking.course
    rock = course.members.parameters[course.prepared.layout.parameter("A_rock")]
    about = About(
        symbol="A_rock",
        key=f"setting.A_rock.member {member + 1}",
        kind="drawn",
        what=f"surface of the rock on which turf can grow, as drawn for member {member + 1}",
        unit="m2",
        source="rock of the plan by the surface of a kilogram (simulation/setting.py)",
        status="calc",
    )
    found: InItsUnit = turf_share(row("A_T"), leaf(float(rock[member]), about))
    return found


def _beside(name: str, asking: Asking, at: str) -> tuple[str, ...]:
    """The edges of its band; of days together also the first and the last, the most, and days outside."""
    after = f"@{at}" if at else ""
    edges = tuple(f"{name}_p{percent:02d}{after}" for percent, _ in EDGES)
    if not at or is_one_day(at):
        return edges
    first, between, last = at.partition("..")
    days = (f"{name}@{first}", f"{name}@{last}", f"{name}.most{after}") if between else ()
    if all(band.series != name for band in water_bands(asking.plan)):
        return (*edges, *days)
    outside = tuple(f"{name}.days_outside_{side}{after}" for side in ("act", "harm"))
    bounds = [one.name for one in asking.told_numbers if one.name.startswith(f"bound.{name}.")]
    return (*edges, *days, *outside, *(bounds if between else ()))


def is_one_day(at: str) -> bool:
    """Whether one day was asked about."""
    try:
        date.fromisoformat(at)
    except ValueError:
        return False
    return True


def _most_of_all(name: str, asking: Asking, on: date | None) -> Found:
    if on is not None:
        return _on_day(name, asking, on)
    last = asking.plan.horizon_days
    return _most(name, asking, Days(first=0, stop=last, at=f"{asking.on(0)}..{asking.on(last - 1)}"))


def _most(name: str, asking: Asking, days: Days) -> Found:
    unit = unit_of(name, asking)
    line = np.median(np.asarray(asking.course.series[name][days.part], dtype=float), axis=1)
    day = days.first + int(line.argmax())
    about = About(symbol=f"{name}_most", key=f"series.{name}", kind="law", unit=unit)
    with recording():
        value = named(point_on_day(name, MIDDLE, asking, day), replace(about, what=f"on {asking.on(day)}"))
    return Found(tree=tree_of(value, about), shown=shown(value, unit), at=days.at)


def _edge_on_day(name: str, percent: int, asking: Asking, on: date | None) -> Found:
    day = asking.day(on, asking.course.prepared.keeper.days - 1)
    unit = unit_of(name, asking)
    with recording():
        value = point_on_day(name, percent, asking, day)
    about = About(symbol=f"{name}_p{percent:02d}", key=f"series.{name}", kind="law", unit=unit)
    return Found(tree=tree_of(value, about), shown=shown(value, unit), on=asking.on(day))


def _over(name: str, percent: int, asking: Asking, days: Days) -> Found:
    """Of days together: the lowest 5 % point, the median of the middle line, or the highest 95 % point."""
    unit = unit_of(name, asking)
    line = np.percentile(np.asarray(asking.course.series[name][days.part], dtype=float), percent, axis=1)
    about = About(symbol=name, key=f"series.{name}", kind="law", unit=unit)
    with recording():
        value = of_days(line, percent, asking, days, about, partial(point_on_day, name, percent, asking))
    return Found(tree=tree_of(value, about), shown=shown(value, unit), at=days.at)


def of_days(
    line: Array,
    percent: int,
    asking: Asking,
    days: Days,
    about: About,
    on_day: Callable[[int], InItsUnit],
) -> InItsUnit:
    """What `month_band` shows of days: `on_day` gives the working of one of them."""

    def words(place: int) -> str:
        return f"{asking.on(days.first + place)}"

    def of_place(place: int) -> InItsUnit:
        return on_day(days.first + place)

    if percent == MIDDLE:
        return middle_of(line, of_place, about, words=words, of="days")
    place = int(line.argmin() if percent < MIDDLE else line.argmax())
    what = f"{'lowest' if percent < MIDDLE else 'highest'} of {len(line)} days, on {words(place)}"
    return named(of_place(place), replace(about, what=what))


def _moved(door: str, element: Shown, grams: Array) -> Moved:
    low, middle, high = (float(np.percentile(grams, percent)) for percent in (5, 50, 95))
    return Moved(door=door, element=element, g_p05=low, g_p50=middle, g_p95=high)
