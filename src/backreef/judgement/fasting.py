"""How long each animal lasts without food: by its size, its reserve and the warmth of the water."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta

import numpy as np
import numpy.typing as npt

from backreef.judgement.rules import rule
from backreef.judgement.verdict import FastingLine
from backreef.models.body_values import body_numbers
from backreef.models.metabolism import REFERENCE_C, temperature_factor
from backreef.models.tables import load_tables
from backreef.simulation.cohorts import Cohort
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import NATURE
from backreef.simulation.prepared import Prepared
from backreef.simulation.rations import mass_on_day_g
from backreef.simulation.trajectories import CohortCourse
from backreef.working.members import Seen, middle, point

Array = npt.NDArray[np.float64]
_MASS = Seen(symbol="mass_g", what="mass of one on the day", unit="g", of="members with any left")
_QUARTER = Seen(symbol="quarter_gone_d", what="days without food until a quarter is gone", unit="d")
_HARM = Seen(symbol="harm_d", what="days without food until the bound of harm", unit="d")
_WARM = Seen(symbol="warm_quarter_gone_d", what="the same in a warm week", unit="d")
_STEPS = 200
"""Pieces of the way from a full reserve to the bound; a numerical choice."""
_LIKE = 1.15
"""A length over the one told before, from which an animal is told of again."""


def fasting_days(
    nature: Mapping[str, Array], mass_g: Array, *, temperature_c: float, until_ratio: float
) -> Array:
    """Give the days without any food until the reserve is at a share of that of a well-fed animal. [d]

    Upkeep goes on undiminished; growth goes on as long as the reserve pays for it, which is why the young
    last shorter than their size alone would tell.

    Validity
    --------
    22 to 31 degC; a share above 0.05. An animal that finds algae or pods lasts longer.

    Source
    ------
    The rates of models/mouths.py with nothing eaten.
    """
    cost = load_tables().parameters["growth_cost"].value
    warmth = temperature_factor(
        temperature_c,
        reference_c=REFERENCE_C,
        activation_energy_ev=body_numbers()["oxygen_line.activation_energy_ev"],
    )
    goal = nature["reserve_share"] * mass_g * nature["carbon_per_g"]
    upkeep = nature["burn_coefficient"] * mass_g ** nature["burn_exponent"] * warmth
    length = (mass_g / nature["weight_a"]) ** (1.0 / nature["weight_b"])
    longer = nature["kmax_per_d"] * np.maximum(nature["adult_cm"] - length, 0.0)
    growth = nature["weight_b"] * mass_g / length * longer * nature["carbon_per_g"]
    edges = np.linspace(1.0, until_ratio, _STEPS + 1)
    middle, width = (edges[:-1, None] + edges[1:, None]) / 2, -np.diff(edges)[:, None]
    grows = growth * middle**4 / (1.0 + middle**4) * (1.0 + cost)
    spent = upkeep * middle / (middle + 0.02) + grows
    return np.asarray((width * goal / spent).sum(axis=0))


def fasting_lines(
    prepared: Prepared, members: Members, courses: list[CohortCourse]
) -> tuple[FastingLine, ...]:
    """Give, per kind of animal, how long it lasts when it comes and as it is at the end."""
    lines: list[FastingLine] = []
    for slot, cohort in enumerate(prepared.cohorts):
        nature = dict(zip(NATURE, members.natures[slot], strict=True))
        lines += _of_cohort(prepared, cohort, nature, courses[slot])
    return tuple(lines)


def _of_cohort(
    prepared: Prepared, cohort: Cohort, nature: Mapping[str, Array], course: CohortCourse
) -> Iterator[FastingLine]:
    days = prepared.keeper.days
    if cohort.arrives_day >= days:
        return
    told: list[float] = []
    for day in (cohort.arrives_day, days - 1):
        if day > cohort.arrives_day and not course.living[day].any():
            continue
        there = course.living[day]
        seen = middle(course.mass_g[day][there], _MASS) if there.any() else 0.0
        mass_g = seen if day > cohort.arrives_day else mass_on_day_g(cohort, day)
        length = (mass_g / cohort.nature["weight_a"].value) ** (1.0 / cohort.nature["weight_b"].value)
        if told and length < _LIKE * told[-1]:
            continue
        told.append(length)
        yield _line(prepared, cohort, nature, day=day, mass_g=mass_g, length_cm=length)


def _line(
    prepared: Prepared,
    cohort: Cohort,
    nature: Mapping[str, Array],
    *,
    day: int,
    mass_g: float,
    length_cm: float,
) -> FastingLine:
    mass, held_c = np.full_like(nature["weight_a"], mass_g), prepared.plan.tank.temperature_c
    warm_c = max(rule("body_warmest_c"), held_c)
    quarter, harm = (
        [
            point(fasting_days(nature, mass, temperature_c=held_c, until_ratio=rule(name)), percent, seen)
            for percent in (5, 50, 95)
        ]
        for name, seen in (("quarter_gone_ratio", _QUARTER), ("harm_fullness_ratio", _HARM))
    )
    warm = fasting_days(nature, mass, temperature_c=warm_c, until_ratio=rule("quarter_gone_ratio"))
    return FastingLine(
        animal_id=cohort.entry.id,
        common_name=cohort.species.common_name,
        on=prepared.plan.start_on + timedelta(days=day),
        length_cm=length_cm,
        quarter_gone_d_p05=quarter[0],
        quarter_gone_d_p50=quarter[1],
        quarter_gone_d_p95=quarter[2],
        harm_d_p05=harm[0],
        harm_d_p50=harm[1],
        harm_d_p95=harm[2],
        warm_c=warm_c,
        warm_quarter_gone_d_p50=middle(warm, _WARM),
    )


def warmth_notices(prepared: Prepared, temperature_c: Array) -> tuple[str, ...]:
    """Say it when the water is too cold or too warm for what is known of bodies; (days, members)."""
    low, high = rule("body_coldest_c"), rule("body_warmest_c")
    outside = (temperature_c < low) | (temperature_c > high)
    if not prepared.cohorts or not outside.any():
        return ()
    days, share = int(outside.any(axis=1).sum()), float(outside.any(axis=0).mean())
    notice = (
        f"what animals burn and eat is known for {low:g} to {high:g} °C; in {share:.0%} of the members "
        f"the water is outside that on some of {days} days ({temperature_c.min():.1f} to "
        f"{temperature_c.max():.1f} °C), and what is said of feeding then is a guess"
    )
    return (notice,)
