"""Rate laws of small fauna and of whatever catches particles.

What the arguments mean and in which units they come, `laws.py` says.
"""

from __future__ import annotations

from backreef.models.mathops import Quantity, saturation


def small_fauna_feeding(
    *,
    rate: Quantity,
    temperature: Quantity,
    oxygen: Quantity,
    half_oxygen: Quantity,
    grazers: Quantity,
    food: Quantity,
    half_food: Quantity,
    part: Quantity,
) -> Quantity:
    """Give what pods eat of one food: a type III response to all their food, shared by its parts. [mmol C/d]

    Validity
    --------
    18 to 30 degC; food per area of rock and sand.

    Source
    ------
    bergmans1981 (growth it must allow), practice (half saturation).
    """
    response = food / (half_food * half_food + food * food)
    return rate * temperature * saturation(oxygen, half_oxygen) * grazers * response * part


def crowded_death(
    *, rate: Quantity, crowding: Quantity, temperature: Quantity, area: Quantity, amount: Quantity
) -> Quantity:
    """Give deaths that rise with density. [mmol C/d]

    Validity
    --------
    Pods on rock and sand; predation is not in it.

    Source
    ------
    practice.
    """
    return (rate + crowding * amount / area) * temperature * amount


def particle_capture(
    *, velocity: Quantity, area: Quantity, concentration: Quantity, temperature: Quantity
) -> Quantity:
    """Give particles caught by corals and clams; velocity m/d, concentration umol/L. [mmol C/d]

    Validity
    --------
    Living surface in moving water.

    Source
    ------
    ribes2007.
    """
    return velocity * area * concentration * temperature
