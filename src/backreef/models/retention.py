"""A fish's daily budget of carbon, nitrogen and phosphorus when the scarcest decides how much it eats.

A cross-check for the animals' model from a published stoichiometric one, in its deterministic form.
"""

from __future__ import annotations

from dataclasses import dataclass

from backreef.models.growth import MassLine, length_after_cm, wet_mass_g
from backreef.models.mathops import Quantity, maximum, power
from backreef.models.metabolism import growth_cost_j_per_g_barneche2018

ENERGY_J_PER_G_C = 39000.0
"""Energy of a gram of carbon respired, a constant of the published model. [J/g C]"""
DAYS_PER_YEAR = 365.0
"""Year of the published model. [d]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Elements:
    """A number for each of carbon, nitrogen and phosphorus."""

    c: Quantity
    n: Quantity
    p: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumer:
    """A fish of the model; contents in percent of dry mass, losses per day as shares of the body's stock."""

    diet_pct: Elements
    body_pct: Elements
    assimilated_frac: Elements
    lost_frac_per_d: Elements
    """Nitrogen and phosphorus lost at rest; carbon follows from respiration and is not used."""
    asymptotic_cm: Quantity
    k_per_y: Quantity
    mass_line: MassLine
    dry_frac: Quantity
    mass_exponent: Quantity
    at_1_g_g_c_per_d: Quantity
    activity_ratio: Quantity
    aspect_ratio: Quantity
    trophic_level: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """A day of the fish, in grams of each element per day; `intake_g_dry_per_d` in dry food."""

    mass_g: Quantity
    intake_g_dry_per_d: Quantity
    intake: Elements
    growth: Elements
    egested: Elements
    excreted: Elements
    demand: Elements
    """Dry food in g/d that would meet the need for each element alone; the largest limits."""

    @property
    def limiting(self) -> str:
        """The element that decides: C, N or P."""
        return max(
            ("C", self.demand.c), ("N", self.demand.n), ("P", self.demand.p), key=lambda pair: pair[1]
        )[0]


def daily_budget(length_cm: Quantity, temperature_c: Quantity, fish: Consumer) -> Budget:
    """Give intake, growth, egestion and excretion of a fish of this length.

    Validity
    --------
    Wild reef fish that feed until their scarcest element is met; cross-check within a factor of 1.5.

    Source
    ------
    Schiettekatte et al. 2020, Functional Ecology 34:1857-1869 (nschiett/FishStoichModel, nschiett/fishflux).
    """
    mass = wet_mass_g(length_cm, fish.mass_line)
    gain = _gain_g_per_d(length_cm, mass, fish)
    dry_gain, dry_mass = gain * fish.dry_frac, mass * fish.dry_frac
    grown = _times(fish.body_pct, dry_gain / 100.0)
    lost = Elements(
        c=_respired_g_c_per_d(mass, gain, temperature_c, fish),
        n=fish.lost_frac_per_d.n * fish.body_pct.n / 100.0 * dry_mass,
        p=fish.lost_frac_per_d.p * fish.body_pct.p / 100.0 * dry_mass,
    )
    need = _over(_plus(grown, lost), fish.assimilated_frac)
    demand = _times(_over(need, fish.diet_pct), 100.0)
    intake_g = maximum(maximum(demand.c, demand.n), demand.p)
    intake = _times(fish.diet_pct, intake_g / 100.0)
    egested = _minus(intake, _product(intake, fish.assimilated_frac))
    return Budget(
        mass_g=mass,
        intake_g_dry_per_d=intake_g,
        intake=intake,
        growth=grown,
        egested=egested,
        excreted=_minus(_minus(intake, egested), grown),
        demand=demand,
    )


def resting_energy_j_per_d(
    mass_g: Quantity, *, adult_mass_g: Quantity, at_1_g_g_c_per_d: Quantity, mass_exponent: Quantity
) -> Quantity:
    """Resting metabolism of a growing fish, scaled from its adult mass. [J/d]

    Validity
    --------
    The published model's form: proportional to mass within a species, allometric between adults.

    Source
    ------
    Barneche & Allen 2018, as coded in fishflux (R/metabolism.R).
    """
    return at_1_g_g_c_per_d * ENERGY_J_PER_G_C * power(adult_mass_g, mass_exponent - 1.0) * mass_g


def _respired_g_c_per_d(mass: Quantity, gain: Quantity, temperature_c: Quantity, fish: Consumer) -> Quantity:
    cost = growth_cost_j_per_g_barneche2018(
        temperature_c, trophic_level=fish.trophic_level, aspect_ratio=fish.aspect_ratio
    )
    rest = resting_energy_j_per_d(
        mass,
        adult_mass_g=wet_mass_g(fish.asymptotic_cm, fish.mass_line),
        at_1_g_g_c_per_d=fish.at_1_g_g_c_per_d,
        mass_exponent=fish.mass_exponent,
    )
    return fish.activity_ratio * (rest + cost * gain) / ENERGY_J_PER_G_C


def _gain_g_per_d(length_cm: Quantity, mass: Quantity, fish: Consumer) -> Quantity:
    rate = fish.k_per_y * 365.25 / DAYS_PER_YEAR
    later = length_after_cm(length_cm, days=1.0, largest_cm=fish.asymptotic_cm, kmax_per_y=rate)
    return wet_mass_g(later, fish.mass_line) - mass


def _times(elements: Elements, factor: Quantity) -> Elements:
    return Elements(c=elements.c * factor, n=elements.n * factor, p=elements.p * factor)


def _plus(a: Elements, b: Elements) -> Elements:
    return Elements(c=a.c + b.c, n=a.n + b.n, p=a.p + b.p)


def _minus(a: Elements, b: Elements) -> Elements:
    return Elements(c=a.c - b.c, n=a.n - b.n, p=a.p - b.p)


def _product(a: Elements, b: Elements) -> Elements:
    return Elements(c=a.c * b.c, n=a.n * b.n, p=a.p * b.p)


def _over(a: Elements, b: Elements) -> Elements:
    return Elements(c=a.c / b.c, n=a.n / b.n, p=a.p / b.p)
