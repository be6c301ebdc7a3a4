"""Rate laws of bacteria: growth on organics, breathing nitrate, nitrification, decay.

What the arguments mean and in which units they come, `laws.py` says.
"""

from __future__ import annotations

from backreef.models.mathops import Quantity, saturation, smooth_minimum


def growth_on_organics(
    *,
    rate: Quantity,
    temperature: Quantity,
    oxygen: Quantity,
    half_oxygen: Quantity,
    substrate: Quantity,
    half_substrate: Quantity,
    room: Quantity,
    biomass: Quantity,
) -> Quantity:
    """Give the growth of heterotrophs on organics that carry their own nutrients. [mmol C/d]

    Validity
    --------
    Aerobic, 10 to 32 degC.

    Source
    ------
    henze2000 (form); half saturations of clear sea water.
    """
    limits = saturation(oxygen, half_oxygen) * saturation(substrate, half_substrate) * room
    return rate * temperature * limits * biomass


def growth_on_sugar(
    *,
    rate: Quantity,
    temperature: Quantity,
    oxygen: Quantity,
    half_oxygen: Quantity,
    substrate: Quantity,
    half_substrate: Quantity,
    ammonium: Quantity,
    half_ammonium: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    room: Quantity,
    biomass: Quantity,
) -> Quantity:
    """Give the growth of heterotrophs on carbon without nutrients, which they take from the water. [mmol C/d]

    Validity
    --------
    Aerobic, 10 to 32 degC.

    Source
    ------
    henze2000 (form), butenschoen2016 (nutrient limits).
    """
    nutrients = smooth_minimum(saturation(ammonium, half_ammonium), saturation(phosphate, half_phosphate))
    limits = saturation(oxygen, half_oxygen) * saturation(substrate, half_substrate) * nutrients * room
    return rate * temperature * limits * biomass


def denitrifying_growth(
    *,
    rate: Quantity,
    temperature: Quantity,
    anoxia: Quantity,
    nitrate: Quantity,
    half_nitrate: Quantity,
    substrate: Quantity,
    half_substrate: Quantity,
    nutrients: Quantity,
    room: Quantity,
    biomass: Quantity,
) -> Quantity:
    """Give the growth of biofilm that breathes nitrate. [mmol C/d]

    Validity
    --------
    Biofilm in aerated water keeps a small anoxic share; see `anoxic_share` in water.py.

    Source
    ------
    henze2000, hiatt2008.
    """
    limits = saturation(nitrate, half_nitrate) * saturation(substrate, half_substrate) * nutrients * room
    return rate * temperature * anoxia * limits * biomass


def areal_denitrification(
    *,
    capacity: Quantity,
    temperature: Quantity,
    nitrate: Quantity,
    half_nitrate: Quantity,
    detritus: Quantity,
    half_detritus: Quantity,
) -> Quantity:
    """Give the detritus burnt with nitrate inside rock and sand; 0.8 mmol N per mmol C. [mmol C/d]

    Validity
    --------
    `capacity` in mmol N per day for the whole tank: the knob to fit to a nitrate record.

    Source
    ------
    practice; hiatt2008 (half saturation).
    """
    limits = saturation(nitrate, half_nitrate) * saturation(detritus, half_detritus)
    return capacity * temperature * limits / 0.8


def nitrifier_growth(
    *,
    rate: Quantity,
    temperature: Quantity,
    substrate: Quantity,
    half_substrate: Quantity,
    oxygen: Quantity,
    half_oxygen: Quantity,
    other: Quantity,
    room: Quantity,
    biomass: Quantity,
) -> Quantity:
    """Give the growth of attached nitrifiers. [mmol C/d]

    Validity
    --------
    18 to 32 degC, pH above 7.5.

    Source
    ------
    sin2008 (form and ranges), nijhof1990 (areal ceiling through `room`).
    """
    limits = saturation(substrate, half_substrate) * saturation(oxygen, half_oxygen) * other * room
    return rate * temperature * limits * biomass


def aerobic_decay(
    *, rate: Quantity, temperature: Quantity, oxygen: Quantity, half_oxygen: Quantity, amount: Quantity
) -> Quantity:
    """Give a decay that slows without oxygen. [mmol C/d]

    Validity
    --------
    Attached nitrifiers.

    Source
    ------
    ras_ranges (rate), practice (oxygen).
    """
    return rate * temperature * saturation(oxygen, half_oxygen) * amount
