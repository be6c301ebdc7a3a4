from collections.abc import Mapping
from datetime import date

import numpy as np
import numpy.typing as npt
import pytest

from backreef.judgement.arrivals import additions
from backreef.judgement.course import Course
from backreef.judgement.outcomes import animal_outcomes
from backreef.judgement.outcomes_food import crew_lines, meal_streams
from backreef.judgement.outcomes_hands import minutes_of
from backreef.judgement.verdict import Addition
from backreef.simulation.trajectories import CohortCourse
from tests.unit.judgement.courses import FED, MEMBERS, PAIR, SNAILS, course

Array = npt.NDArray[np.float64]
GATED = """\
[[animals]]
id = "newcomers"
species = "trochus"
count = 3
arrives_on = 2027-01-20
gate = "{gate}"
"""
LEATHER = '[[animals]]\nid = "leather"\nspecies = "leathers"\n'


def arrival(gate: str, series: Mapping[str, Array]) -> Addition:
    prepared = course(PAIR + FED + GATED.format(gate=gate)).prepared
    (found,) = additions(prepared, series)
    return found


def flat(name: str, *members: float) -> dict[str, Array]:
    """A series that is the same every day; one value per member."""
    return {name: np.tile(np.array(members), (37, 1))}


@pytest.mark.parametrize(
    ("gate", "series", "share"),
    [
        ("nitrate < 10 mg/L NO3", flat("nitrate_mg_no3_per_l", 2, 9, 11, 30), 0.5),
        ("nitrate > 10 mg/L NO3", flat("nitrate_mg_no3_per_l", 2, 9, 11, 30), 0.5),
        ("phosphate < 0.1 mg/L PO4", flat("phosphate_mg_po4_per_l", 0.05, 0.2), 0.5),
        ("nitrite < 0.3 mg/L NO2", flat("nitrite_mg_n_per_l", 0.05, 0.2), 0.5),
        ("alkalinity > 8 dKH", flat("alkalinity_dkh", 7.9, 8.1), 0.5),
        ("nitrate < 10 mg/L NO3", flat("nitrate_mg_no3_per_l", 2, 3), 1.0),
    ],
)
def test_a_gate_is_open_in_the_members_in_which_it_is_true(
    gate: str, series: Mapping[str, Array], share: float
) -> None:
    found = arrival(gate, series)
    assert (found.gate, found.gate_open_share, found.count) == (gate, share, 3)
    assert (found.on, found.animal_id) == (date(2027, 1, 20), "newcomers")


def test_a_gate_looks_at_the_evening_before_the_arrival() -> None:
    series = flat("nitrate_mg_no3_per_l", 30.0)
    series["nitrate_mg_no3_per_l"][15] = 2.0
    assert arrival("nitrate < 10 mg/L NO3", series).gate_open_share == 1.0
    series["nitrate_mg_no3_per_l"][15] = 30.0
    series["nitrate_mg_no3_per_l"][16] = 2.0
    assert arrival("nitrate < 10 mg/L NO3", series).gate_open_share == 0.0


def test_all_conditions_of_a_gate_must_be_true() -> None:
    both = flat("nitrate_mg_no3_per_l", 2, 2, 30, 30) | flat("nitrite_mg_n_per_l", 0.001, 9, 0.001, 9)
    assert arrival("nitrate < 10 mg/L NO3 and nitrite < 0.3 mg/L NO2", both).gate_open_share == 0.25


def test_a_gate_of_which_a_part_is_to_be_looked_at_is_known_only_where_it_is_shut() -> None:
    low, high = flat("nitrate_mg_no3_per_l", 2, 9, 11, 30), flat("nitrate_mg_no3_per_l", 20, 30)
    for more in ("film algae visible", "magnesium > 1300 mg/L"):
        assert arrival(f"nitrate < 10 mg/L NO3 and {more}", low).gate_open_share is None
        assert arrival(f"nitrate < 10 mg/L NO3 and {more}", high).gate_open_share == 0.0


def test_nothing_is_known_of_a_gate_that_the_forecast_cannot_watch() -> None:
    assert arrival("nitrate < 10 mg/L NO3", {}).gate_open_share is None


def test_those_already_there_are_no_additions() -> None:
    assert additions(course(PAIR + FED).prepared, {}) == ()


def outcome(marched: Course, courses: list[CohortCourse] | None = None) -> dict[str, float]:
    (found,) = animal_outcomes(marched.prepared, courses or marched.courses, marched.series)
    return {
        "end": found.count_end_p50,
        "condition": float(found.condition.p50[-1]),
        "ration": found.ration_g_dry_per_d_p50,
        "met": found.energy_met_share_p50,
    }


def test_a_fed_pair_eats_pellets_and_is_well() -> None:
    marched = course(PAIR + FED)
    (pair,) = animal_outcomes(marched.prepared, marched.courses, marched.series)
    assert (pair.count_start, pair.count_end_p50, pair.already_there) == (2, 2.0, True)
    assert marched.prepared.foods[0].food.name in dict(pair.eats)
    assert sum(share for _, share in pair.eats) <= 1.0
    assert [share for _, share in pair.eats] == sorted((share for _, share in pair.eats), reverse=True)
    assert pair.condition.p50[-1] > 0.9
    assert pair.condition.p05.shape == (37,)


def test_its_unfed_twin_is_not() -> None:
    fed, unfed = outcome(course(PAIR + FED)), outcome(course(PAIR))
    assert unfed["ration"] < 0.2 * fed["ration"]
    assert unfed["condition"] < fed["condition"]
    assert unfed["met"] < fed["met"]


def test_the_condition_of_the_dead_stays_what_it_was() -> None:
    marched = course(PAIR + FED)
    alive = marched.courses[0]
    gone = alive.count.copy()
    gone[20:] = 0.0
    lost = np.where(gone == 0.0, 2.0, 0.0)
    condition = np.where(gone > 0, 0.7, 0.0)
    arrays = {"count": gone, "lost": lost, "condition": condition}
    arrays |= {name: getattr(alive, name) for name in ("length_cm", "mass_g", "fullness", "energy_met")}
    died = CohortCourse(arrays, eaten_mmol=alive.eaten_mmol, grazed_mmol=alive.grazed_mmol)
    found = outcome(marched, [died])
    assert found["end"] == 0.0
    assert found["condition"] == pytest.approx(0.7)


def test_corals_live_on_light_and_share_one_surface() -> None:
    marched = course(LEATHER)
    (leather,) = animal_outcomes(marched.prepared, marched.courses, marched.series)
    assert leather.eats == (("light", 1.0),)
    assert leather.length_end_cm_p50 is None
    area = marched.series["coral_area_m2"]
    expected = float(np.median(np.minimum(area[-1] / area[0], 1.5)))
    assert float(leather.condition.p50[-1]) == pytest.approx(expected)


def test_a_meal_is_shown_by_day_as_the_schedule_gives_it() -> None:
    marched = course(PAIR + FED)
    (stream,) = meal_streams(marched.prepared, marched.courses)
    given = np.zeros(37)
    for meal in marched.prepared.keeper.meals.occasions:
        given[meal.day] += meal.food_g
    assert (stream.id, stream.by) == ("meal", "hand")
    assert stream.grams_as_fed_per_day.tolist() == pytest.approx(given.tolist())
    eaten = float(np.median(marched.courses[0].eaten_mmol["Q_1"]))
    offered = given.sum() * marched.prepared.foods[0].carbon_mmol_per_g
    assert stream.eaten_share_p50 == pytest.approx(eaten / offered)
    assert 0.0 < stream.eaten_share_p50 < 1.0


def test_food_that_nobody_likes_is_not_eaten() -> None:
    marched = course(FED)
    (stream,) = meal_streams(marched.prepared, marched.courses)
    assert stream.eaten_share_p50 == 0.0


def test_minutes_add_up_to_the_month() -> None:
    marched = course(PAIR + FED)
    found = minutes_of(marched.prepared, marched.work)
    months = 37 / (365.25 / 12)
    monthly = marched.work.per_day.sum(axis=0) / months
    assert found.per_month_p50 == pytest.approx(float(np.median(monthly)))
    assert found.per_month_p05 <= found.per_month_p50 <= found.per_month_p95
    totals = np.sum([marched.work.by_task[line.task] for line in found.by_chore if not line.look], axis=0)
    assert totals / months == pytest.approx(monthly)
    assert found.looks_per_month_p50 > 0


def test_the_busiest_day_is_the_one_with_the_most_minutes() -> None:
    marched = course(PAIR + FED + '[[upkeep]]\ntask = "wc_do"\nshare = "20 %"\nevery = "30 days"\n')
    found = minutes_of(marched.prepared, marched.work)
    middle = np.median(marched.work.per_day, axis=1)
    assert found.busiest_day_minutes == pytest.approx(float(middle.max()))
    assert found.busiest_day is not None
    assert middle[(found.busiest_day - date(2027, 1, 4)).days] == middle.max()


def test_a_crew_is_weighed_against_what_grows_for_it() -> None:
    marched = course(SNAILS)
    lines = crew_lines(marched.prepared, marched.courses, marched.members, marched.series)
    film = next(line for line in lines if line.pool == "A_F")
    assert film.eaters == (marched.prepared.cohorts[0].species.common_name,)
    assert film.eaten_g_dry_per_d_p50 > 0
    assert film.wanted_g_dry_per_d_p50 > 0
    (cohort,) = marched.courses
    days, per_g = 37, 23.0
    expected = float(np.median(cohort.eaten_mmol["A_F"])) / per_g / days
    assert film.eaten_g_dry_per_d_p50 == pytest.approx(expected)
    assert len(cohort.eaten_mmol["A_F"]) == MEMBERS
