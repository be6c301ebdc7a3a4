"""How well a particle of food fits a mouth."""

from __future__ import annotations

import pytest

from backreef.models.midnight import _fits

NATURE = {"gape_share": 0.08, "smallest_share": 0.0008}
LENGTH_MM = 100.0


@pytest.mark.parametrize(
    ("particle_mm", "fits_frac"),
    [(0.8, 1.0), (8.0, 0.5), (0.08, 0.5), (80.0, 0.0), (0.008, 0.0)],
    ids=["in the middle", "as wide as the gape", "as small as is worth taking", "too large", "too small"],
)
def test_a_particle_fits_between_the_smallest_worth_taking_and_the_gape(
    particle_mm: float, fits_frac: float
) -> None:
    assert _fits(particle_mm, LENGTH_MM, NATURE) == pytest.approx(fits_frac, abs=2e-4)
