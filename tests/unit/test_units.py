"""Units: what people write becomes a number in canonical units, or one clear refusal."""

from __future__ import annotations

import math

import gsw
import pytest

from backreef.units import (
    DAYS_PER_MONTH,
    DAYS_PER_YEAR,
    PPM_NOTE,
    UNIT_TOKENS,
    Unit,
    UnitError,
    all_units,
    has_unit,
    ion_per_element_ratio,
    molar_mass_g_per_mol,
    parse_quantity,
    pure_water_density_kg_per_m3,
    read_quantity,
    salinity_from_sg_psu,
    seawater_density_kg_per_m3,
    told_mass_g_per_mol,
    write_quantity,
    written_units,
)
from backreef.working.record import recording
from backreef.working.steps import About
from backreef.working.tree import tree_of

# Defining factors: NIST SP 811 appendix B.8 and the international yard and pound agreement of 1959 (from
# memory).
READS = [
    ("300 L", "volume", "l", 300.0),
    ("300l", "volume", "l", 300.0),
    ("12.5 litres", "volume", "l", 12.5),
    ("1 gal US", "volume", "l", 3.785411784),
    ("1 gal UK", "volume", "l", 4.54609),
    ("2 imperial gallons", "volume", "l", 9.09218),
    ("0.3 m3", "volume", "l", 300.0),
    ("0.3 m³", "volume", "l", 300.0),
    ("48 in", "length", "cm", 121.92),
    ("4 ft", "length", "cm", 121.92),
    ("1.2 m", "length", "cm", 120.0),
    ("8 mm", "length", "cm", 0.8),
    ("1 ft2", "area", "m2", 0.09290304),
    ("2500 cm2", "area", "m2", 0.25),
    ("1 lb", "mass", "g", 453.59237),
    ("1 oz", "mass", "g", 28.349523125),
    ("400 mg", "mass", "g", 0.4),
    ("35 kg", "mass", "kg", 35.0),
    ("77 lb", "mass", "kg", 34.92661249),
    ("25 degC", "temperature", "c", 25.0),
    ("78 degF", "temperature", "c", 25.5555555555),
    ("212 °F", "temperature", "c", 100.0),
    ("-2 °C", "temperature", "c", -2.0),
    ("9 degF", "temperature_step", "c", 5.0),
    ("35 ppt", "salinity", "psu", 35.0),
    ("20 min", "time", "min", 20.0),
    ("1.5 h", "time", "min", 90.0),
    ("2 weeks", "time", "d", 14.0),
    ("1 year", "time", "d", 365.25),
    ("2 years", "time", "months", 24.0),
    ("15 %", "share", "frac", 0.15),
    ("1.5 % a day", "share_per_day", "frac_per_d", 0.015),
    ("20 /h", "turnover", "per_h", 20.0),
    ("20x/h", "turnover", "per_h", 20.0),
    ("120 µmol/m²/s", "light", "umol_m2_s", 120.0),
    ("120 umol/m2/s", "light", "umol_m2_s", 120.0),
    ("30 W", "power", "w", 30.0),
    ("1 kW", "power", "w", 1000.0),
]


@pytest.mark.parametrize(("text", "dimension", "token", "expected"), READS, ids=[case[0] for case in READS])
def test_it_reads_what_people_write(text: str, dimension: str, token: str, expected: float) -> None:
    assert parse_quantity(text, dimension=dimension, token=token) == pytest.approx(expected, rel=1e-9)


# Ratios as printed in water-analysis handbooks: NO3/N 4.427, NO2/N 3.285, NH4/N 1.288, NH3/N 1.216, PO4/P
# 3.066 (from memory); 1 degree of German carbonate hardness is 0.3566 meq/L and 17.85 mg/L CaCO3 (from
# memory).
@pytest.mark.parametrize(
    ("ion", "element", "printed"),
    [("NO3", "N", 4.427), ("NO2", "N", 3.285), ("NH4", "N", 1.288), ("NH3", "N", 1.216), ("PO4", "P", 3.066)],
)
def test_it_finds_the_printed_ratio_of_ion_to_element(ion: str, element: str, printed: float) -> None:
    assert ion_per_element_ratio(ion, element) == pytest.approx(printed, abs=6e-4)


@pytest.mark.parametrize(
    ("text", "dimension", "token", "expected"),
    [
        ("10 mg/L NO3", "nitrate", "mg_n_per_l", 10 / 4.4266),
        ("10 mg/L NO3-N", "nitrate", "mg_n_per_l", 10.0),
        ("10 ppm NO3", "nitrate", "mg_n_per_l", 10 / 4.4266),
        ("71.4 umol/L", "nitrate", "mg_n_per_l", 1.0),
        ("0.1 mg/L PO4", "phosphate", "mg_p_per_l", 0.1 / 3.066),
        ("1 umol/L", "phosphate", "mg_p_per_l", 0.030974),
        ("8 dKH", "alkalinity", "meq_per_l", 2.853),
        ("142.8 mg/L CaCO3", "alkalinity", "meq_per_l", 2.853),
        ("142.8 ppm CaCO3", "alkalinity", "meq_per_l", 2.853),
        ("0.1 mg/L TAN", "ammonia", "mg_n_per_l", 0.1),
    ],
)
def test_it_keeps_ion_and_element_apart(text: str, dimension: str, token: str, expected: float) -> None:
    assert parse_quantity(text, dimension=dimension, token=token) == pytest.approx(expected, rel=3e-4)


def test_it_refuses_a_nutrient_without_a_basis() -> None:
    with pytest.raises(UnitError) as refused:
        parse_quantity("10 mg/L", dimension="nitrate", token="mg_n_per_l")
    assert str(refused.value) == "'10 mg/L' does not say of what: write 'mg/L NO3-N' or 'mg/L NO3'"


def test_a_month_is_a_twelfth_of_a_julian_year() -> None:
    assert (DAYS_PER_YEAR, DAYS_PER_MONTH) == (365.25, 30.4375)


def test_it_says_so_when_a_basis_was_supplied() -> None:
    quantity = read_quantity("10 ppm", dimension="nitrate", token="mg_n_per_l", basis="NO3")
    assert quantity.value == pytest.approx(2.259, rel=1e-3)
    assert quantity.notes == (PPM_NOTE, "a bare mg/L was read as mg/L NO3")


REFUSED = [
    ("66 gal", "volume", "l", "which gallon"),
    ("66 gallons", "volume", "l", "which gallon"),
    ("300", "volume", "l", "has no unit"),
    ("300 litters", "volume", "l", "did you mean"),
    ("L", "volume", "l", "does not begin with a number"),
    ("", "volume", "l", "does not begin with a number"),
    ("about 300 L", "volume", "l", "does not begin with a number"),
    ("1,5 L", "volume", "l", "sign inside the number"),
    ("1 000 L", "volume", "l", "sign inside the number"),
    ("nan L", "volume", "l", "not a number"),
    ("-inf L", "volume", "l", "not a number"),
    ("1e999 L", "volume", "l", "too large"),
    ("-3 L", "volume", "l", "negative"),
    ("25 degC", "volume", "l", "no unit of volume"),
    ("10 mg/L PO4", "nitrate", "mg_n_per_l", "no unit of nitrate"),
    ("0.9 sg", "salinity", "psu", "no specific gravity"),
    ("1.1 sg", "salinity", "psu", "no specific gravity"),
]


@pytest.mark.parametrize(
    ("text", "dimension", "token", "said"), REFUSED, ids=[case[0] or "empty" for case in REFUSED]
)
def test_it_refuses_with_a_reason(text: str, dimension: str, token: str, said: str) -> None:
    with pytest.raises(UnitError, match=said):
        parse_quantity(text, dimension=dimension, token=token)


# Check values of UNESCO technical papers in marine science 44 (1983), at one atmosphere (from memory).
@pytest.mark.parametrize(
    ("salinity_psu", "temperature_c", "printed_kg_per_m3"),
    [(0, 5, 999.96675), (0, 25, 997.04796), (35, 5, 1027.67547), (35, 25, 1023.34306)],
)
def test_it_gives_the_printed_density(
    salinity_psu: float, temperature_c: float, printed_kg_per_m3: float
) -> None:
    density = seawater_density_kg_per_m3(salinity_psu, temperature_c)
    assert density == pytest.approx(printed_kg_per_m3, abs=1e-4)


@pytest.mark.parametrize("salinity_psu", [5.0, 20.0, 30.0, 35.0, 40.0])
def test_it_reads_specific_gravity_as_the_newer_standard_does(salinity_psu: float) -> None:
    absolute = gsw.SA_from_SP(salinity_psu, 0, 0, 0)
    dense = gsw.rho_t_exact(absolute, 25.0, 0.0)
    sg = dense / pure_water_density_kg_per_m3(25.0)
    assert salinity_from_sg_psu(float(sg)) == pytest.approx(salinity_psu, abs=0.05)  # TEOS-10 against EOS-80


def test_a_specific_gravity_of_no_sea_is_named_as_it_was_written_or_as_a_number() -> None:
    with pytest.raises(UnitError, match=r"^'0\.9 sg'"):
        salinity_from_sg_psu(0.9)
    with pytest.raises(UnitError, match=r"^'nine tenths'"):
        salinity_from_sg_psu(0.9, text="nine tenths")


def test_it_reads_the_hydrometer_mark_of_natural_seawater() -> None:
    assert parse_quantity("1.0264 sg", dimension="salinity", token="psu") == pytest.approx(35.0, abs=0.1)


@pytest.mark.parametrize(
    "unit", [unit for unit in all_units() if unit.token], ids=lambda u: f"{u.dimension}-{u.token}"
)
@pytest.mark.parametrize("value", [0.1, 1 / 3, 123456.789])
def test_it_reads_back_exactly_what_it_writes(unit: Unit, value: float) -> None:
    text = write_quantity(value, dimension=unit.dimension, token=unit.token)
    assert parse_quantity(text, dimension=unit.dimension, token=unit.token) == value


def test_it_writes_as_people_would_where_the_number_is_long_and_leaves_a_short_one_alone() -> None:
    celsius = parse_quantity("78 degF", dimension="temperature", token="c")
    assert write_quantity(celsius, dimension="temperature", token="c") == "78 degF"
    assert write_quantity(0.00125, dimension="volume", token="l") == "0.00125 L"  # seven digits and signs
    assert write_quantity(0.000125, dimension="volume", token="l") == "0.125 mL"


def test_it_finds_every_spelling_once_within_a_dimension() -> None:
    seen: set[tuple[str, str]] = set()
    for unit in all_units():
        for written in unit.written:
            key = (unit.dimension, written.lower())
            assert key not in seen, key
            seen.add(key)


def test_it_gives_every_unit_a_source_and_a_factor() -> None:
    for unit in all_units():
        assert unit.source, unit
        assert unit.status in ("published", "memory", "practice", "calc"), unit
        assert unit.factor > 0 or (math.isnan(unit.factor) and unit.written[0] == "sg"), unit


def test_it_knows_the_unit_words_of_names() -> None:
    for name in (
        "nitrate_mg_n_per_l",
        "volume_l",
        "ration_g_per_d",
        "film_algae_g_dry",
        "room_temperature_c",
    ):
        assert has_unit(name), name
    for name in ("temperature", "hopper", "value2"):
        assert not has_unit(name), name
    assert all(UNIT_TOKENS.values())


def test_it_names_the_units_of_a_dimension() -> None:
    assert written_units("power") == "W or kW"
    assert written_units("turnover") == "/h"


def test_it_refuses_a_formula_it_cannot_weigh() -> None:
    with pytest.raises(UnitError, match="plain chemical formula"):
        molar_mass_g_per_mol("Ca(OH)2")
    with pytest.raises(UnitError, match="atomic mass is not in the table"):
        molar_mass_g_per_mol("XeO3")


def test_a_mass_stands_in_a_working_where_it_stands_in_its_table_and_is_a_plain_number_elsewhere() -> None:
    plain = told_mass_g_per_mol("NO3")
    assert type(plain) is float
    with recording():
        told = told_mass_g_per_mol("NO3")
    node = tree_of(told, About(symbol="mass", key="mass", kind="law")).root
    assert (float(told), node.about.key) == (plain, "units.atomic_masses.NO3")
    assert node.about.source
