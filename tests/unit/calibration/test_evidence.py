from __future__ import annotations

import numpy as np
import pytest

from backreef.calibration.evidence import Scale, at_moments, evidence_of, taken_of
from backreef.calibration.tables import slips_of
from backreef.logbook.entries import Reading
from tests.reconcile_world import entry, reading, small_plan

NITRATE, ALKALINITY = "nitrate_mg_n_per_l", "alkalinity_meq_per_l"
PHOSPHATE = "phosphate_mg_p_per_l"
START = small_plan().start_on


def test_readings_that_cannot_be_used_say_why() -> None:
    entries = [
        entry("early", -3.0, reading(NITRATE, 2.0)),
        entry("first", 0.5, reading(NITRATE, 2.0)),
        entry("acid", 4.0, reading("ph_total", 8.1)),
        entry("mg", 4.0, reading("magnesium_mg_per_l", 1300.0)),
        entry("good", 9.0, reading(NITRATE, 2.0)),
        entry("sooner", 5.0, reading(ALKALINITY, 2.9)),
    ]
    taken, unused = taken_of(entries, START)
    assert [one.entry.id for one in taken] == ["sooner", "good"]
    assert {one.entry.id for one in unused} == {"early", "first", "acid", "mg"}
    assert all(one.why for one in unused)


@pytest.mark.parametrize("value", [0.0, 0.01, 2.7, 50.0])
def test_even_units_go_back(value: float) -> None:
    taken, _ = taken_of(
        [entry("a", 3.0, reading(NITRATE, 2.0)), entry("b", 3.0, reading(ALKALINITY, 2.0))], START
    )
    scale = Scale(taken)
    for series in (NITRATE, ALKALINITY):
        assert float(scale.back(series, scale.even(series, value))) == pytest.approx(value)


def test_an_error_in_even_units_is_the_kits_error_times_the_slope() -> None:
    taken, _ = taken_of([entry("a", 3.0, reading(NITRATE, 2.0, "colour_card"))], START)
    scale, one = Scale(taken), taken[0]
    slope = (float(scale.even(NITRATE, 2.001)) - float(scale.even(NITRATE, 1.999))) / 0.002
    assert scale.error(one, 2.0) == pytest.approx(one.trust.error_at(2.0) * slope, rel=1e-4)


def test_errors_of_one_kit_go_together_and_of_two_do_not() -> None:
    entries = [
        entry("a", 3.0, reading(NITRATE, 2.0, "colour_card")),
        entry("b", 6.0, reading(NITRATE, 2.0, "colour_card")),
        entry("c", 9.0, reading(NITRATE, 2.0, "photometer")),
        entry("d", 9.0, reading(ALKALINITY, 2.8)),
    ]
    taken, _ = taken_of(entries, START)
    errors = evidence_of(taken, Scale(taken)).errors
    assert 0 < errors[0, 1] < errors[0, 0]
    assert errors[0, 2] == errors[0, 3] == errors[2, 3] == 0
    assert (np.linalg.eigvalsh(errors) > 0).all()


def test_moments_lie_on_straight_lines_between_midnights() -> None:
    course = np.array([[1.0], [3.0], [7.0]])  # ends of days 0, 1 and 2
    assert at_moments(course, np.array([1.0, 1.5, 3.0, 9.0]))[:, 0].tolist() == [1.0, 2.0, 7.0, 7.0]


def test_slips_of_nitrate_know_the_basis() -> None:
    factors = sorted(round(slip.factor, 3) for slip in slips_of("nitrate"))
    assert factors == [0.1, 0.226, 4.427, 10.0]
    assert isinstance(entry("a", 1.0, reading(NITRATE, 1.0)).what, Reading)


def test_a_reading_that_came_out_high_is_no_surer_than_one_that_came_out_low() -> None:
    """The mean of unbiased readings, each weighed by its error, is the truth and not above it."""
    truth, count = 0.02, 400
    rng = np.random.default_rng(3)
    (one,), _ = taken_of([entry("x", 3.0, reading(PHOSPHATE, truth, "photometer"))], START)
    error = one.trust.error_at(truth)
    values = np.maximum(truth + error * rng.standard_normal(count), 0.0)
    entries = [
        entry(f"r{number}", 3.0, reading(PHOSPHATE, float(value), "photometer"))
        for number, value in enumerate(values)
    ]
    taken, _ = taken_of(entries, START)
    scale = Scale(taken)
    members = np.full((count, 8), float(scale.even(PHOSPHATE, truth)))
    by_reading, by_foretold = evidence_of(taken, scale), evidence_of(taken, scale, members)
    assert np.ptp(np.diag(by_foretold.errors)) == pytest.approx(0.0, abs=1e-12)
    means = [
        float(np.average(one.seen, weights=1.0 / np.diag(one.errors))) for one in (by_reading, by_foretold)
    ]
    off = [abs(mean - float(scale.even(PHOSPHATE, truth))) for mean in means]
    assert off[1] < 0.5 * off[0]
