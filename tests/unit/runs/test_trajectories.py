from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest

from backreef.judgement.course import Course, run_course
from backreef.simulation.block import BlockResult
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import NATURE, packaged_layout
from backreef.simulation.trajectories import CohortCourse, cohort_course, water_series
from backreef.simulation.worked_out import WorkedOut
from backreef.units import parse_quantity
from tests.unit.aquarium.plans import catalogue
from tests.unit.runs.world import DAYS, MEAL, PAIR, Tub, a_plan, prepared

Array = npt.NDArray[np.float64]


@dataclass
class Diary:
    """Days made up by hand, one member."""

    lines: str = PAIR + MEAL
    days: int = 20
    state: Array = field(init=False)

    def __post_init__(self) -> None:
        tub = Tub(prepared(self.lines))
        self.state = np.repeat(tub.state[None, :, :1], self.days, axis=0)
        self.tub = tub

    def write(self, name: str, values: float | Array) -> None:
        self.state[:, packaged_layout().address(name), 0] = values

    def write_slot(self, name: str, values: float | Array) -> None:
        self.state[:, packaged_layout().slot_address(0, name, 1), 0] = values

    def members(self) -> Members:
        block = BlockResult(days=self.state, noted=np.zeros((0, 1)), report={})
        return Members(
            count=1,
            seed=1,
            begun=self.tub.setting.begun.lanes(slice(0, 1)),
            blocks=[block],
            numbers=np.arange(1),
        )

    def series(self) -> Mapping[str, Array]:
        return water_series(self.tub.ready, WorkedOut(self.members()))

    def course(self) -> CohortCourse:
        return cohort_course(self.tub.ready, WorkedOut(self.members()), 0)

    def nature(self, name: str) -> float:
        return float(self.tub.setting.bodies[0].nature[NATURE.index(name), 0])


@cache
def marched() -> Course:
    return run_course(a_plan(PAIR + MEAL), catalogue(), Draws(1, 8))


def test_amounts_are_shown_by_the_litre_in_the_units_of_the_doors() -> None:
    """Ions by their standard molar masses: NO3 62.004, PO4 94.970; Ca 40.078, O2 31.998, N 14.007."""
    diary = Diary()
    diary.write("V", 200.0)
    for name, amount in (("S_NO3", 20.0), ("S_PO4", 0.4), ("S_NH", 0.2), ("S_Ca", 2000.0), ("S_ALK", 500.0)):
        diary.write(name, amount)
    diary.write("o2_least", 200.0)
    diary.write("nh3_most", 0.5)
    series = {name: float(values[0, 0]) for name, values in diary.series().items()}
    assert series["nitrate_mg_no3_per_l"] == pytest.approx(0.1 * 62.004, rel=1e-4)
    assert series["phosphate_mg_po4_per_l"] == pytest.approx(0.002 * 94.970, rel=1e-4)
    assert series["ammonia_total_mg_n_per_l"] == pytest.approx(0.001 * 14.007, rel=1e-4)
    assert series["ammonia_unionised_mg_n_per_l"] == pytest.approx(0.0005 * 14.007, rel=1e-4)
    assert series["calcium_mg_per_l"] == pytest.approx(10 * 40.078, rel=1e-4)
    assert series["oxygen_mg_per_l"] == pytest.approx(0.2 * 31.998, rel=1e-4)
    one_dkh = parse_quantity("1 dKH", dimension="alkalinity", token="meq_per_l")
    assert series["alkalinity_dkh"] == pytest.approx(2.5 / one_dkh)


def test_a_tank_that_has_evaporated_is_more_concentrated() -> None:
    diary = Diary()
    diary.write("S_NO3", 20.0)
    diary.write("V", np.linspace(200.0, 100.0, diary.days))
    nitrate = diary.series()["nitrate_mg_no3_per_l"]
    assert nitrate[-1, 0] == pytest.approx(2 * nitrate[0, 0])


def test_growths_are_shown_as_grams_of_dry_matter() -> None:
    diary = Diary()
    diary.write("A_F", 46.0)
    diary.write("Z_PC", 74.0)
    assert diary.series()["film_algae_g_dry"] == pytest.approx(2.0)
    assert diary.series()["copepods_g_dry"] == pytest.approx(2.0)


def test_a_well_fed_animal_is_full_and_in_condition() -> None:
    diary = Diary()
    found = diary.course()
    assert found.fullness == pytest.approx(1.0)
    assert found.condition == pytest.approx(1.0)
    assert found.count == pytest.approx(2.0)
    assert found.length_cm == pytest.approx(diary.tub.ready.cohorts[0].length_cm)


def test_an_empty_reserve_costs_its_part_of_the_body() -> None:
    diary = Diary()
    diary.write_slot("reserve", 0.0)
    share = diary.nature("reserve_share")
    assert diary.course().fullness == pytest.approx(0.0)
    assert diary.course().condition == pytest.approx(1.0 / (1.0 + share))


def test_the_dead_have_neither_size_nor_condition() -> None:
    diary = Diary()
    diary.write_slot("lost", 2.0)
    diary.write_slot("structure", 0.0)
    diary.write_slot("reserve", 0.0)
    found = diary.course()
    assert not found.living.any()
    for values in (found.count, found.mass_g, found.length_cm, found.fullness, found.condition):
        assert not values.any()
        assert np.isfinite(values).all()


def test_a_survivor_keeps_its_size_when_the_other_dies() -> None:
    diary = Diary()
    half = np.where(np.arange(diary.days) < 10, 1.0, 0.5)
    structure = diary.state[0, packaged_layout().slot_address(0, "structure", 1), 0]
    diary.write_slot("structure", structure * half)
    diary.write_slot("lost", np.where(half < 1, 1.0, 0.0))
    found = diary.course()
    assert found.count[:, 0].tolist() == [2.0] * 10 + [1.0] * 10
    assert found.mass_g == pytest.approx(float(found.mass_g[0, 0]))


def test_energy_met_is_that_of_the_last_seven_days() -> None:
    diary = Diary()
    days = np.arange(diary.days, dtype=np.float64)
    diary.write_slot("need", days)
    diary.write_slot("got", np.where(days <= 10, days, 10.0))
    met = diary.course().energy_met[:, 0]
    assert met[10] == pytest.approx(1.0)
    assert met[12] == pytest.approx(5 / 7)
    assert met[17] == pytest.approx(0.0)


def test_every_series_of_a_march_is_a_number_every_day() -> None:
    for name, values in marched().series.items():
        assert values.shape == (DAYS, 8), name
        assert np.isfinite(values).all(), name
        assert (values >= 0).all(), name


def test_what_was_eaten_is_counted_by_pool() -> None:
    (course,) = marched().courses
    assert (course.eaten_mmol["Q_1"] > 0).all()
    assert not course.eaten_mmol["Q_2"].any()
    assert (np.diff(course.lost, axis=0) >= 0).all()
