"""Two foods held against each other: energy of a gram on the same basis, with the band of what is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.catalogue.entries import Catalogue, Food, known
from backreef.catalogue.find import find
from backreef.catalogue.labels import Label, silent_parts
from backreef.errors import BackreefError
from backreef.models.body_values import read_body_values
from backreef.models.feed_energy import EnergyFactors, digestible_energy_kj_per_g, energy_per_g
from backreef.simulation.draws import Draws
from backreef.usecases.portrait import Part, figure, listed, part, sentence

Array = npt.NDArray[np.float64]
DRAWS = 4000
"""So many that the ends of a band are steady to a tenth of its width; a numerical choice."""
FAR_FROM = 0.5
"""More than this is called nearer to twice as much than to the same."""


class NotComparable(BackreefError):
    """A food whose parts are not known, or that is not there; the message says which."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyBasis:
    """Energy of a gram of both foods on one basis, and how much more the first has."""

    basis: str
    kj_per_g: float
    other_kj_per_g: float
    more_frac_p05: float
    more_frac_p50: float
    more_frac_p95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodComparison:
    """A food against another."""

    food: Food
    other: Food
    bases: tuple[EnergyBasis, ...]
    protein_mg_per_kj: float
    other_protein_mg_per_kj: float
    estimated: tuple[str, ...]
    """Parts of either that their labels do not print."""


def compare_foods(
    food: Food, against: str, catalogue: Catalogue, labels: Iterable[Label] = (), *, seed: int = 1
) -> FoodComparison:
    """Give how much more energy a food holds than another, as fed, dry, and as far as fish take it up.

    Raises
    ------
    NotComparable
        If there is no such food, or what one of them is made of is not known.
    """
    other = find(catalogue, "foods", against).entry
    if not isinstance(other, Food):
        near = find(catalogue, "foods", against).near[:2]
        hint = f"; did you mean {' or '.join(near)}?" if near else "; 'catalogue --kind foods' lists all"
        raise NotComparable(f"'{against}' is no food of the catalogue{hint}")
    fibre = {label.id: label.printed_frac.get("fibre") for label in labels}
    draws = Draws(seed, DRAWS)
    one, two = (_drawn(each, fibre.get(each.id), draws) for each in (food, other))
    return FoodComparison(
        food=food,
        other=other,
        bases=tuple(_basis(name, one[name], two[name]) for name in one if name != "protein"),
        protein_mg_per_kj=float(np.median(one["protein"])),
        other_protein_mg_per_kj=float(np.median(two["protein"])),
        estimated=tuple(
            f"{listed(list(parts))} of {label.id}"
            for label in labels
            if label.id in (food.id, other.id) and (parts := silent_parts(label))
        ),
    )


def _basis(name: str, one: Array, two: Array) -> EnergyBasis:
    low, middle, high = np.percentile(one / two - 1.0, [5, 50, 95])
    return EnergyBasis(
        basis=name,
        kj_per_g=float(np.median(one)),
        other_kj_per_g=float(np.median(two)),
        more_frac_p05=float(low),
        more_frac_p50=float(middle),
        more_frac_p95=float(high),
    )


def _drawn(food: Food, fibre_frac: float | None, draws: Draws) -> dict[str, Array]:
    """Energy of a gram on each basis, and protein for a kilojoule, in every draw.

    Parts are drawn and the rest follows, so that what is more fat is less starch; heats and digestibilities
    are the same for both foods of a draw.
    """
    parts = {}
    for name in ("protein", "fat", "ash", "moisture"):
        value = known(getattr(food, f"{name}_frac"))
        if value is None:
            raise NotComparable(f"{food.id}: its {name} is not known, so its energy cannot be compared")
        parts[name] = draws.value(f"{food.id} {name}", value.value, value.lowest, value.highest)
    rest = np.maximum(1.0 - sum(parts.values()), 0.0)
    heats = _factors("food_energy", "kj_per_g", draws)
    as_fed = np.asarray(energy_per_g(parts["protein"], parts["fat"], rest, factors=heats))
    digested = _factors("digestibility", "frac", draws)
    starch = np.maximum(rest - (fibre_frac or 0.0), 0.0)
    taken = digestible_energy_kj_per_g(
        parts["protein"], parts["fat"], starch, factors=heats, digested_frac=digested
    )
    return {
        "as fed": as_fed,
        "dry": as_fed / np.maximum(1.0 - parts["moisture"], 1e-3),
        "taken up": np.asarray(taken),
        "protein": 1000.0 * parts["protein"] / np.maximum(as_fed, 1e-3),
    }


def _factors(group: str, unit: str, draws: Draws) -> EnergyFactors:
    values = {
        name: read_body_values()[f"{group}.{name}_{unit}"] for name in ("protein", "lipid", "carbohydrate")
    }
    drawn = {
        name: draws.value(f"{group} {name}", value.value, value.lowest, value.highest)
        for name, value in values.items()
    }
    return EnergyFactors(**drawn)


_TITLES = {
    "as fed": "as fed, gram for gram",
    "dry": "dry for dry",
    "taken up": "of what a fish takes up, gram for gram as fed",
}


def comparison_part(found: FoodComparison) -> Part:
    """The comparison in words, for a food's page."""
    fed = found.bases[0]
    return part(
        f"Its energy against {found.other.name}",
        *(sentence(f"{_TITLES[basis.basis]}: {_more_words(basis)}") for basis in found.bases),
        sentence(
            f"protein for each kilojoule: {figure(found.protein_mg_per_kj)} against "
            f"{figure(found.other_protein_mg_per_kj)} mg"
        ),
        sentence(_verdict(fed)),
        sentence(f"estimated, as the label does not print it: {'; '.join(found.estimated)}")
        if found.estimated
        else "",
    )


def _more_words(basis: EnergyBasis) -> str:
    low, middle, high = basis.more_frac_p05, basis.more_frac_p50, basis.more_frac_p95
    word = "more" if middle >= 0 else "less"
    ends = (low, high) if middle >= 0 else (-high, -low)
    band = " to ".join(f"{end:.0%}".replace("%", "").replace("-0", "0") for end in ends)
    energies = f"{figure(basis.kj_per_g)} against {figure(basis.other_kj_per_g)} kJ/g"
    return f"{abs(middle):.0%} {word} energy than it (band {band} %), {energies}".replace("%", " %", 1)


def _verdict(fed: EnergyBasis) -> str:
    if fed.more_frac_p05 <= 0.0 <= fed.more_frac_p95:
        return "what is known of them does not tell their energy apart"
    if 0.0 < fed.more_frac_p95 < FAR_FROM:
        most = 1.0 + fed.more_frac_p95
        return f"nowhere near twice as much: {most:.2f} times at the most that its parts allow"
    return ""
