"""What an animal of a species is, as ranges the ensemble draws from: weight, growth, burning, gut and mouth.

A trait that nobody knows for a species is taken from its kind (`data/bodies_by_kind.csv`) with that table's
wider band, and `assumed` says so.
"""

from __future__ import annotations

from collections.abc import Mapping

from backreef.catalogue.entries import Guild, Quantity, Species, known
from backreef.models.body_values import body_numbers
from backreef.models.growth import shape_mass_line
from backreef.models.metabolism import oxygen_line, oxygen_uptake_mg_o2_per_d, reference_c
from backreef.simulation.tables import (
    InItsUnit,
    Range,
    animal_number,
    animal_table,
    fixed,
    kind_about,
    kind_table,
    widened,
)
from backreef.units import DAYS_PER_YEAR, told_mass_g_per_mol
from backreef.working.number import as_number, log_of, to_power
from backreef.working.record import askable, told_number

HOURS = 24.0
MINUTES_PER_DAY = 1440.0
MM_PER_CM = 10.0
FISH = "fish"


def traits_of_kind(species: Species) -> Mapping[str, str]:
    """Give the row of a species' kind."""
    return kind_table().get(species.kind) or kind_table()["other"]


def of_kind(kind: Mapping[str, str], name: str, short: str) -> Range:
    """Give a trait of a kind with its range."""
    return Range(
        value=_number_of_kind(kind, name),
        low=float(kind[f"{short}_low"]),
        high=float(kind[f"{short}_high"]),
    )


def _number_of_kind(kind: Mapping[str, str], name: str) -> InItsUnit:
    return told_number(float(kind[name]), kind_about(kind, name))


def nature_of(
    species: Species, guild: Guild, *, oxygen_demand_ratio: float
) -> tuple[dict[str, Range], list[str]]:
    """Give the nature of a species by the names of `layout.NATURE`, and what had to be assumed."""
    assumed: list[str] = []
    kind = traits_of_kind(species)
    adult = _taken(species.adult_length_cm, animal_table()["adult_length_cm"].span, "adult length", assumed)
    weight_a, weight_b = _weight(species, kind, assumed)
    adult_mass_g = _adult_mass_g(adult.value, weight_a.value, weight_b.value)
    usual = of_kind(kind, "metabolism_ratio", "metabolism")
    factor = _taken(species.metabolism_factor_ratio, usual, "oxygen uptake", assumed)
    uptake_mg_per_d, exponent = _uptake(species, factor, adult_mass_g)
    burn_mmol_per_d = _burn_mmol_per_d(
        uptake_mg_per_d, guild.activity_factor_ratio.value, oxygen_demand_ratio=oxygen_demand_ratio
    )
    nature = {
        "weight_a": widened(weight_a, animal_number("weight_spread_ratio")),
        "weight_b": fixed(weight_b.value),
        "adult_cm": widened(adult, animal_number("length_spread_ratio")),
        "carbon_per_g": of_kind(kind, "carbon_mmol_per_g", "carbon"),
        "burn_coefficient": _narrowed(factor, burn_mmol_per_d),
        "burn_exponent": fixed(exponent),
        "reserve_share": of_kind(kind, "reserve_share", "reserve"),
    }
    nature |= _gut(species, guild, kind, assumed=assumed, adult_mass_g=adult_mass_g)
    growth = Range(value=_number_of_kind(kind, "kmax_per_y"), low=None, high=None)
    nature["kmax_per_d"] = _per_day(_taken(species.growth_kmax_per_y, growth, "growth", assumed))
    nature["push"] = animal_table()[f"pushes_{species.aggression}_ratio"].span
    return nature | _mouth(species, adult.value, assumed), assumed


@askable
def _adult_mass_g(adult_cm: float, weight_a_g: float, weight_b_ratio: float) -> float:
    """Wet mass of a grown animal. [g]"""
    return weight_a_g * to_power(adult_cm, weight_b_ratio)


@askable
def _burn_mmol_per_d(
    uptake_mg_o2_per_d: float, activity_ratio: float, *, oxygen_demand_ratio: float
) -> float:
    """Carbon that an animal of 1 g burns in an active day at the reference temperature. [mmol C/d]"""
    active = uptake_mg_o2_per_d * activity_ratio
    return active / told_mass_g_per_mol("O2") / oxygen_demand_ratio


def _taken(field: Quantity, otherwise: Range, what: str, assumed: list[str]) -> Range:
    """What the catalogue knows, or what is taken instead."""
    value = known(field)
    if value is None:
        assumed.append(what)
        return otherwise
    return Range(value=value.value, low=value.low, high=value.high)


def _weight(species: Species, kind: Mapping[str, str], assumed: list[str]) -> tuple[Range, Range]:
    shape = shape_mass_line(body_numbers(), shape="fusiform") if species.kind == FISH else None
    a = Range(value=shape.a_g if shape else _number_of_kind(kind, "weight_a_g"), low=None, high=None)
    b = Range(value=shape.b_ratio if shape else _number_of_kind(kind, "weight_b"), low=None, high=None)
    what = "weight for its length"
    return _taken(species.weight_a_g, a, what, assumed), _taken(species.weight_b_ratio, b, what, assumed)


def _gut(
    species: Species, guild: Guild, kind: Mapping[str, str], *, assumed: list[str], adult_mass_g: float
) -> dict[str, Range]:
    """Room of the gut and speed of eating, for 1 g, so that an adult can hold its largest daily ration."""
    usual = Range(value=_number_of_kind(kind, "intake_frac_ww_per_d"), low=None, high=None)
    ration = _taken(species.intake_max_frac_ww_per_d, usual, "largest ration", assumed)
    exponent = animal_number("intake_exponent")
    carbon_per_g = animal_number("food_carbon_mmol_per_g")
    daily = ration.value * adult_mass_g * carbon_per_g / adult_mass_g**exponent
    capacity = daily * guild.gut_hours.value / HOURS * animal_number("gut_room_ratio")
    low, high = _relative(widened(ration, animal_number("ration_spread_ratio")))
    fills_in_d = animal_number("gut_fills_min") / MINUTES_PER_DAY
    return {
        "capacity_coefficient": Range(value=capacity, low=capacity * low, high=capacity * high),
        "speed_coefficient": Range(value=capacity / fills_in_d * guild.pace_ratio.value, low=None, high=None),
        "intake_exponent": fixed(exponent),
    }


def _relative(span: Range) -> tuple[float, float]:
    """The ends of a range over its own value."""
    low, high = span.low or span.value, span.high or span.value
    return low / span.value, high / span.value


@askable
def _per_day(per_year: Range) -> Range:
    """What goes in a day of what goes in a year. [1/d]"""
    return Range(
        value=per_year.value / DAYS_PER_YEAR,
        low=None if per_year.low is None else per_year.low / DAYS_PER_YEAR,
        high=None if per_year.high is None else per_year.high / DAYS_PER_YEAR,
    )


def _uptake(species: Species, factor: Range, adult_mass_g: float) -> tuple[float, float]:
    """Oxygen used at 28 degC, mg/d for 1 g and its power on mass: a line through young and adult."""
    numbers = body_numbers()
    young = max(adult_mass_g * animal_number("young_mass_frac"), animal_number("young_least_g"))
    grown = max(adult_mass_g, young * animal_number("grown_least_ratio"))
    if species.kind == FISH:
        line = oxygen_line(numbers, family=species.family.lower(), factor_ratio=factor.value)
        uptake = [as_number(oxygen_uptake_mg_o2_per_d(mass, reference_c(), line)) for mass in (young, grown)]
    else:  # the family table is of fish; others follow the small line with their factor
        coefficient, power = numbers["oxygen_line.at_1_g_mg_o2_per_d"], numbers["oxygen_line.mass_exponent"]
        uptake = [factor.value * coefficient * to_power(mass, power) for mass in (young, grown)]
    exponent = _burn_exponent(uptake[0], uptake[1], young_g=young, grown_g=grown)
    return uptake[1] / to_power(grown, exponent), exponent


@askable
def _burn_exponent(
    young_mg_o2_per_d: float, grown_mg_o2_per_d: float, *, young_g: float, grown_g: float
) -> float:
    """Power of mass by which uptake goes, from a young one to a grown one. [-]"""
    return log_of(grown_mg_o2_per_d / young_mg_o2_per_d) / log_of(grown_g / young_g)


def _narrowed(factor: Range, middle: InItsUnit) -> Range:
    """The range of burning, narrower than that of single measurements of many species."""
    low, high = _relative(widened(factor, animal_number("metabolism_spread_ratio")))
    power = animal_number("within_species_power")
    return Range(value=middle, low=middle * low**power, high=middle * high**power)


def _mouth(species: Species, adult_cm: float, assumed: list[str]) -> dict[str, Range]:
    pieces = known(species.food_mm)
    if pieces is None:
        assumed.append("size of its mouth")
        usual = {"gape_share": "gape_frac", "smallest_share": "smallest_bite_frac"}
        return {name: Range(value=animal_number(key), low=None, high=None) for name, key in usual.items()}
    large = animal_number("gape_ratio") * pieces.highest / (MM_PER_CM * adult_cm)
    small = animal_number("smallest_bite_ratio") * pieces.lowest / (MM_PER_CM * adult_cm)
    ratio = animal_number("length_spread_ratio")
    return {
        "gape_share": widened(Range(value=large, low=None, high=None), ratio),
        "smallest_share": fixed(small),
    }
