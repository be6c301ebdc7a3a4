"""The model against published series and rates: corals by day and night, rubble, closed chambers, grazing.

The series stand in `series/` with their sources in their first lines.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from backreef.simulation.bodies import body_of
from tests.tank_acts import bring, take, together
from tests.tanks import Array, Course, Life, Tank, an_animal, run

SERIES = Path(__file__).with_name("series")
SEALED = {"k_s": 0.0, "k_s_off": 0.0, "k_x": 0.0, "k_sk_air": 0.0}
ROCK_M2 = 3.0
QUIET = {"seeds": 0.0, "evaporation_l_per_d": 0.0}


def series(name: str) -> list[dict[str, str]]:
    """The rows of a published series."""
    with (SERIES / f"{name}.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


# -- corals by day and night (P2) ----------------------------------------------------------------------------
CORAL_M2 = 0.3
BRIGHT_REEF, WINTER_DAY = 150.0, 120.0
"""Light to which corals of bright reefs are used, and that of a December day, which the series does not tell;
common practice, no source. Our own default is for corals settled in the light of a display tank."""


def coral_hours(light: float, hours: float = 3.0) -> Course:
    """Nothing but corals of bright reefs in much sealed water (TA 2400, DIC 2050 umol/kg), lit or dark."""
    litres = 2000.0
    water = {"S_O2": 0.2068, "S_DIC": 2.098, "S_ALK": 2.456, "S_Ca": 10.3, "S_NH": 0.001, "S_NO3": 0.005}
    start = {name: amount * litres for name, amount in {**water, "S_PO4": 0.0005}.items()}
    return run(
        Tank(
            empty=True,
            start={**start, "C_T": 400.0 * CORAL_M2, "C_S": CORAL_M2, "C_R": 30.0 * CORAL_M2},
            system={**QUIET, "par_coral": light},
            parameters={**SEALED, "v_crypt": 0.0, "Ik_co": BRIGHT_REEF},
            registers={"V": litres, "salt": 35.0 * litres, "T": 25.5},
        ),
        Life(days=1, hours=hours, light=(-1.0, -0.5, 24.0, 25.0), refugium=None),
    )


def per_m2_and_h(course: Course, name: str, hours: float = 3.0) -> float:
    """How fast something changes."""
    row = course.row(name)[:, 0]
    return float(row[-1] - row[0]) / CORAL_M2 / hours


def test_corals_breathe_and_fix_carbon_as_fast_as_was_measured() -> None:
    # P2: Silbiger et al. 2018: gross production 4.9, respiration 2.0 mmol m-2 h-1 at 25.5 degC, factor 1.5
    breathed = -per_m2_and_h(coral_hours(0.0), "S_O2")
    fixed = per_m2_and_h(coral_hours(WINTER_DAY), "S_O2") + breathed
    assert 2.0 / 1.5 <= breathed <= 2.0 * 1.5
    assert 4.9 / 1.5 <= fixed <= 4.9 * 1.5


def test_corals_build_skeleton_as_fast_as_was_measured() -> None:
    # P2: Silbiger et al. 2018: calcification 2.1 by day, 1.3 by night, mmol m-2 h-1, factor 1.5
    for light, published in ((WINTER_DAY, 2.1), (0.0, 1.3)):
        built = per_m2_and_h(coral_hours(light), "B_CaCO3")
        assert published / 1.5 <= built <= published * 1.5


# -- rubble (P3) ---------------------------------------------------------------------------------------------
def test_reef_rubble_breathes_as_fast_as_was_measured() -> None:
    # P3: Silbiger et al. 2018: 0.5 mmol m-2 h-1 in the dark, factor 2
    with (files("backreef.simulation") / "data" / "start_states.csv").open(encoding="utf-8") as file:
        ripe = {
            row["component"]: float(row["established"]) for row in csv.DictReader(file) if row["per"] == "m2"
        }
    tank = Tank(
        start={
            **{name: amount * ROCK_M2 for name, amount in ripe.items()},
            "C_T": 0.0,
            "C_R": 0.0,
            "A_R": 0.0,
        },
        system={**QUIET, "A_sand": 1e-6, "A_glass": 1e-6},
        parameters=SEALED,
    )
    course = run(tank, Life(days=1, hours=6.0, light=(), refugium=None))
    oxygen = course.row("S_O2")[:, 0]
    breathed = float(oxygen[0] - oxygen[-1]) / ROCK_M2 / 6.0
    assert 0.5 / 2.0 <= breathed <= 0.5 * 2.0


# -- closed chambers (P5) ------------------------------------------------------------------------------------
def straightness(hours: Array, oxygen: Array) -> float:
    """Slope of the second half over that of the first."""
    half = len(hours) // 2
    first, second = (np.polyfit(hours[part], oxygen[part], 1)[0] for part in (slice(half), slice(half, None)))
    return float(second / first)


def in_chamber(litres: float, oxygen_umol_per_l: float, rate_mmol_per_d: float, hours: float) -> Course:
    """One animal in a sealed chamber of water that has fasted for long: it carries what it gives off."""
    matrix = Tank().matrix
    carried = rate_mmol_per_d / matrix.tables.parameters["k_blood"].value
    plain = an_animal(1.0, likes={"Q_1": 1.0}, burn_mmol_per_d=rate_mmol_per_d, body_mmol=5000.0)
    return run(
        Tank(
            empty=True,
            start={
                "S_O2": oxygen_umol_per_l * litres * 1e-3,
                "S_DIC": 2.2 * litres,
                "S_ALK": 2.5 * litres,
                "S_Ca": 10.3 * litres,
                "N_BL": carried * body_of(matrix).nitrogen,
                "P_BL": carried * body_of(matrix).phosphorus,
            },
            system={**QUIET, "room_temperature": 28.0, "set_temperature": 28.0, "pump_heat_w": 0.0},
            parameters={**SEALED, "seed_B": 0.0},
            registers={"V": litres, "salt": 35.0 * litres, "T": 28.0},
            animals=[plain],
        ),
        Life(
            days=1,
            hours=hours,
            midnights=False,
            light=(),
            refugium=None,
            written=tuple(np.linspace(0.0, hours, 12)[1:-1].tolist()),
        ),
    )


def test_oxygen_falls_in_a_straight_line_in_a_closed_chamber() -> None:
    # P5: a sardine in 12.3 L (Harianto et al. 2019): slope times volume is its rate, within 5 percent
    rows = series("o2_decline_sardine")
    hours = np.array([float(row["time_s"]) for row in rows]) / 3600.0
    oxygen = np.array([float(row["O2_percent_air_sat"]) for row in rows]) / 100.0 * 253.0
    slope = float(np.polyfit(hours, oxygen, 1)[0])
    rate_mmol_per_d = -slope * 24.0 * 12.3e-3
    course = in_chamber(12.3, oxygen[0], rate_mmol_per_d, float(hours[-1]))
    model = course.umol_per_l("S_O2")[:, 0]
    moments = np.linspace(0.0, hours[-1], len(model))
    assert straightness(hours, oxygen) == pytest.approx(1.0, abs=0.25)
    assert straightness(moments, model) == pytest.approx(1.0, abs=0.05)
    used = float(oxygen[0] - model[-1]) * 12.3e-3
    burnt = (
        float(-np.diff(course.animal(0, "reserve")[[0, -1], 0])[0])
        * body_of(course.tank.matrix).oxygen_demand
    )
    assert used == pytest.approx(burnt, rel=0.05)


MEDUSA_HOURS, MEDUSA_L = 8.0, 4.0


def medusae() -> dict[str, tuple[float, float]]:
    """Rise of ammonium and of phosphate by animal [umol/L/h] (Hubot et al. 2021)."""
    rows = [row for row in series("excretion_medusae_aurita_hysoscella") if row["Replicate"].startswith("1T")]
    found = {}
    for name in {row["ID"] for row in rows}:
        own = [row for row in rows if row["ID"] == name]
        hours = [float(row["time_min"]) / 60.0 for row in own]
        found[name] = tuple(
            float(np.polyfit(hours, [float(row[what]) for row in own], 1)[0]) for what in ("NH4_uM", "PO4_uM")
        )
    assert len(found) == 10
    return found  # type: ignore[return-value]


def fasting_medusa() -> Course:
    """An animal that burns what the middle one of the series gives off as nitrogen."""
    nitrogen = float(np.median([rise for rise, _ in medusae().values()])) * MEDUSA_L * 24.0 * 1e-3
    burnt = nitrogen / body_of(Tank().matrix).nitrogen
    return in_chamber(MEDUSA_L, 220.0, burnt, MEDUSA_HOURS)


def test_a_fasting_animal_gives_off_ammonium_in_a_straight_line() -> None:
    # P12, "about linearly": the second half of the published rises is 0.53 to 0.95 of the first
    ammonium = fasting_medusa().umol_per_l("S_NH")[:, 0]
    hours = np.linspace(0.0, MEDUSA_HOURS, len(ammonium))
    assert straightness(hours, ammonium) == pytest.approx(1.0, abs=0.1)
    found = float(np.polyfit(hours, ammonium, 1)[0])
    assert found == pytest.approx(float(np.median([rise for rise, _ in medusae().values()])), rel=0.1)


@pytest.mark.xfail(
    strict=True,
    reason="all bodies are of one flesh, that of fish, with 30 N to 1 P; medusae give off 4.6 to 14.5",
)
def test_a_medusa_gives_off_as_much_phosphate_for_its_nitrogen() -> None:
    course = fasting_medusa()
    nitrogen, phosphorus = (course.umol_per_l(name)[[0, -1], 0] for name in ("S_NH", "S_PO4"))
    ratio = float(np.diff(nitrogen)[0] / np.diff(phosphorus)[0])
    published = [rise / other for rise, other in medusae().values()]
    assert min(published) / 1.5 <= ratio <= max(published) * 1.5


# -- grazing in the sea (P6, P7) -----------------------------------------------------------------------------


def leafy(start_share: float, grazers: float, *, days: int, pulled: float = 0.0) -> Array:
    """Leafy algae over what the rock can hold, day by day, with grazers of so many mmol C a day."""
    full = 800.0 * 0.2 * ROCK_M2
    plain = an_animal(1.0, likes={"A_N": 1.0}, day=1.0, night=1.0)
    traits = {**plain.traits, "speed": grazers, "capacity": 1e9, "goal": 1e9, "burn": 1e3}
    animal = plain.__class__(
        traits=traits,
        nature={**plain.nature, "burn_coefficient": 1e3},
        structure_mmol=100.0,
        reserve_mmol=0.0,
    )
    tank = Tank(
        start={"A_N": start_share * full, "S_NO3": 4.0, "S_PO4": 0.4},
        system={"par_display": 120.0},
        parameters={"K_O_animal": 1e-9},
        animals=[animal],
    )
    tank.start = {**tank.start, "S_O2": 41.2}
    once = {(0, 12.0): take("A_N", pulled, tank=tank)} if pulled else {}
    fed = together(bring("S_NO3", 6.0, tank=tank), bring("S_PO4", 0.3, tank=tank))
    return run(tank, Life(days=days, midnights=False, daily={13.0: fed}, once=once)).row("A_N")[:, 0] / full


def test_pulling_and_urchins_keep_leafy_algae_down_where_an_untouched_reef_stays_overgrown() -> None:
    # P6: Neilson et al. 2018: cover 0.26 to 0.06 in 27 months with, 0.20 to 0.12 without; direction, factor 2
    rows = series("urchin_biocontrol_macroalgae")
    cover: dict[str, list[float]] = defaultdict(list)
    for row in rows:
        cover[row["Treatment"]].append(float(row["invasive_macroalgae_cover"]))
    seen = {name: values[-1] / values[0] for name, values in cover.items()}
    treated = leafy(0.26, 20.0, days=400, pulled=0.5)
    left = leafy(0.20, 1e-6, days=400)
    assert seen["Treatment"] < 0.5 * seen["Control"]
    assert treated[-1] / treated[0] <= 2.0 * seen["Treatment"]
    assert left[-1] / left[0] > 0.5 * seen["Control"]


def test_more_fish_mean_less_algae_with_a_jump_and_not_along_a_line() -> None:
    # P7: Burgess et al. 2025: 29, 27, 7 and 4 percent from least to most access of fish
    cover: dict[str, list[float]] = defaultdict(list)
    for row in series("exclosure_macroalgae_ambient"):
        cover[row["Herbivory_trt"]].append(float(row["mean_cover_percent"]))
    access = ("1X1", "2X2", "3X3", "Open")
    seen = [float(np.mean(cover[name])) for name in access]
    model = [float(leafy(0.3, grazers, days=400)[-1]) for grazers in (1.0, 3.0, 6.0, 12.0)]
    for found in (seen, model):
        assert found == sorted(found, reverse=True)
        steps = [before / after for before, after in pairwise(found)]
        assert int(np.argmax(steps)) == 1
        assert steps[1] > 2.0


# -- scrubbers (P13) -----------------------------------------------------------------------------------------
def test_a_screen_in_the_sun_yields_as_much_as_was_measured() -> None:
    # P13: 15 g dry m-2 d-1 from a flat screen in sun (Adey & Loveland; from memory), factor 1.5
    tank = Tank(
        start={"A_R": 4700.0, "S_NO3": 40.0, "S_PO4": 4.0},
        system={"A_ref": 1.0, "par_refugium": 1000.0},
    )
    fed = together(
        *(bring(name, much, tank=tank) for name, much in (("S_NO3", 25.0), ("S_PO4", 1.0), ("S_DIC", 300.0))),
        bring("S_ALK", 25.0, tank=tank),
    )
    life = Life(
        days=28,
        refugium=(7.0, 19.0),
        daily={12.0: fed},
        once={(day, 11.0): take("A_R", 0.25, tank=tank) for day in range(3, 28, 4)},
    )
    carbon = run(tank, life).row("harvest_C")[:, 0]
    grams = float(carbon[-1] - carbon[7]) / 21.0 / 23.0
    assert 15.0 / 1.5 <= grams <= 15.0 * 1.5


# -- gas exchange (A5) ---------------------------------------------------------------------------------------
def test_half_of_the_missing_oxygen_is_back_after_the_time_worked_out_by_hand() -> None:
    # A5: k_s 0.06 m/h over 0.5 m2 and 200 L, and 0.4 per h: 0.55 per h, half-time 1.26 h, within 1 percent
    tank = Tank(
        empty=True,
        start={"S_DIC": 440.0, "S_ALK": 520.0, "S_Ca": 2080.0},
        system=QUIET,
        parameters={"seed_B": 0.0},
        registers={"T": 25.0},
    )
    hours = float(np.log(2.0) / 0.55)
    oxygen = run(tank, Life(days=1, hours=hours, light=(), refugium=None)).umol_per_l("S_O2")[-1]
    late = run(tank, Life(days=2, light=(), refugium=None)).umol_per_l("S_O2")[-1]
    assert oxygen / late == pytest.approx(0.5, rel=0.01)
