from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from backreef.aquarium.plan import Condition
from backreef.schedule.chores import Chore
from backreef.schedule.effects import (
    OTHER,
    Calibration,
    CoverClean,
    Dose,
    Effect,
    FeederRefill,
    GlassClean,
    HandRemoval,
    Harvest,
    LampClean,
    MediaChange,
    PumpService,
    SensorClean,
    Siphon,
    SkimmerCup,
    SkimmerService,
    SockChange,
    TopOffRefill,
    WaterChange,
)
from backreef.schedule.effects import Test as WaterTest
from backreef.simulation.chore_events import SETTLED, new_water_mmol_per_l
from backreef.simulation.events import EventProgram
from backreef.simulation.system import fresh_machines
from backreef.simulation.tables import system_number
from tests.unit.runs.world import LANES, Tub, assert_conserved, chore_events, prepared

PUMPS = '[[devices]]\nkind = "stream_pump_dc"\n'
REFUGIUM = '[[devices]]\nkind = "refugium"\n'
UPKEEP = '[[upkeep]]\nid = "glass"\ntask = "glass_inner"\nevery = "7 days"\n'
TOP_OFF = '[[devices]]\nid = "{name}"\nkind = "ato"\nreservoir = "{litres} L"\n'
NITRATE = Condition(series="nitrate_mg_n_per_l", comparison=">", value=2.0, text="")
MG_N_PER_MMOL = 14.007
"""Standard atomic mass of nitrogen."""


def chore(effect: Effect, condition: Condition | None = None) -> Chore:
    first = next(one for one in prepared(UPKEEP).keeper.chores if one.entry_id == "glass")
    return replace(first, effect=effect, condition=condition)


def do(effect: Effect, tub: Tub, *, lines: str = "", condition: Condition | None = None) -> None:
    program = EventProgram()
    chore_events(lines).do(program, chore(effect, condition), 0)
    tub.do(program)


def a_tub(lines: str = "", **amounts: Any) -> Tub:
    tub = Tub(prepared(lines))
    for name, amount in amounts.items():
        tub[name] = amount
    return tub


@pytest.mark.parametrize(
    "effect",
    [
        WaterChange(share_frac=0.2),
        Harvest(of="macro_algae", take_frac=0.4),
        Siphon(where="sand", share_frac=0.5),
        SockChange(),
        MediaChange(kind="iron_oxide", medium_g=50.0, share_frac=0.7),
        MediaChange(kind="carbon", medium_g=50.0, share_frac=1.0),
        GlassClean(share_frac=0.9),
        HandRemoval(of="turf_algae", share_frac=0.5),
        HandRemoval(of="coralline", share_frac=0.1),
        Dose(kind="pods", value=3.0, unit="g"),
        Dose(kind="kalk", value=3.0, unit="g"),
        TopOffRefill(water_l=20.0, device=None),
        WaterTest(series=("nitrate_mg_n_per_l", "alkalinity_meq_per_l")),
    ],
)
def test_a_chore_books_all_that_it_moves(effect: Effect) -> None:
    tub = a_tub(REFUGIUM, P_FE=0.3, X_SK=2.0, m_fe=40.0)
    before = tub.totals()
    do(effect, tub, lines=REFUGIUM)
    assert_conserved(before, tub.totals())


def test_a_water_change_goes_a_part_of_the_way_to_new_sea_water() -> None:
    tub = a_tub(S_NO3=40.0, S_ALK=400.0, X_AOB=5.0)
    new = new_water_mmol_per_l()
    do(WaterChange(share_frac=0.25), tub)
    assert tub["S_NO3"] == pytest.approx(0.75 * 40.0 + 0.25 * 200 * new["S_NO3"])
    assert tub["S_ALK"] == pytest.approx(0.75 * 400.0 + 0.25 * 200 * new["S_ALK"])
    assert tub["X_AOB"] == pytest.approx(5.0), "what is attached stays"


def test_a_water_change_mends_half_of_what_salt_is_off_by_half() -> None:
    tub = a_tub(salt=200 * 39.0)
    do(WaterChange(share_frac=0.5), tub)
    salinity = prepared().plan.tank.salinity_psu
    assert tub["salt"] / 200 == pytest.approx(0.5 * 39.0 + 0.5 * salinity)


@pytest.mark.parametrize("of", ["macro_algae", "screen_algae"])
def test_algae_of_refugium_and_screen_are_harvested_alike(of: str) -> None:
    tub = a_tub(REFUGIUM)
    grown = tub["A_R"].copy()
    do(Harvest(of=of, take_frac=0.4), tub, lines=REFUGIUM)
    assert (grown > 0).all()
    assert tub["A_R"] == pytest.approx(0.6 * grown)


def test_digging_sand_lets_out_what_its_pores_hold_and_a_cloud() -> None:
    tub = a_tub(N_PW=2.0, P_PW=0.1, S_NH=0.1, S_PO4=0.05, X_POM=1.0, X_DL=40.0)
    do(Siphon(where="sand", share_frac=0.4), tub)
    taken = 0.4 * system_number("siphon_taken_frac")
    assert tub["N_PW"] == pytest.approx(0.6 * 2.0)
    assert tub["S_NH"] == pytest.approx(0.1 + (0.4 - taken) * 2.0)
    assert tub["S_PO4"] == pytest.approx(0.05 + (0.4 - taken) * 0.1)
    cloud = tub["X_POM"] - 1.0
    assert (cloud > 0.0).all()
    assert tub["X_DL"] + cloud == pytest.approx((1.0 - taken) * 40.0)


def test_a_siphon_in_the_sump_digs_no_sand() -> None:
    tub = a_tub(N_PW=2.0, X_POM=1.0)
    do(Siphon(where="sump", share_frac=0.4), tub)
    assert tub["N_PW"] == pytest.approx(2.0)
    assert tub["X_POM"] == pytest.approx(1.0)


def test_a_siphon_leaves_a_part_of_the_patch_and_all_that_is_alive() -> None:
    tub = a_tub()
    before = {name: tub[name].copy() for name in (*SETTLED, "Z_PC")}
    do(Siphon(where="sump", share_frac=0.4), tub)
    for name in SETTLED:
        left = 1 - 0.4 * system_number("siphon_taken_frac")
        assert tub[name] == pytest.approx(left * before[name])
    assert tub["Z_PC"] == pytest.approx(before["Z_PC"])


def test_wiping_carries_off_a_part_of_the_film_on_the_panes() -> None:
    tub = a_tub(A_F=100.0)
    do(GlassClean(share_frac=0.9), tub)
    off = 0.9 * system_number("film_wiped_glass_frac") * system_number("film_carried_off_frac")
    assert tub["A_F"] == pytest.approx(100.0 * (1 - off))


def test_algae_are_pulled_and_coralline_is_scraped() -> None:
    tub = a_tub(A_T=10.0, A_N=4.0, A_C=8.0)
    do(HandRemoval(of="turf_algae", share_frac=0.5), tub)
    assert [tub[name][0] for name in ("A_T", "A_N", "A_C")] == pytest.approx([5.0, 2.0, 8.0])
    do(HandRemoval(of="coralline", share_frac=0.25), tub)
    assert [tub[name][0] for name in ("A_T", "A_N", "A_C")] == pytest.approx([5.0, 2.0, 6.0])


def test_a_fresh_sock_is_empty() -> None:
    tub = a_tub(X_SK=3.0)
    do(SockChange(), tub)
    assert tub["X_SK"] == pytest.approx(0.0)


def test_new_iron_oxide_takes_the_place_of_its_share_of_the_old() -> None:
    tub = a_tub(m_fe=40.0, P_FE=1.0)
    do(MediaChange(kind="iron_oxide", medium_g=30.0, share_frac=0.75), tub)
    assert tub["m_fe"] == pytest.approx(10.0 + 30.0)
    assert tub["P_FE"] == pytest.approx(0.25)


def test_carbon_counts_in_full_charges_up_to_a_bound() -> None:
    full_g = system_number("carbon_full_g_per_l") * 200
    tub = a_tub()
    do(MediaChange(kind="carbon", medium_g=full_g, share_frac=1.0), tub)
    assert tub["carbon"] == pytest.approx(1.0)
    do(MediaChange(kind="carbon", medium_g=100 * full_g, share_frac=1.0), tub)
    assert tub["carbon"] == pytest.approx(system_number("carbon_most_ratio"))


def test_topping_off_by_hand_fills_the_tank_to_its_mark_and_no_reservoir() -> None:
    lines = TOP_OFF.format(name="ato", litres=20)
    tub = a_tub(lines, V=190.0, reservoir=3.0)
    salt = tub["salt"].copy()
    do(TopOffRefill(water_l=10.0, device=None), tub, lines=lines)
    assert tub["V"] == pytest.approx(200.0)
    assert tub["reservoir"] == pytest.approx(3.0)
    assert tub["salt"] == pytest.approx(salt), "the salt never left"


def test_a_refilled_reservoir_holds_its_water_whatever_was_left() -> None:
    lines = TOP_OFF.format(name="ato", litres=20)
    for left in (0.0, 7.0):
        tub = a_tub(lines, reservoir=left)
        do(TopOffRefill(water_l=20.0, device="ato"), tub, lines=lines)
        assert tub["reservoir"] == pytest.approx(20.0)


def test_filling_one_of_two_reservoirs_leaves_the_other_as_it_was() -> None:
    lines = TOP_OFF.format(name="one", litres=20) + TOP_OFF.format(name="two", litres=30)
    tub = a_tub(lines, reservoir=25.0)
    do(TopOffRefill(water_l=20.0, device="one"), tub, lines=lines)
    assert tub["reservoir"] == pytest.approx(20.0 + 25.0 * 30 / 50)
    full = a_tub(lines, reservoir=50.0)
    do(TopOffRefill(water_l=20.0, device="one"), full, lines=lines)
    assert full["reservoir"] == pytest.approx(50.0), "never more than they hold"


def test_pods_come_by_weight_or_by_the_litre() -> None:
    for unit, name in (("g", "pods_mmol_c_per_g"), ("L", "pods_mmol_c_per_l")):
        tub = a_tub(Z_PC=1.0)
        do(Dose(kind="pods", value=2.0, unit=unit), tub)
        assert tub["Z_PC"] == pytest.approx(1.0 + 2.0 * system_number(name))


def test_a_dose_of_nobody_knows_how_much_is_none() -> None:
    tub = a_tub()
    before = tub.state.copy()
    do(Dose(kind="pods", value=None, unit=""), tub)
    assert np.array_equal(tub.state, before)


def test_a_test_keeps_what_the_water_holds_by_the_litre() -> None:
    tub = a_tub(S_NO3=40.0, S_ALK=500.0, read_S_PO4=-1.0)
    do(WaterTest(series=("nitrate_mg_n_per_l", "alkalinity_meq_per_l", "magnesium_mg_per_l")), tub)
    assert tub["read_S_NO3"] == pytest.approx(40.0 / 200 * 1000)
    assert tub["read_S_ALK"] == pytest.approx(500.0 / 200 * 1000)
    assert tub["read_S_PO4"] == pytest.approx(-1.0), "not tested"


def readings(series: str, low: float, high: float) -> Tub:
    """Half of the lanes read low, half high."""
    tub = a_tub()
    tub[series] = np.array([low] * 4 + [high] * 4)
    return tub


@pytest.mark.parametrize(
    ("condition", "register", "low", "high", "where_high"),
    [
        (NITRATE, "read_S_NO3", 1.9 / MG_N_PER_MMOL * 1e3, 2.1 / MG_N_PER_MMOL * 1e3, True),
        (replace(NITRATE, comparison="<"), "read_S_NO3", 1.9 / 14.007 * 1e3, 2.1 / 14.007 * 1e3, False),
        (
            Condition(series="alkalinity_meq_per_l", comparison="<", value=2.5, text=""),
            "read_S_ALK",
            2400.0,
            2600.0,
            False,
        ),
        (
            Condition(series="calcium_mg_per_l", comparison=">=", value=420.0, text=""),
            "read_S_Ca",
            400 / 40.078 * 1e3,
            440 / 40.078 * 1e3,
            True,
        ),
    ],
)
def test_a_conditional_chore_is_done_only_where_the_last_test_says_so(
    condition: Condition, register: str, low: float, high: float, *, where_high: bool
) -> None:
    tub = readings(register, low, high)
    tub["X_SK"] = 3.0
    do(SockChange(), tub, condition=condition)
    done = np.array([not where_high] * 4 + [where_high] * 4)
    assert tub["X_SK"].tolist() == pytest.approx(np.where(done, 0.0, 3.0).tolist())
    assert tub.noted[0].tolist() == done.astype(float).tolist()


def test_what_comes_after_a_conditional_chore_is_done_everywhere() -> None:
    tub = readings("read_S_NO3", 0.0, 1e6)
    program, events = EventProgram(), chore_events()
    events.do(program, chore(SockChange(), NITRATE), 0)
    events.do(program, chore(HandRemoval(of="coralline", share_frac=1.0)), None)
    tub.do(program)
    assert tub["A_C"].tolist() == pytest.approx([0.0] * LANES)


def test_a_condition_that_nothing_reads_is_taken_as_true() -> None:
    tub = a_tub(X_SK=3.0)
    magnesium = Condition(series="magnesium_mg_per_l", comparison="<", value=1.0, text="")
    do(SockChange(), tub, condition=magnesium)
    assert tub["X_SK"] == pytest.approx(0.0)
    assert tub.noted[0].all()


@pytest.mark.parametrize(
    ("effect", "register", "others"),
    [
        (CoverClean(), "cover_clean", ("skimmer_clean", "neck_clean", "lamp_clean")),
        (LampClean(), "lamp_clean", ("skimmer_clean", "neck_clean", "pump_clean", "cover_clean")),
        (SkimmerCup(), "neck_clean", ("skimmer_clean", "pump_clean", "lamp_clean")),
        (SkimmerService(), "skimmer_clean", ("neck_clean", "pump_clean", "lamp_clean")),
        (PumpService(), "pump_clean", ("skimmer_clean", "neck_clean", "lamp_clean")),
    ],
)
def test_a_service_makes_its_own_machine_as_good_as_new(
    effect: Effect, register: str, others: tuple[str, ...]
) -> None:
    tub = a_tub(PUMPS)
    for name in (register, *others):
        tub[name] = 0.6
    do(effect, tub, lines=PUMPS)
    assert tub[register].tolist() == [fresh_machines(prepared(PUMPS).plan)[register]] * LANES
    assert tub[register][0] >= 1.0
    assert all(tub[other].tolist() == [0.6] * LANES for other in others)


def test_a_wiped_sensor_begins_anew_and_a_look_frees_only_one_that_sticks() -> None:
    lines = TOP_OFF.format(name="box", litres=20)
    fouled = np.linspace(0.5, 1.5, LANES)
    wiped = a_tub(lines, float_fouled=fouled)
    do(SensorClean(), wiped, lines=lines)
    assert wiped["float_fouled"].tolist() == [0.0] * LANES
    seen, program = a_tub(lines, float_fouled=fouled), EventProgram()
    chore_events(lines).look(program)
    seen.do(program)
    assert seen["float_fouled"].tolist() == np.where(fouled > 1.0, 0.0, fouled).tolist()


@pytest.mark.parametrize(
    ("of", "left"), [("salinity", (0.0, 0.3)), ("temperature", (0.8, 0.0)), ("probes", (0.0, 0.0))]
)
def test_a_calibration_sets_its_instruments_right(of: str, left: tuple[float, float]) -> None:
    tub = a_tub(salinity_off=0.8, thermostat_off=0.3)
    do(Calibration(of=of, series=()), tub)
    assert (tub["salinity_off"][0], tub["thermostat_off"][0]) == left


def test_new_sea_water_is_mixed_to_what_the_instrument_shows() -> None:
    salinity = prepared().plan.tank.salinity_psu
    tub = a_tub(salt=200 * salinity, salinity_off=2.0)
    do(WaterChange(share_frac=0.5), tub)
    assert tub["salt"] / 200 == pytest.approx(salinity + 1.0)


@pytest.mark.parametrize("effect", [OTHER, FeederRefill(device=None)])
def test_what_the_water_does_not_notice_matters_only_for_its_condition(effect: Effect) -> None:
    events = chore_events()
    assert not events.touches_water(chore(effect))
    assert events.touches_water(chore(effect, NITRATE))
    tub = a_tub()
    before = tub.state.copy()
    do(effect, tub, condition=NITRATE)
    assert np.array_equal(tub.state, before)
    assert events.touches_water(chore(SockChange()))
