import numpy as np
import numpy.typing as npt
import pytest

from backreef.judgement.corals import CoralLoss, coral_losses
from backreef.judgement.rules import rule
from tests.unit.aquarium.plans import catalogue
from tests.unit.judgement.courses import PAIR, small_plan

Array = npt.NDArray[np.float64]
LEATHER = '[[animals]]\nid = "leather"\nspecies = "leathers"\n'
LATER = LEATHER.replace("leather", "later", 1) + "arrives_on = 2027-01-14\n"
DAYS = 120


def losses(surface: list[float] | Array, lines: str = LEATHER) -> list[CoralLoss]:
    series = {"coral_area_m2": np.array(surface, dtype=np.float64)[:, None]}
    return coral_losses(small_plan(lines), catalogue(), series)


def shrinking_to(ratio: float) -> Array:
    """A tenth of a square metre that has shrunk to a part of it after a month."""
    return np.where(np.arange(DAYS) < 30, 0.1, 0.1 * ratio)


def test_corals_that_hold_their_surface_are_no_trouble() -> None:
    assert losses(shrinking_to(1.0)) == []


def test_corals_waste_before_they_are_lost() -> None:
    (wasting,) = losses(shrinking_to(0.6))
    assert (wasting.harm, wasting.bound_ratio) == (False, rule("coral_thin_ratio"))
    assert wasting.lowest_ratio == pytest.approx(0.6)
    assert wasting.first_day.tolist() == [30 + int(rule("coral_days")) - 1]
    assert [loss.harm for loss in losses(shrinking_to(0.3))] == [True, False]


def test_a_dip_of_weeks_does_not_count() -> None:
    dip = np.full(DAYS, 0.1)
    dip[30 : 30 + int(rule("coral_days")) - 1] = 0.01
    assert losses(dip) == []


def test_growth_after_an_arrival_is_weighed_against_what_was_there_then() -> None:
    surface = np.where(np.arange(DAYS) < 10, 0.1, 0.2)
    surface[20:] = 0.12
    (wasting, *rest) = losses(surface, LEATHER + LATER)
    assert rest == []
    assert wasting.lowest_ratio == pytest.approx(0.6)


def test_newcomers_do_not_make_good_what_was_lost_before_them() -> None:
    """Of a tenth that came two fifths are gone when a hundredth more arrives, and the rest halves."""
    surface = np.where(np.arange(DAYS) < 5, 0.1, 0.06)
    surface[10:] = 0.07
    surface[30:] = 0.04
    harm, wasting = losses(surface, LEATHER + LATER)
    assert (harm.harm, wasting.harm) == (True, False)
    assert harm.lowest_ratio == pytest.approx(0.04 / 0.11)


def test_a_tank_without_corals_loses_none() -> None:
    assert losses(shrinking_to(0.0), PAIR) == []
