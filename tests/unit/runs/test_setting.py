import numpy as np
import pytest

from backreef.models.tables import load_tables
from backreef.simulation.draws import Draws
from backreef.simulation.layout import LANES, packaged_layout
from backreef.simulation.setting import Setting
from backreef.simulation.tables import start_table
from tests.unit.runs.world import MEAL, PAIR, SNAILS, Tub, prepared

REFUGIUM = '[[devices]]\nkind = "refugium"\narea = "0.1 m2"\n'
LATER = '[[animals]]\nid = "later"\nspecies = "trochus"\ncount = 3\narrives_on = 2027-01-14\n'
LEATHER = '[[animals]]\nid = "leather"\nspecies = "leathers"\n'


def setting(lines: str, members: int = 16, *, nominal: bool = False) -> Setting:
    return Setting(prepared(lines), Draws(3, members, nominal=nominal))


def test_a_block_is_a_slice_of_the_members() -> None:
    whole = setting(PAIR + MEAL)
    first, second = whole.block(0), whole.block(1)
    assert np.array_equal(np.concatenate([first.state, second.state], axis=1), whole.state)
    assert np.array_equal(np.concatenate([first.drawn, second.drawn], axis=1), whole.drawn)
    assert first.thresholds.shape == (1, 2, LANES)
    assert first.traits.shape[0] == first.nature.shape[0] == 1


def test_a_tank_without_animals_has_no_slots() -> None:
    block = setting("").block(0)
    assert block.traits.shape[0] == block.nature.shape[0] == block.thresholds.shape[0] == 0


def test_what_is_in_the_water_goes_by_the_litre_and_what_is_attached_by_the_rock() -> None:
    tub, layout = Tub(prepared("")), packaged_layout()
    rock = tub.setting.parameters[layout.parameter("A_rock")]
    rows = {row["component"]: row for row in start_table()}
    for name, per in (("S_DOR", 200.0), ("X_AOB", rock), ("A_F", rock)):
        assert tub[name] == pytest.approx(float(rows[name]["live_rock"]) * per)


def test_algae_of_a_refugium_are_there_where_one_is() -> None:
    assert not Tub(prepared(""))["A_R"].any()
    row = next(row for row in start_table() if row["component"] == "A_R")
    assert Tub(prepared(REFUGIUM))["A_R"] == pytest.approx(0.1 * float(row["live_rock"]))


def test_residents_are_there_and_newcomers_are_not() -> None:
    tub = Tub(prepared(PAIR + LATER))
    slots = [cohort.entry.id for cohort in tub.ready.cohorts]
    pair, later = slots.index("pair"), slots.index("later")
    assert tub.slot(pair, "arrived") == pytest.approx(2.0)
    assert tub.slot(pair, "structure") == pytest.approx(2 * tub.setting.bodies[pair].structure_mmol)
    assert not tub.slot(later, "structure").any()
    assert not tub.slot(later, "arrived").any()


def test_only_aged_rock_holds_phosphate() -> None:
    assert (Tub(prepared("", kind="live_rock"))["P_RK"] > 0).all()
    for kind in ("dry_rock", "seeded"):
        assert not Tub(prepared("", kind=kind))["P_RK"].any()


def test_what_rock_holds_is_in_balance_with_the_first_reading() -> None:
    tub, parameters = Tub(prepared("")), load_tables().parameters
    given = tub.ready.plan.tank.start.readings["phosphate_mg_p_per_l"]
    umol_per_l = given / 30.974 * 1000
    half = parameters["K_rk"].value
    mass = tub.setting.parameters[packaged_layout().parameter("m_carb")]
    expected = parameters["q_rk"].value * mass * umol_per_l / (half + umol_per_l)
    assert tub["P_RK"] == pytest.approx(expected, rel=1e-4)


def test_corals_have_the_tissue_of_their_surface() -> None:
    tub = Tub(prepared(LEATHER))
    tissue = tub.setting.parameters[packaged_layout().parameter("T_coral")]
    assert (tub["C_T"] / tissue > 0).all()
    assert not Tub(prepared(""))["C_T"].any()


def test_deaths_come_one_after_another() -> None:
    thresholds = setting(SNAILS).thresholds
    assert thresholds.shape == (1, 4, 16)
    assert (np.diff(thresholds, axis=1) > 0).all()
    assert np.isfinite(thresholds).all()


def test_every_animal_of_a_crowd_can_die() -> None:
    crowd = setting(SNAILS.replace("count = 4", "count = 500")).thresholds
    assert crowd.shape == (1, 500, 16)
    assert np.isfinite(crowd).all()


def test_nobody_has_more_deaths_than_animals() -> None:
    both = setting(PAIR + SNAILS)
    pair = [cohort.entry.id for cohort in prepared(PAIR + SNAILS).cohorts].index("pair")
    assert np.isfinite(both.thresholds[pair, :2]).all()
    assert np.isinf(both.thresholds[pair, 2:]).all()


def test_an_unused_food_slot_is_empty_but_can_be_divided_by() -> None:
    found, layout = setting(PAIR + MEAL), packaged_layout()

    def of_food(name: str) -> float:
        return float(found.parameters[layout.parameter(name), 0])

    assert of_food("food1_protein") == pytest.approx(prepared(PAIR + MEAL).foods[0].shares["protein"])
    assert of_food("food2_protein") == 0.0
    assert of_food("food2_carbohydrate") == of_food("food2_particle_mm") == 1.0


def test_every_marched_row_has_a_yardstick() -> None:
    scale = setting(PAIR + MEAL).scale
    assert (scale > 0).all()
    assert (scale[: packaged_layout().active] < 1e10).all()
