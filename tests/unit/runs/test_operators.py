import numpy as np
import pytest

from backreef.aquarium.series import door_factor, series_of
from backreef.simulation.events import Drawn, EventProgram
from backreef.simulation.layout import LEDGER_ELEMENTS, OPERATORS
from backreef.simulation.prepared import prepare
from backreef.simulation.system import brim_l, surface_m2
from backreef.simulation.tables import system_number
from tests.unit.aquarium.plans import catalogue, plan_of
from tests.unit.runs.world import (
    MEAL,
    PAIR,
    SNAILS,
    Tub,
    assert_conserved,
    operators,
    prepared,
)

NEWCOMERS = '[[animals]]\nid = "newcomers"\nspecies = "trochus"\ncount = 3\narrives_on = 2027-01-14\n'
LEATHER = '[[animals]]\nid = "leather"\nspecies = "leathers"\ncount = 2\narrives_on = 2027-01-14\n'
DOSER = '[[devices]]\nkind = "doser"\n'
AWC = '[[devices]]\nkind = "awc"\nshare_per_day = "1 %/day"\n'


def begun(lines: str, *, kind: str = "live_rock", **amounts: float) -> Tub:
    """The tub at the beginning of the first day, after whatever a spin-up has left in it."""
    tub = Tub(prepared(lines, kind=kind))
    for name, amount in amounts.items():
        tub[name] = amount
    program = EventProgram()
    operators(tub.ready).begin(program)
    tub.do(program)
    return tub


def test_the_books_begin_at_nought() -> None:
    tub = begun(PAIR, B_N2=7.0, feed_N=-3.0, evaporated_l=50.0, V=180.0)
    ledgers = [f"{door}_{letter}" for door in OPERATORS for letter in LEDGER_ELEMENTS]
    assert not any(tub[name].any() for name in (*ledgers, "B_N2", "evaporated_l"))
    assert tub["V"] == pytest.approx(200.0)
    assert tub["salt"] == pytest.approx(200.0 * prepared(PAIR).plan.tank.salinity_psu)


READ = """\
start_on = 2027-01-04
[tank]
display = "200 L"
water_volume = "200 L"
start = { kind = "live_rock", nitrate = "10 mg/L NO3", alkalinity = "9 dKH" }
"""


def test_the_first_day_has_the_readings_of_the_plan() -> None:
    """A mole of nitrate weighs 62.004 g, the sum of the standard masses of N and three O."""
    tub, program = Tub(prepare(plan_of(READ), catalogue())), EventProgram()
    operators(tub.ready).begin(program)
    tub.do(program)
    assert tub["S_NO3"] == pytest.approx(200 * 10 / 62.004, rel=1e-4)
    assert tub["S_ALK"] == pytest.approx(200 * 9 / door_factor(series_of("alkalinity")))
    carbon = system_number("carbon_per_alkalinity_ratio")
    assert tub["S_DIC"] == pytest.approx(carbon * tub["S_ALK"])
    assert tub["read_S_NO3"] == pytest.approx(tub["S_NO3"] / 200 * 1000), "and they are read exactly"


def test_an_overgrown_spin_up_begins_tidy_and_a_tidy_one_stays() -> None:
    hairy = begun("", kind="established", A_T=1e4)
    assert hairy["A_T"].max() < 1e3
    bare = begun("", kind="established", A_T=0.5)
    assert bare["A_T"] == pytest.approx(0.5)
    young = begun("", kind="live_rock", A_T=1e4)
    assert young["A_T"] == pytest.approx(1e4), "only an established tank is tidied"


def test_residents_begin_as_the_plan_has_them_whatever_the_spin_up_made_of_them() -> None:
    tub, drawn = Tub(prepared(PAIR)), Drawn()
    tub.slot(0, "structure")[:] = 999.0
    tub.slot(0, "lost")[:] = 1.0
    program = EventProgram()
    operators(tub.ready, drawn).settle_anew(program, 0, tub.ready.cohorts[0])
    tub.drawn[0], tub.drawn[1] = 30.0, 10.0
    tub.do(program)
    assert drawn.rows == [("body", "pair", "structure"), ("body", "pair", "reserve")]
    assert tub.slot(0, "structure") == pytest.approx(60.0)
    assert tub.slot(0, "reserve") == pytest.approx(20.0)
    assert tub.slot(0, "arrived") == pytest.approx(2.0)
    assert tub.slot(0, "lost") == pytest.approx(0.0)


def test_newcomers_bring_their_bodies_through_the_door_of_animals() -> None:
    tub = Tub(prepared(NEWCOMERS))
    before = tub.totals()
    program = EventProgram()
    operators(tub.ready).arrive(program, 0, tub.ready.cohorts[0])
    tub.drawn[0], tub.drawn[1] = 30.0, 10.0
    tub.do(program)
    assert tub.slot(0, "arrived") == pytest.approx(3.0)
    assert tub.slot(0, "structure") == pytest.approx(90.0)
    assert tub["animals_C"] == pytest.approx(-120.0)
    assert_conserved(before, tub.totals())


def test_corals_come_on_their_day_with_their_reserve() -> None:
    tub = Tub(prepared(LEATHER))
    before, writer = tub.totals(), operators(tub.ready)
    for day in (0, 9, 10, 11):
        program = EventProgram()
        writer.surfaces_arrive(program, day)
        tub.do(program)
        assert (tub["C_T"][0] > 0) == (day >= 10)
    tissue = writer.matrix.tables.parameters["T_coral"].value
    assert tub["C_T"] == pytest.approx(2 * surface_m2("leathers", catalogue()) * tissue)
    assert tub["C_R"] == pytest.approx(system_number("coral_reserve_ratio") * tub["C_T"])
    assert_conserved(before, tub.totals())


def daily(lines: str, **amounts: float) -> tuple[Tub, np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
    tub = Tub(prepared(lines))
    for name, amount in amounts.items():
        tub[name] = amount
    before = tub.totals()
    program = EventProgram()
    operators(tub.ready).daily(program)
    tub.do(program)
    return tub, before


def test_a_doser_gives_a_part_of_what_is_missing() -> None:
    goal, share = system_number("new_alkalinity_meq_per_l") * 200, system_number("dose_of_missing_frac")
    tub, before = daily(DOSER, S_ALK=goal - 100.0, S_Ca=2000.0, S_DIC=400.0)
    assert tub["S_ALK"] == pytest.approx(goal - (1 - share) * 100.0)
    assert tub["S_Ca"] == pytest.approx(2000.0 + share * 50.0), "one calcium to two charges"
    assert tub["S_DIC"] == pytest.approx(400.0 + share * 100.0)
    assert_conserved(before, tub.totals())


def test_a_doser_gives_nothing_above_its_goal() -> None:
    goal = system_number("new_alkalinity_meq_per_l") * 200
    tub, _ = daily(DOSER, S_ALK=goal + 1.0)
    assert tub["S_ALK"] == pytest.approx(goal + 1.0)
    assert tub["dose_C"] == pytest.approx(0.0)


def test_a_doser_gives_what_the_plan_states() -> None:
    lines = DOSER + 'alkalinity_per_day = "0.1 meq/L/day"\n'
    tub, before = daily(lines, S_ALK=900.0, S_Ca=2000.0)
    assert tub["S_ALK"] == pytest.approx(900.0 + 20.0), "even above the goal it cannot see"
    assert tub["S_Ca"] == pytest.approx(2000.0 + 10.0)
    assert_conserved(before, tub.totals())


def test_an_automatic_change_swaps_its_share_every_day() -> None:
    tub, before = daily(AWC, S_DOR=50.0)
    assert tub["S_DOR"] == pytest.approx(0.99 * 50.0)
    assert_conserved(before, tub.totals())


def test_a_tank_without_devices_does_nothing_by_itself() -> None:
    tub, _ = daily(PAIR)
    fresh = Tub(prepared(PAIR))
    assert np.array_equal(tub.state, fresh.state)


def test_a_meal_goes_into_its_slot_times_the_portion() -> None:
    ready = prepared(PAIR + SNAILS + MEAL)
    tub, drawn, program = Tub(ready), Drawn(), EventProgram()
    before = tub.totals()
    meal = ready.keeper.meals.occasions[0]
    operators(ready, drawn).feed(program, meal)
    tub.drawn[0] = np.linspace(0.0, 2.0, 8)
    tub.do(program)
    expected = meal.food_g * ready.foods[0].carbon_mmol_per_g * np.linspace(0.0, 2.0, 8)
    assert tub["Q_1"].tolist() == pytest.approx(expected.tolist())
    assert tub["feed_C"].tolist() == pytest.approx((-expected).tolist())
    assert drawn.rows == [("portion", "meal", "hand", "0", f"{meal.hour:.4f}")]
    assert_conserved(before, tub.totals())


def test_dosed_carbon_comes_once_a_day_by_its_mass() -> None:
    tub = begun('[[devices]]\nkind = "carbon_dosing"\ncarbon_per_day = "0.6 g"\n')
    before, carbon, program = tub.totals(), tub["S_CS"].copy(), EventProgram()
    operators(tub.ready).daily(program)
    tub.do(program)
    assert tub["S_CS"] - carbon == pytest.approx(600.0 / 12.011)
    assert_conserved(before, tub.totals())


def test_water_that_spent_resin_let_through_comes_into_the_tank_once() -> None:
    tub = begun('[[devices]]\nkind = "rodi"\n', raw_l=3.0)
    before, silicate, program = tub.totals(), tub["S_Si"].copy(), EventProgram()
    operators(tub.ready).daily(program)
    tub.do(program)
    assert tub["S_Si"] - silicate == pytest.approx(3.0 * system_number("raw_silicate_mmol_per_l"))
    assert not tub["raw_l"].any()
    assert_conserved(before, tub.totals())


def test_a_mishap_can_keep_dosers_from_dosing() -> None:
    program = EventProgram()
    operators(prepared(DOSER)).daily(program, doses=False)
    quiet = EventProgram()
    operators(prepared("")).daily(quiet)
    assert program.operations == quiet.operations


def test_one_pump_of_a_water_change_takes_or_brings_and_the_books_close() -> None:
    """By hand: 1 % of 200 L out, or two litres of new sea water in."""
    for drains, litres in ((True, -2.0), (False, 2.0)):
        tub = begun(AWC)
        before, salt, program = tub.totals(), tub["salt"].copy(), EventProgram()
        operators(tub.ready).daily(program, drains=drains, refills=not drains)
        tub.do(program)
        assert tub["V"] == pytest.approx(200.0 + litres)
        assert tub["salt"] - salt == pytest.approx(35.0 * litres)
        assert_conserved(before, tub.totals())


def test_a_standing_water_change_does_nothing() -> None:
    standing, quiet = EventProgram(), EventProgram()
    operators(prepared(AWC)).daily(standing, drains=False, refills=False)
    operators(prepared("")).daily(quiet)
    assert standing.operations == quiet.operations


def test_two_automatic_water_changes_swap_twice_as_much() -> None:
    once, twice = (begun(AWC + more) for more in ("", "count = 2\n"))
    for tub in (once, twice):
        program = EventProgram()
        operators(tub.ready).daily(program, refills=False)
        tub.do(program)
    assert 200.0 - twice["V"] == pytest.approx(2 * (200.0 - once["V"]))


def test_water_above_the_brim_runs_out_with_what_is_in_it() -> None:
    tub = begun("")
    most_l = brim_l(tub.ready.plan)
    tub["V"] = np.linspace(most_l - 5.0, most_l * 1.4, 8)
    before, level, nitrate, salinity = (
        tub.totals(),
        tub["V"].copy(),
        tub["S_NO3"] / tub["V"],
        tub["salt"] / tub["V"],
    )
    program = EventProgram()
    operators(tub.ready).chores.spill(program)
    tub.do(program)
    assert (tub["V"] <= most_l * 1.0002).all()
    assert tub["V"][0] == level[0], "what stands below it stays"
    assert tub["spilled_l"] + tub["V"] == pytest.approx(level)
    assert tub["S_NO3"] / tub["V"] == pytest.approx(nitrate)
    assert tub["salt"] / tub["V"] == pytest.approx(salinity)
    assert_conserved(before, tub.totals())
