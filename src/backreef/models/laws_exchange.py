"""Rate laws of simple losses and sources, and of exchange with air, rock and adsorbents.

What the arguments mean and in which units they come, `laws.py` says.
"""

from __future__ import annotations

from backreef.models.mathops import Quantity, power, ramp, saturation


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


def carbonate_dissolution(
    *, rate: Quantity, temperature: Quantity, area: Quantity, threshold: Quantity, aragonite: Quantity
) -> Quantity:
    """Give carbonate that dissolves where the water is less saturated than a threshold. [mmol/d]

    Validity
    --------
    Carbonate sand and rock; above the threshold nothing happens, for what precipitates there is left out.

    Source
    ------
    eyre2018 (form and slope of sands), fogarty2020 (threshold of bare grains).
    """
    return rate * temperature * area * ramp(threshold - aragonite, 0.1)
