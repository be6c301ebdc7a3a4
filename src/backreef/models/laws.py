"""The rate laws that rows of `data/processes.csv` name.

Each is one function of quantities (numbers, arrays or symbols) that gives a rate in mmol per day for the whole system.
Concentrations are in umol/L, amounts in mmol, areas in m2, light in umol photons m-2 s-1, rates per day. What the
arguments are, a row of the table says; every law is smooth and 0 when the thing it uses up is 0.
"""

from __future__ import annotations

from backreef.models.mathops import Quantity, exp, power, ramp, saturation, smooth_minimum

_TINY = 1e-12


def first_order(*, rate: Quantity, temperature: Quantity, amount: Quantity) -> Quantity:
    """Give a loss in proportion to what is there. [mmol/d]

    Validity
    --------
    Any amount; `temperature` is a factor, 1 where the process does not depend on it.

    Source
    ------
    Definition.
    """
    return rate * temperature * amount


def constant_source(*, rate: Quantity, area: Quantity, open: Quantity) -> Quantity:  # noqa: A002
    """Give a steady small supply per area. [mmol/d]

    Validity
    --------
    Spores and stragglers that let a group return; `open` is 0 in a sterile start.

    Source
    ------
    practice.
    """
    return rate * area * open


def gas_transfer(
    *, transfer: Quantity, saturation: Quantity, concentration: Quantity, volume: Quantity
) -> Quantity:
    """Give the exchange with the air, positive into the water. [mmol/d]

    Validity
    --------
    Well mixed water; `transfer` per day, concentrations umol/L, volume L.

    Source
    ------
    Two-film theory with a liquid-side transfer coefficient.
    """
    return transfer * (saturation - concentration) * volume * 1e-3


def langmuir_exchange(
    *, rate: Quantity, capacity: Quantity, half: Quantity, concentration: Quantity, held: Quantity
) -> Quantity:
    """Give the drift of a sorbed amount towards its Langmuir target; negative where it releases. [mmol/d]

    Validity
    --------
    Phosphate on carbonate, 0 to 30 umol/L.

    Source
    ------
    Langmuir isotherm; rate of the order of baird2020.
    """
    return rate * (capacity * saturation(concentration, half) - held)


def freundlich_exchange(
    *, rate: Quantity, capacity: Quantity, phosphorus_mg_per_l: Quantity, held: Quantity
) -> Quantity:
    """Give the drift of a sorbed amount towards its Freundlich target with exponent 1/3. [mmol/d]

    The cube root is taken as P / (P + 1e-4 mg/L)^(2/3), which is 0 and smooth at 0.

    Validity
    --------
    Phosphate on iron oxide in sea water, 0.001 to 1 mg P/L.

    Source
    ------
    chitrakar2006.
    """
    root = phosphorus_mg_per_l / power(phosphorus_mg_per_l + 1e-4, 2.0 / 3.0)
    return rate * (capacity * root - held)


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


def _ammonium_limit(ammonium: Quantity, half_ammonium: Quantity) -> Quantity:
    return saturation(ammonium, half_ammonium)


def _nitrate_limit(nitrate: Quantity, half_nitrate: Quantity, ammonium: Quantity) -> Quantity:
    """Nitrate is taken less where ammonium is at hand."""
    return saturation(nitrate, half_nitrate) * 2.0 / (2.0 + ammonium)


def _algal_growth(
    *,
    rate: Quantity,
    temperature: Quantity,
    light: Quantity,
    half_light: Quantity,
    nitrogen_limit: Quantity,
    phosphorus_limit: Quantity,
    biomass: Quantity,
    crowding: Quantity,
) -> Quantity:
    lit = 1.0 - exp(-light / half_light)
    nutrients = smooth_minimum(smooth_minimum(1.0, nitrogen_limit), phosphorus_limit)
    return rate * temperature * lit * nutrients * biomass / (1.0 + biomass / crowding)


def algal_growth_on_ammonium(
    *,
    rate: Quantity,
    temperature: Quantity,
    light: Quantity,
    half_light: Quantity,
    ammonium: Quantity,
    half_ammonium: Quantity,
    nitrate: Quantity,
    half_nitrate: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    biomass: Quantity,
    crowding: Quantity,
) -> Quantity:
    """Give the part of algal growth that uses ammonium; a layer shades itself. [mmol C/d]

    Validity
    --------
    Instantaneous rate under the light of the moment; `crowding` is the self-shading biomass in mmol C.

    Source
    ------
    algae_fit; preference for ammonium after baird2020.
    """
    by_ammonium = _ammonium_limit(ammonium, half_ammonium)
    by_nitrate = _nitrate_limit(nitrate, half_nitrate, ammonium)
    growth = _algal_growth(
        rate=rate,
        temperature=temperature,
        light=light,
        half_light=half_light,
        nitrogen_limit=by_ammonium + by_nitrate,
        phosphorus_limit=saturation(phosphate, half_phosphate),
        biomass=biomass,
        crowding=crowding,
    )
    return growth * by_ammonium / (by_ammonium + by_nitrate + _TINY)


def algal_growth_on_nitrate(
    *,
    rate: Quantity,
    temperature: Quantity,
    light: Quantity,
    half_light: Quantity,
    ammonium: Quantity,
    half_ammonium: Quantity,
    nitrate: Quantity,
    half_nitrate: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    biomass: Quantity,
    crowding: Quantity,
) -> Quantity:
    """Give the part of algal growth that uses nitrate. [mmol C/d]

    Validity
    --------
    As `algal_growth_on_ammonium`.

    Source
    ------
    algae_fit; baird2020.
    """
    by_ammonium = _ammonium_limit(ammonium, half_ammonium)
    by_nitrate = _nitrate_limit(nitrate, half_nitrate, ammonium)
    growth = _algal_growth(
        rate=rate,
        temperature=temperature,
        light=light,
        half_light=half_light,
        nitrogen_limit=by_ammonium + by_nitrate,
        phosphorus_limit=saturation(phosphate, half_phosphate),
        biomass=biomass,
        crowding=crowding,
    )
    return growth * by_nitrate / (by_ammonium + by_nitrate + _TINY)


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


def coral_calcification(
    *,
    night: Quantity,
    day: Quantity,
    light: Quantity,
    area: Quantity,
    aragonite: Quantity,
    temperature: Quantity,
) -> Quantity:
    """Give skeleton built by corals and clams, faster in light, in proportion to aragonite supersaturation. [mmol/d]

    Validity
    --------
    Omega 1 to 6, 22 to 29 degC.

    Source
    ------
    reef_mesocosm (rates), baird2020 (form).
    """
    return (night + (day - night) * light) * area * aragonite * temperature


def coralline_calcification(*, growth: Quantity, aragonite: Quantity) -> Quantity:
    """Give carbonate laid down by coralline algae: 0.8 mol per mol of carbon fixed. [mmol/d]

    Validity
    --------
    Growing crusts in supersaturated water.

    Source
    ------
    practice.
    """
    return 0.8 * growth * aragonite


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


def coral_exudation(*, respiration: Quantity, reserve: Quantity, store: Quantity) -> Quantity:
    """Give mucus and sugar shed by corals: a share of respiration and what the store cannot hold. [mmol C/d]

    Validity
    --------
    As `coral_respiration`.

    Source
    ------
    practice; order of magnitude of vanhoytema2023.
    """
    return 0.12 * respiration + 0.3 * ramp(reserve - store, 0.05 * store + _TINY)


def _coral_growth(
    rate: Quantity, temperature: Quantity, area: Quantity, nitrogen: Quantity, phosphate: Quantity
) -> Quantity:
    limit = smooth_minimum(smooth_minimum(1.0, nitrogen), saturation(phosphate, 0.05))
    return rate * temperature * area * limit


def coral_growth_on_ammonium(
    *,
    rate: Quantity,
    temperature: Quantity,
    area: Quantity,
    ammonium: Quantity,
    nitrate: Quantity,
    phosphate: Quantity,
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
    by_ammonium = saturation(ammonium, 0.5)
    by_nitrate = 0.6 * saturation(nitrate, 1.5)
    growth = _coral_growth(rate, temperature, area, by_ammonium + by_nitrate, phosphate)
    stocked = reserve / (half_reserve + reserve + _TINY)
    return growth * stocked * room * by_ammonium / (by_ammonium + by_nitrate + _TINY)


def coral_growth_on_nitrate(
    *,
    rate: Quantity,
    temperature: Quantity,
    area: Quantity,
    ammonium: Quantity,
    nitrate: Quantity,
    phosphate: Quantity,
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
    by_ammonium = saturation(ammonium, 0.5)
    by_nitrate = 0.6 * saturation(nitrate, 1.5)
    growth = _coral_growth(rate, temperature, area, by_ammonium + by_nitrate, phosphate)
    stocked = reserve / (half_reserve + reserve + _TINY)
    return growth * stocked * room * by_nitrate / (by_ammonium + by_nitrate + _TINY)


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
