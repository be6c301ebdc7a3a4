"""Rate laws of algae: growth on ammonium and nitrate in shaded layers, and the chalk of crusts.

What the arguments mean and in which units they come, `laws.py` says.
"""

from __future__ import annotations

from backreef.models.mathops import Quantity, exp, saturation, smooth_minimum

_TINY = 1e-12


def _ammonium_limit(ammonium: Quantity, half_ammonium: Quantity) -> Quantity:
    return saturation(ammonium, half_ammonium)


def _nitrate_limit(nitrate: Quantity, half_nitrate: Quantity, ammonium: Quantity, shun: Quantity) -> Quantity:
    """Nitrate is taken less where ammonium is at hand."""
    return saturation(nitrate, half_nitrate) * shun / (shun + ammonium)


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
    other_limit: Quantity = 1.0,
) -> Quantity:
    lit = 1.0 - exp(-light / half_light)
    nutrients = smooth_minimum(smooth_minimum(other_limit, nitrogen_limit), phosphorus_limit)
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
    shun: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    biomass: Quantity,
    crowding: Quantity,
) -> Quantity:
    """Give the part of algal growth that uses ammonium; a layer shades itself. [mmol C/d]

    Validity
    --------
    Instantaneous rate under the light of the moment; `crowding` is the self-shading biomass in mmol C, `shun`
    the ammonium at which nitrate is taken at half speed.

    Source
    ------
    algae_fit; preference for ammonium after baird2020.
    """
    by_ammonium = _ammonium_limit(ammonium, half_ammonium)
    by_nitrate = _nitrate_limit(nitrate, half_nitrate, ammonium, shun)
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
    shun: Quantity,
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
    by_nitrate = _nitrate_limit(nitrate, half_nitrate, ammonium, shun)
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


def coralline_calcification(*, growth: Quantity, aragonite: Quantity, chalk: Quantity) -> Quantity:
    """Give carbonate laid down by coralline algae, `chalk` for each carbon fixed. [mmol/d]

    Validity
    --------
    Growing crusts in supersaturated water.

    Source
    ------
    practice.
    """
    return chalk * growth * aragonite


def diatom_growth_on_ammonium(
    *,
    rate: Quantity,
    temperature: Quantity,
    light: Quantity,
    half_light: Quantity,
    ammonium: Quantity,
    half_ammonium: Quantity,
    nitrate: Quantity,
    half_nitrate: Quantity,
    shun: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    silicate: Quantity,
    half_silicate: Quantity,
    biomass: Quantity,
    crowding: Quantity,
) -> Quantity:
    """Give the part of the growth of diatoms that uses ammonium; silicate limits it too. [mmol C/d]

    Validity
    --------
    As `algal_growth_on_ammonium`.

    Source
    ------
    As `algal_growth_on_ammonium`; silicate after Monod.
    """
    by_ammonium = _ammonium_limit(ammonium, half_ammonium)
    by_nitrate = _nitrate_limit(nitrate, half_nitrate, ammonium, shun)
    growth = _algal_growth(
        rate=rate,
        temperature=temperature,
        light=light,
        half_light=half_light,
        nitrogen_limit=by_ammonium + by_nitrate,
        phosphorus_limit=saturation(phosphate, half_phosphate),
        biomass=biomass,
        crowding=crowding,
        other_limit=saturation(silicate, half_silicate),
    )
    return growth * by_ammonium / (by_ammonium + by_nitrate + _TINY)


def diatom_growth_on_nitrate(
    *,
    rate: Quantity,
    temperature: Quantity,
    light: Quantity,
    half_light: Quantity,
    ammonium: Quantity,
    half_ammonium: Quantity,
    nitrate: Quantity,
    half_nitrate: Quantity,
    shun: Quantity,
    phosphate: Quantity,
    half_phosphate: Quantity,
    silicate: Quantity,
    half_silicate: Quantity,
    biomass: Quantity,
    crowding: Quantity,
) -> Quantity:
    """Give the part of the growth of diatoms that uses nitrate; silicate limits it too. [mmol C/d]

    Validity
    --------
    As `algal_growth_on_ammonium`.

    Source
    ------
    As `algal_growth_on_ammonium`; silicate after Monod.
    """
    by_ammonium = _ammonium_limit(ammonium, half_ammonium)
    by_nitrate = _nitrate_limit(nitrate, half_nitrate, ammonium, shun)
    growth = _algal_growth(
        rate=rate,
        temperature=temperature,
        light=light,
        half_light=half_light,
        nitrogen_limit=by_ammonium + by_nitrate,
        phosphorus_limit=saturation(phosphate, half_phosphate),
        biomass=biomass,
        crowding=crowding,
        other_limit=saturation(silicate, half_silicate),
    )
    return growth * by_nitrate / (by_ammonium + by_nitrate + _TINY)
