"""The share of total ammonia that is un-ionised NH3, which gills let pass."""

from __future__ import annotations

from backreef.models.constants import KELVIN_AT_0_C, LN_10
from backreef.models.mathops import Quantity, exp, sqrt


def ammonium_pk(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Acidity of ammonium: the pH (total scale) at which half of total ammonia is NH3. [-]

    Validity
    --------
    -2 to 40 degC, salinity 0 to 40, total pH scale, one atmosphere. The equation stands for mol per kg of
    water; as mol per kg of sea water the value would be 0.016 higher at salinity 35, which the printed
    shares leave out.

    Source
    ------
    Clegg & Whitfield 1995, Geochim Cosmochim Acta 59:2403-2421, eq. 18. One public transcription puts a
    bracket in the wrong place and multiplies the salt terms by 2729.33; this form gives the printed shares
    0.0556 and 0.0358 for pH 8.0 and 7.8 at 25 degC, salinity 35.
    """
    kelvin, s = temperature_c + KELVIN_AT_0_C, salinity_psu
    warm, root = sqrt(kelvin), sqrt(s)
    quarter = 0.04203362 - 11.24742 / kelvin
    half = -13.6416 + 1.176949 * warm - 0.02860785 * kelvin + 545.4834 / kelvin
    one_and_half = -0.1462507 + 0.0090226468 * warm - 0.0001471361 * kelvin + 10.5425 / kelvin
    two = 0.004669309 - 0.0001691742 * warm - 0.5677934 / kelvin
    two_and_half = -2.354039e-5 + 0.009698623 / kelvin
    salt = quarter * sqrt(root) + half * root + s * (one_and_half * root + s * (two + two_and_half * root))
    return 9.244605 - 2729.33 * (1.0 / 298.15 - 1.0 / kelvin) + salt


def ammonium_constant_umol_per_kg(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Hydrogen ion concentration at which half of total ammonia is NH3. [umol/kg]

    Validity
    --------
    As `ammonium_pk`.

    Source
    ------
    As `ammonium_pk`.
    """
    return exp(LN_10 * (6.0 - ammonium_pk(temperature_c, salinity_psu)))


def nh3_share(ph_total: Quantity, temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Un-ionised share of total ammonia, 0 to 1. [-]

    Validity
    --------
    As `ammonium_pk`. The pH is that of the total scale, not of a probe set with freshwater buffers.

    Source
    ------
    Mass action with the constant of Clegg & Whitfield 1995.
    """
    return 1.0 / (1.0 + exp(LN_10 * (ammonium_pk(temperature_c, salinity_psu) - ph_total)))


def nh3_share_at_hydrogen(hydrogen: Quantity, ammonium_constant: Quantity) -> Quantity:
    """Un-ionised share of total ammonia where the hydrogen ion is known; both in the same unit. [-]

    Validity
    --------
    As `ammonium_pk`.

    Source
    ------
    Mass action.
    """
    return ammonium_constant / (ammonium_constant + hydrogen)
