"""Rate laws of corals, anemones and clams: light, breath, growth and skeleton.

What the arguments mean and in which units they come, `laws.py` says.
"""

from __future__ import annotations

from backreef.models.mathops import Quantity, ramp, saturation, smooth_minimum

_TINY = 1e-12


def coral_calcification(
    *,
    night: Quantity,
    day: Quantity,
    light: Quantity,
    area: Quantity,
    aragonite: Quantity,
    temperature: Quantity,
) -> Quantity:
    """Give skeleton built by corals and clams, in proportion to aragonite supersaturation. [mmol/d]

    It is built faster in light.

    Validity
    --------
    Omega 1 to 6, 22 to 29 degC.

    Source
    ------
    reef_mesocosm (rates), baird2020 (form).
    """
    return (night + (day - night) * light) * area * aragonite * temperature


def coral_photosynthesis(
    *,
    rate: Quantity,
    temperature: Quantity,
    area: Quantity,
    light: Quantity,
    reserve: Quantity,
    store: Quantity,
) -> Quantity:
    """Give carbon fixed by the algae inside corals and clams, slowed by a full store. [mmol C/d]

    Validity
    --------
    22 to 29 degC, healthy symbiosis.

    Source
    ------
    reef_mesocosm.
    """
    fullness = reserve / (store + _TINY)
    return rate * temperature * area * light * (1.0 - 0.5 * fullness / (1.0 + fullness))


def coral_respiration(
    *,
    rate: Quantity,
    temperature: Quantity,
    area: Quantity,
    oxygen: Quantity,
    half_oxygen: Quantity,
    reserve: Quantity,
    half_reserve: Quantity,
) -> Quantity:
    """Give carbon burnt by corals and clams. [mmol C/d]

    Validity
    --------
    22 to 29 degC.

    Source
    ------
    reef_mesocosm: 2 mmol m-2 h-1.
    """
    stocked = reserve / (half_reserve + reserve + _TINY)
    return rate * temperature * area * saturation(oxygen, half_oxygen) * stocked


def coral_exudation(
    *, respiration: Quantity, mucus: Quantity, reserve: Quantity, store: Quantity, surplus: Quantity
) -> Quantity:
    """Give mucus and sugar shed by corals: a share of respiration and what the store cannot hold. [mmol C/d]

    Validity
    --------
    As `coral_respiration`.

    Source
    ------
    practice; order of magnitude of vanhoytema2023.
    """
    return mucus * respiration + surplus * ramp(reserve - store, 0.05 * store + _TINY)


def _coral_growth(
    rate: Quantity, temperature: Quantity, area: Quantity, nitrogen: Quantity, phosphorus: Quantity
) -> Quantity:
    limit = smooth_minimum(smooth_minimum(1.0, nitrogen), phosphorus)
    return rate * temperature * area * limit


def coral_growth_on_ammonium(
    *,
    rate: Quantity,
    temperature: Quantity,
    area: Quantity,
    ammonium: Quantity,
    half_ammonium: Quantity,
    nitrate: Quantity,
    half_nitrate: Quantity,
    nitrate_worth: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    reserve: Quantity,
    half_reserve: Quantity,
    room: Quantity,
) -> Quantity:
    """Give the part of coral tissue growth that uses ammonium. [mmol C/d]

    Validity
    --------
    22 to 29 degC.

    Source
    ------
    practice; rosset2017 for the need of phosphate.
    """
    by_ammonium = saturation(ammonium, half_ammonium)
    by_nitrate = nitrate_worth * saturation(nitrate, half_nitrate)
    by_phosphate = saturation(phosphate, half_phosphate)
    growth = _coral_growth(rate, temperature, area, by_ammonium + by_nitrate, by_phosphate)
    stocked = reserve / (half_reserve + reserve + _TINY)
    return growth * stocked * room * by_ammonium / (by_ammonium + by_nitrate + _TINY)


def coral_growth_on_nitrate(
    *,
    rate: Quantity,
    temperature: Quantity,
    area: Quantity,
    ammonium: Quantity,
    half_ammonium: Quantity,
    nitrate: Quantity,
    half_nitrate: Quantity,
    nitrate_worth: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    reserve: Quantity,
    half_reserve: Quantity,
    room: Quantity,
) -> Quantity:
    """Give the part of coral tissue growth that uses nitrate. [mmol C/d]

    Validity
    --------
    22 to 29 degC.

    Source
    ------
    practice; rosset2017.
    """
    by_ammonium = saturation(ammonium, half_ammonium)
    by_nitrate = nitrate_worth * saturation(nitrate, half_nitrate)
    by_phosphate = saturation(phosphate, half_phosphate)
    growth = _coral_growth(rate, temperature, area, by_ammonium + by_nitrate, by_phosphate)
    stocked = reserve / (half_reserve + reserve + _TINY)
    return growth * stocked * room * by_nitrate / (by_ammonium + by_nitrate + _TINY)


def symbiont_change(
    *,
    rate: Quantity,
    area: Quantity,
    held: Quantity,
    nitrogen: Quantity,
    half_nitrogen: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    cool: Quantity,
) -> Quantity:
    """Give the drift of coloured surface to what phosphate and warmth allow; below 0 corals pale. [m2/d]

    Lack of phosphate tells where inorganic nitrogen is plenty, not where both are scarce.

    Validity
    --------
    Weeks to months; `cool` is 1 well below bleaching and 0 well above.

    Source
    ------
    rosset2017 (direction), practice (speed).
    """
    starved = saturation(nitrogen, half_nitrogen) * (1.0 - saturation(phosphate, half_phosphate))
    return rate * (area * (1.0 - starved) * cool - held)
