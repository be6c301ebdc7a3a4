"""What a day leaves on a cohort: deaths of whole animals, growth in length, traits that go with size."""

from __future__ import annotations

from collections.abc import Mapping

from backreef.models.mathops import Quantity, maximum, minimum, power
from backreef.models.mouths import FOOD_POOLS, GROWN_POOLS, Body

LEAST_MASS_G = 1e-4


def midnight(
    slot: Mapping[str, Quantity],
    nature: Mapping[str, Quantity],
    known: Mapping[str, Quantity],
    fallen: Quantity,
    body: Body,
) -> tuple[dict[str, Quantity], dict[str, Quantity], dict[str, Quantity]]:
    """Give new amounts, new traits and what the tank receives.

    `fallen` is the number of thresholds that the cumulated hazard of the cohort has passed: an animal dies
    when the hazard passes minus the logarithm of a uniform draw of its member.

    Validity
    --------
    Growth after von Bertalanffy between arrival and adult length; never faster than the reserve allows (in
    the rates).

    Source
    ------
    Length-weight and growth of the catalogue's entry; oxygen uptake by mass after models/metabolism.py;
    choosing when well fed: gill_hart1999 (sticklebacks; here by the
    reserve instead of the hour).
    """
    present = slot["arrived"] - slot["lost"]
    dead = minimum(maximum(fallen - slot["lost"], 0.0), present)
    share = dead / maximum(present, 1e-9)
    count = present - dead
    carbon = share * (slot["structure"] + slot["reserve"])
    amounts = {name: slot[name] * (1.0 - share) for name in ("gut", "reserve", "structure")}
    amounts["lost"] = slot["lost"] + dead
    given = {
        "X_FP": body.protein * carbon,
        "X_FL": body.lipid * carbon,
        "X_FM": body.loose_phosphorus * carbon,
    }
    head = amounts["structure"] / maximum(count, 1e-9)
    mass_g = maximum(head / nature["carbon_per_g"], LEAST_MASS_G)
    traits = _traits(mass_g, count, nature, known)
    fullness = amounts["reserve"] / maximum(count * traits["goal"], 1e-9)
    traits["pushes"] = nature["push"] * hunger_ratio(fullness)
    return amounts, traits | _weights_of_grown(fullness, nature, known), given


def hunger_ratio(fullness: Quantity) -> Quantity:
    """Give how much fiercer an animal is at a meal than a well-fed one: hungry fish chase more. [-]

    Validity
    --------
    1 at a full reserve, at most 2 at an empty one; below 1 above it.

    Source
    ------
    Practice: chases 1.5 to 3 times as often where fish are underfed. The shape is ours.
    """
    fourth = fullness * fullness * fullness * fullness
    return 2.0 / (1.0 + fourth)


def _weights_of_grown(
    fullness: Quantity, nature: Mapping[str, Quantity], known: Mapping[str, Quantity]
) -> dict[str, Quantity]:
    """Give how much of what grows here is taken: the better fed, the less of what is not a first choice."""
    fourth = fullness * fullness * fullness * fullness
    pickiness = known["pickiness"] * fourth / (1.0 + fourth)
    return {
        f"weight_{pool}": nature[f"liking_{pool}"] / (1.0 + pickiness * nature[f"second_{pool}"])
        for pool in GROWN_POOLS
    }


def length_cm(mass_g: Quantity, nature: Mapping[str, Quantity]) -> Quantity:
    """Give the length that goes with a mass. [cm]

    Validity
    --------
    As the length-weight relation of the species.

    Source
    ------
    W = a L^b inverted.
    """
    return power(mass_g / nature["weight_a"], 1.0 / nature["weight_b"])


def _traits(
    mass_g: Quantity, count: Quantity, nature: Mapping[str, Quantity], known: Mapping[str, Quantity]
) -> dict[str, Quantity]:
    length = length_cm(mass_g, nature)
    longer = nature["kmax_per_d"] * maximum(nature["adult_cm"] - length, 0.0)
    heavier = nature["weight_b"] * mass_g / length * longer
    size = power(mass_g, nature["intake_exponent"])
    traits = {
        "count": count,
        "growth": heavier * nature["carbon_per_g"],
        "burn": nature["burn_coefficient"] * power(mass_g, nature["burn_exponent"]),
        "capacity": nature["capacity_coefficient"] * size,
        "speed": nature["speed_coefficient"] * size,
        "goal": nature["reserve_share"] * mass_g * nature["carbon_per_g"],
    }
    for food, pool in enumerate(FOOD_POOLS, start=1):
        fit = _fits(known[f"food{food}_particle_mm"], 10.0 * length, nature)
        traits[f"weight_{pool}"] = nature[f"liking_{pool}"] * fit
    return traits


def _fits(particle_mm: Quantity, length_mm: Quantity, nature: Mapping[str, Quantity]) -> Quantity:
    """How well a particle fits between the smallest worth taking and the gape, 0 to 1."""
    large = particle_mm / (nature["gape_share"] * length_mm)
    small = nature["smallest_share"] * length_mm / particle_mm
    large_4, small_4 = large * large * large * large, small * small * small * small
    return 1.0 / ((1.0 + large_4 * large_4) * (1.0 + small_4))
