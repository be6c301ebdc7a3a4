"""The one door for units: what people write becomes a number in canonical units, and back.

Units stand in `data/units.csv`, each with the dimension it measures, so that `mg/L NO3` is looked up among
the units of nitrate only and never taken for nitrogen. `data/name_tokens.csv` lists the unit words that end
the names of this program (`UNIT_TOKENS`). Factors between an ion and its element are worked out from
`data/atomic_masses.csv`.
"""

from __future__ import annotations

import csv
import difflib
import math
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from backreef.errors import BackreefError
from backreef.working.record import askable, is_recording, leaf
from backreef.working.steps import About

DAYS_PER_YEAR = 365.25
"""Julian year. [d]"""
DAYS_PER_MONTH = DAYS_PER_YEAR / 12.0
_DATA = Path(__file__).parent / "data"
_NUMBER = re.compile(r"[+-]?(?:\d++(?:\.\d*+)?|\.\d++)(?:[eE][+-]?\d++)?")
_LONGEST_UNIT = 60
"""Letters of what may be a misspelt unit; of more, the rest is not looked at."""
_GALLON = re.compile(r"gal(lons?|s)?\.?")
_SIGNED = ("temperature", "temperature_step")
_PSU_APART = 1e-10
PPM_NOTE = "ppm was read as mg/L; by weight a ppm of seawater is about 2.5 % more"


SHORT_DIGITS, SHORT_LENGTH = 6, 7
"""Digits and signs of a number that people would write."""


class UnitError(BackreefError):
    """A quantity could not be read; the message says what was found, what is allowed and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One way of writing a unit, and what one of it is in the canonical unit of its dimension."""

    dimension: str
    written: tuple[str, ...]
    token: str
    offset: float
    factor: float
    meaning: str
    source: str
    status: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number in the unit asked for, and what had to be assumed to read it."""

    value: float
    token: str
    notes: tuple[str, ...] = ()


def _rows(name: str) -> list[dict[str, str]]:
    with (_DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


UNIT_TOKENS: dict[str, str] = {row["token"]: row["meaning"] for row in _rows("name_tokens.csv")}
"""Words that may end the name of a number -> what they mean."""


def has_unit(name: str) -> bool:
    """Whether a name ends in a unit, a basis or a word for a dimensionless number."""
    return name.rsplit("_", 1)[-1] in UNIT_TOKENS


def unit_words(unit: str) -> str:
    """A unit as people write it."""
    return unit.replace("degC", "°C").replace("deg C", "°C")


@cache
def atomic_mass_g_per_mol() -> dict[str, float]:
    """Molar mass of each element. [g/mol]"""
    return {row["element"]: float(row["g_per_mol"]) for row in _rows("atomic_masses.csv")}


@cache
def molar_mass_g_per_mol(formula: str) -> float:
    """Molar mass of a plain formula without brackets, as NO3; charges are not counted. [g/mol]"""
    parts = re.findall(r"([A-Z][a-z]?)(\d*)", formula)
    if "".join(element + count for element, count in parts) != formula or not formula:
        raise UnitError(f"'{formula}' is not a plain chemical formula such as NO3")
    try:
        return sum(atomic_mass_g_per_mol()[element] * int(count or 1) for element, count in parts)
    except KeyError as missing:
        raise UnitError(
            f"'{formula}' holds {missing.args[0]}, whose atomic mass is not in the table"
        ) from None


@askable
def ion_per_element_ratio(ion: str, element: str) -> float:
    """Mass of the ion that holds one unit mass of the element; 4.427 for NO3 and N."""
    return told_mass_g_per_mol(ion) / told_mass_g_per_mol(element)


def told_mass_g_per_mol(formula: str) -> float:
    """Molar mass of a plain formula; while a working is recorded it carries where it stands. [g/mol]"""
    mass_g_per_mol = molar_mass_g_per_mol(formula)
    if not is_recording():
        return mass_g_per_mol
    row = next(row for row in _rows("atomic_masses.csv") if row["element"] in formula)
    about = About(
        symbol=f"molar_mass_{formula}",
        key=f"units.atomic_masses.{formula}",
        kind="constant",
        what=f"molar mass of {formula}",
        unit="g/mol",
        source=row["source"],
        place=row["place"],
        status=row["status"],
    )
    return leaf(mass_g_per_mol, about)


def _number(text: str) -> float:
    """A number of the table; '5/9' stands for itself."""
    above, _, below = text.partition("/")
    return float(above) / float(below or 1)


def _formula_factor(formula: str) -> float:
    above, _, below = formula.partition("/")
    return (molar_mass_g_per_mol(above) if above else 1.0) / (molar_mass_g_per_mol(below) if below else 1.0)


@cache
def all_units() -> tuple[Unit, ...]:
    """Every unit that can be written."""
    return tuple(
        Unit(
            dimension=row["dimension"],
            written=tuple(row["written"].split(";")),
            token=row["token"],
            offset=float(row["offset"]),
            factor=_number(row["factor"]) * _formula_factor(row["formula"]) if row["factor"] else math.nan,
            meaning=row["meaning"],
            source=row["source"],
            status=row["status"],
        )
        for row in _rows("units.csv")
    )


@cache
def _units_of(dimension: str) -> dict[str, Unit]:
    units = {
        _plain(written): unit
        for unit in all_units()
        if unit.dimension == dimension
        for written in unit.written
    }
    if not units:
        raise KeyError(f"no dimension is called '{dimension}'")
    return units


@cache
def _unit_of_token(dimension: str, token: str) -> Unit:
    for unit in _units_of(dimension).values():
        if unit.token == token:
            return unit
    raise KeyError(f"no unit of {dimension} has the name token '{token}'")


def _plain(written: str) -> str:
    """A written unit with small letters, single blanks and plain signs."""
    text = written.strip().replace("µ", "u").replace("μ", "u").replace("²", "2").replace("³", "3")
    text = text.replace("m^", "m").replace("t^", "t").replace("−", "-")
    return re.sub(r"\s*/\s*", "/", " ".join(text.lower().split()))


def written_units(dimension: str) -> str:
    """The units of a dimension in words, for messages: first spelling of each."""
    names = list(dict.fromkeys(unit.written[0] for unit in _units_of(dimension).values()))
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def write_quantity(value: float, *, dimension: str, token: str) -> str:
    """The number with its unit, so that reading it again gives the same number exactly.

    The unit is the one named by `token`, unless another one of people's gives a number that is short where
    this one is long: 6 mg/L of nitrate as its ion are 1.3554286820205148 as nitrogen.
    """
    target = _unit_of_token(dimension, token)
    exact = f"{_short(value)} {target.written[0]}"
    if len(_short(value)) <= SHORT_LENGTH and dimension != "share":
        return exact
    for unit in dict.fromkeys(_units_of(dimension).values()):
        if math.isfinite(unit.factor):
            other = (value + target.offset) * (target.factor / unit.factor) - unit.offset
            rounded = float(f"{other:.{SHORT_DIGITS}g}")
            text = f"{_short(rounded)} {unit.written[0]}"
            same = read_quantity(text, dimension=dimension, token=token).value == value
            if same and len(_short(rounded)) <= SHORT_LENGTH:
                return text
    return exact


def _short(value: float) -> str:
    """A number exactly, and whole ones without a nought behind the point."""
    return repr(float(value)).removesuffix(".0")


def parse_quantity(text: str, *, dimension: str, token: str, basis: str | None = None) -> float:
    """The number of `read_quantity` alone."""
    return read_quantity(text, dimension=dimension, token=token, basis=basis).value


def read_quantity(text: str, *, dimension: str, token: str, basis: str | None = None) -> Quantity:
    """A written quantity as a number in the unit named by `token`.

    `basis` completes a bare `mg/L` (as `NO3`); the result then carries a note that says so. Without it a
    bare `mg/L` of a nutrient is refused, since its nitrogen or phosphorus and its ion differ by a factor of
    three to four.
    """
    number, written = _split(text, dimension=dimension)
    plain, notes = _with_basis(_plain(written), text=text, dimension=dimension, basis=basis)
    unit = _find_unit(plain, text=text, dimension=dimension)
    if math.isnan(unit.factor):
        return Quantity(value=salinity_from_sg_psu(number, text=text), token=token, notes=notes)
    target = _unit_of_token(dimension, token)
    if unit is target:
        return Quantity(value=number, token=token, notes=notes)
    value = (number + unit.offset) * (unit.factor / target.factor) - target.offset
    return Quantity(value=value, token=token, notes=notes)


def _split(text: str, *, dimension: str) -> tuple[float, str]:
    """Number and unit of what was written, or a complaint about the number."""
    stripped = text.strip()
    example = f"'12 {next(iter(_units_of(dimension).values())).written[0]}'"
    found = _NUMBER.match(stripped)
    if found is None:
        word = stripped.lower().lstrip("+-")
        if word.startswith(("nan", "inf")):
            raise UnitError(f"'{text}' is not a number; leave the key out where the value is not known")
        raise UnitError(f"'{text}' does not begin with a number; write a number and a unit, as {example}")
    rest = stripped[found.end() :]
    if re.match(r"[,'_ ]\d", rest):
        raise UnitError(
            f"'{text}' has a sign inside the number; write it with a point and without grouping, as 1234.5"
        )
    number = float(found.group())
    if not math.isfinite(number):
        raise UnitError(f"'{text}' is too large to be a number here")
    if number < 0 and dimension not in _SIGNED:
        raise UnitError(f"'{text}' is negative; it must be 0 or more")
    return number, rest


def _with_basis(plain: str, *, text: str, dimension: str, basis: str | None) -> tuple[str, tuple[str, ...]]:
    """The unit with ppm as mg/L and a bare mg/L completed, and the notes on both."""
    notes: list[str] = []
    if plain == "ppm" or plain.startswith("ppm "):
        plain = "mg/l" + plain.removeprefix("ppm")
        notes.append(PPM_NOTE)
    if plain == "mg/l" and plain not in _units_of(dimension):
        if basis is None:
            choices = [unit.written[0] for unit in _units_of(dimension).values() if "mg/" in unit.written[0]]
            named = " or ".join(f"'{choice}'" for choice in dict.fromkeys(choices))
            raise UnitError(f"'{text}' does not say of what: write {named}")
        plain = f"mg/l {basis.lower()}"
        notes.append(f"a bare mg/L was read as mg/L {basis}")
    return plain, tuple(notes)


def _find_unit(plain: str, *, text: str, dimension: str) -> Unit:
    units = _units_of(dimension)
    if plain in units:
        return units[plain]
    allowed = written_units(dimension)
    what = dimension.replace("_", " ")
    if not plain:
        raise UnitError(f"'{text}' has no unit; a {what} is written in {allowed}")
    if dimension == "volume" and _GALLON.fullmatch(plain):
        us, uk = units["gal us"].factor, units["gal uk"].factor
        raise UnitError(f"'{text}': which gallon? Write 'gal US' ({us:.3f} L) or 'gal UK' ({uk:.3f} L)")
    near = difflib.get_close_matches(plain[:_LONGEST_UNIT], units, n=1, cutoff=0.7)
    hint = f" (did you mean '{units[near[0]].written[0]}'?)" if near else ""
    raise UnitError(f"'{text}': '{plain}' is no unit of {what}; write {allowed}{hint}")


def pure_water_density_kg_per_m3(temperature_c: float) -> float:
    """Density of pure water at one atmosphere. [kg/m3]

    Validity
    --------
    0 to 40 degC.

    Source
    ------
    millero1981 (UNESCO technical paper 44, eq. 14).
    """
    t = temperature_c
    powers = (6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
    return 999.842594 + sum(a * t ** (i + 1) for i, a in enumerate(powers))


def seawater_density_kg_per_m3(salinity_psu: float, temperature_c: float) -> float:
    """Density of seawater at one atmosphere. [kg/m3]

    Validity
    --------
    0 to 42 psu, -2 to 40 degC.

    Source
    ------
    millero1981 (UNESCO technical paper 44, eq. 13).
    """
    s, t = salinity_psu, temperature_c
    a = 8.24493e-1 - 4.0899e-3 * t + 7.6438e-5 * t**2 - 8.2467e-7 * t**3 + 5.3875e-9 * t**4
    b = -5.72466e-3 + 1.0227e-4 * t - 1.6546e-6 * t**2
    return float(pure_water_density_kg_per_m3(t) + a * s + b * s**1.5 + 4.8314e-4 * s**2)


def salinity_from_sg_psu(specific_gravity: float, *, text: str = "", temperature_c: float = 25.0) -> float:
    """Salinity of water of a given density over that of pure water at the same temperature. [psu]

    Both are taken at 25 degC, as most instruments for aquaria are marked.

    Validity
    --------
    0 to 42 psu.

    Source
    ------
    millero1981, solved by halving.
    """
    low, high = 0.0, 42.0
    wanted = specific_gravity * pure_water_density_kg_per_m3(temperature_c)
    densest = seawater_density_kg_per_m3(high, temperature_c)
    if not pure_water_density_kg_per_m3(temperature_c) <= wanted <= densest:
        shown = text or f"{specific_gravity} sg"
        raise UnitError(
            f"'{shown}' is no specific gravity of seawater; it lies between 1.000 and 1.032 (35 psu: 1.0264)"
        )
    while high - low > _PSU_APART:
        middle = (low + high) / 2
        if seawater_density_kg_per_m3(middle, temperature_c) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2
