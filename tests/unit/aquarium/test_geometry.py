"""Boxes small enough to reckon by hand."""

from __future__ import annotations

import pytest

from backreef.aquarium import geometry
from backreef.aquarium.geometry import KnownSides, Sides

BOX = Sides(length_cm=120.0, width_cm=50.0, height_cm=50.0)


@pytest.mark.parametrize(
    "known",
    [
        KnownSides(),
        KnownSides(length_cm=150.0),
        KnownSides(width_cm=40.0),
        KnownSides(height_cm=60.0),
        KnownSides(length_cm=150.0, height_cm=60.0),
        KnownSides(width_cm=40.0, height_cm=60.0),
        KnownSides(length_cm=150.0, width_cm=40.0),
    ],
)
def test_it_fills_a_box_of_the_volume_and_keeps_what_is_known(known: KnownSides) -> None:
    sides = geometry.fill_sides(300.0, known, length_to_width_ratio=2.4, height_to_width_ratio=1.0)
    assert sides.volume_l == pytest.approx(300.0)
    for name in ("length_cm", "width_cm", "height_cm"):
        given = getattr(known, name)
        assert given is None or getattr(sides, name) == given


def test_it_takes_common_proportions_where_nothing_is_known() -> None:
    sides = geometry.fill_sides(300.0, KnownSides(), length_to_width_ratio=2.4, height_to_width_ratio=1.0)
    assert (sides.length_cm, sides.width_cm, sides.height_cm) == pytest.approx((120.0, 50.0, 50.0))


def test_it_counts_water_glass_and_surface() -> None:
    assert geometry.net_display_l(300.0, air_gap_frac=0.1, displaced_l=20.0) == pytest.approx(250.0)
    assert geometry.rock_displaced_l(30.0, displaced_l_per_kg=0.4) == pytest.approx(12.0)
    # 0.5 m2 of sand, 4 cm deep, is 20 L, of which 60 % are grains
    assert geometry.sand_displaced_l(0.5, sand_depth_cm=4.0, solid_frac=0.6) == pytest.approx(12.0)
    # walls 2 x (120 + 50) x 45 cm = 1.53 m2, floor 0.6 m2 less 0.4 m2 of sand
    assert geometry.wetted_glass_m2(BOX, air_gap_frac=0.1, sand_area_m2=0.4) == pytest.approx(1.73)
    # front 120 x 45 cm, two ends 50 x 45 cm
    assert geometry.viewing_glass_m2(BOX, air_gap_frac=0.1, ends_count=2) == pytest.approx(0.99)
    # display 0.6 m2; 50 L at 25 cm are 0.2 m2
    assert geometry.water_surface_m2(BOX, sump_and_refugium_l=50.0, sump_depth_cm=25.0) == pytest.approx(0.8)
