"""By how much a figure moves for each uncertain number of a plan moved alone."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.models.tables import load_tables
from backreef.simulation.draws import ASSUMED_RATIO
from backreef.simulation.layout import LANES
from backreef.simulation.one_by_one import STEP_RATIO, moved_member
from backreef.simulation.tables import InItsUnit, Range

Array = npt.NDArray[np.float64]
LEAST_SHOWN_RATIO = 0.005
"""Half a per cent of a figure for a hundred of a number is not worth a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Elasticity:
    """What a figure does if one number alone is another."""

    key: str
    what: str
    elasticity_ratio: float
    """Per cent of the figure for a per cent of the number, at the middle of all."""
    low: InItsUnit | None
    """The figure with the number at the low end of its range, if the elasticity held so far; None where that
    end is 0."""
    high: InItsUnit | None
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Elasticities:
    """The numbers that move a figure, strongest first."""

    found: tuple[Elasticity, ...]
    moved: int
    """How many numbers were moved, one after another."""
    middle: InItsUnit
    """The figure with all of them at their middle."""


def elasticities(figure: Array, numbers: Mapping[str, Range], *, unit: str) -> Elasticities | None:
    """Give how a figure goes with each number; None where it is 0 at the middle, or turns its sign.

    `figure` is (members,) of a run with these numbers moved one by one.

    Validity
    --------
    To first order, at the middle of all other numbers. Where a whole animal more or less lives, it jumps.

    Source
    ------
    Definition of an elasticity, as the difference of one step.
    """
    middle = float(figure[0])
    slopes = [_slope(figure, place) for place in range(len(numbers))]
    known = [slope for slope in slopes if slope is not None]
    if len(known) < len(slopes):
        return None
    ranked = sorted(zip(numbers, known, strict=True), key=lambda item: (-abs(item[1]), item[0]))
    return Elasticities(
        found=tuple(
            _elasticity(name, slope, numbers[name], middle, unit)
            for name, slope in ranked
            if abs(slope) >= LEAST_SHOWN_RATIO
        ),
        moved=len(numbers),
        middle=middle,
    )


def _slope(figure: Array, place: int) -> float | None:
    member = moved_member(place)
    middle = figure[member - member % LANES]
    ratio = figure[member] / middle if middle else 0.0
    return math.log(ratio) / math.log(STEP_RATIO) if ratio > 0.0 else None


def _elasticity(name: str, slope_ratio: float, span: Range, middle: InItsUnit, unit: str) -> Elasticity:
    least = span.value / ASSUMED_RATIO if span.low is None else span.low
    most = span.value * ASSUMED_RATIO if span.high is None else span.high
    at_end = [middle * (end / span.value) ** slope_ratio if end > 0.0 else None for end in (least, most)]
    parameter = load_tables().parameters.get(name)
    return Elasticity(
        key=name,
        what=f"{parameter.meaning} ({name})" if parameter is not None else name.replace("_", " "),
        elasticity_ratio=slope_ratio,
        low=at_end[0],
        high=at_end[1],
        unit=unit,
    )
