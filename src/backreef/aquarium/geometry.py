"""Water, glass and surface of a tank from the few measures people know, as plain functions.

Sides are inner measures. Proportions and fractions are arguments: their values stand in `data/defaults.toml`.
"""

from __future__ import annotations

from dataclasses import dataclass

from backreef.working.number import to_power
from backreef.working.record import askable

CM3_PER_L = 1000.0
CM2_PER_M2 = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides:
    """Inner length, width (front to back) and height of a box of glass."""

    length_cm: float
    width_cm: float
    height_cm: float

    @property
    @askable
    def volume_l(self) -> float:
        """Volume to the brim. [L]"""
        return self.length_cm * self.width_cm * self.height_cm / CM3_PER_L

    @property
    @askable
    def floor_m2(self) -> float:
        """Area of the floor. [m2]"""
        return self.length_cm * self.width_cm / CM2_PER_M2


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownSides:
    """The sides that are known; None for those that are not."""

    length_cm: float | None = None
    width_cm: float | None = None
    height_cm: float | None = None


def fill_sides(
    volume_l: float, known: KnownSides, *, length_to_width_ratio: float, height_to_width_ratio: float
) -> Sides:
    """The sides of a box of this volume: known ones as given, others by proportion, the last by volume."""
    volume_cm3 = volume_l * CM3_PER_L
    length_cm, width_cm, height_cm = known.length_cm, known.width_cm, known.height_cm
    if width_cm is None:
        width_cm = _width_cm(volume_cm3, known, length_to_width_ratio, height_to_width_ratio)
    if length_cm is None:
        ratio = length_to_width_ratio
        length_cm = volume_cm3 / (width_cm * height_cm) if height_cm is not None else ratio * width_cm
    if height_cm is None:
        height_cm = volume_cm3 / (length_cm * width_cm)
    return Sides(length_cm=length_cm, width_cm=width_cm, height_cm=height_cm)


def _width_cm(volume_cm3: float, known: KnownSides, length_ratio: float, height_ratio: float) -> float:
    """The unknown width of a box, from its volume and what else is known. [cm]"""
    if known.length_cm is not None and known.height_cm is not None:
        return volume_cm3 / (known.length_cm * known.height_cm)
    if known.length_cm is not None:
        return to_power(volume_cm3 / (known.length_cm * height_ratio), 0.5)
    if known.height_cm is not None:
        return to_power(volume_cm3 / (known.height_cm * length_ratio), 0.5)
    return to_power(volume_cm3 / (length_ratio * height_ratio), 1 / 3)


@askable
def net_display_l(display_gross_l: float, *, air_gap_frac: float, displaced_l: float) -> float:
    """Water in the display: the volume to the brim less the gap of air at the top and what lies in it. [L]"""
    return display_gross_l * (1.0 - air_gap_frac) - displaced_l


@askable
def rock_displaced_l(rock_kg: float, *, displaced_l_per_kg: float) -> float:
    """Volume that rock takes from the water; its open pores hold water and do not count. [L]"""
    return rock_kg * displaced_l_per_kg


@askable
def sand_displaced_l(sand_area_m2: float, *, sand_depth_cm: float, solid_frac: float) -> float:
    """Volume of the grains of a bed of sand; the water between them counts as water. [L]"""
    return sand_area_m2 * CM2_PER_M2 * sand_depth_cm * solid_frac / CM3_PER_L


@askable
def wetted_glass_m2(sides: Sides, *, air_gap_frac: float, sand_area_m2: float) -> float:
    """Glass under water: four panes up to the water line, and the floor where no sand lies. [m2]"""
    wet_height = sides.height_cm * (1.0 - air_gap_frac)
    walls = 2.0 * (sides.length_cm + sides.width_cm) * wet_height / CM2_PER_M2
    return walls + max(0.0, sides.floor_m2 - sand_area_m2)


@askable
def viewing_glass_m2(sides: Sides, *, air_gap_frac: float, ends_count: float) -> float:
    """Glass that is looked through: the front and the given number of ends, up to the water line. [m2]"""
    wet_height = sides.height_cm * (1.0 - air_gap_frac)
    return (sides.length_cm + ends_count * sides.width_cm) * wet_height / CM2_PER_M2


@askable
def water_surface_m2(sides: Sides, *, sump_and_refugium_l: float, sump_depth_cm: float) -> float:
    """Water surface of the display and of a sump and refugium of the given depth. [m2]"""
    return sides.floor_m2 + sump_and_refugium_l * CM3_PER_L / sump_depth_cm / CM2_PER_M2
