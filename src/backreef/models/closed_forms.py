"""Answers in closed form to small questions about a tank: the yardsticks the simulation is held against."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.models.constants import LN_2
from backreef.models.mathops import Quantity, exp, log, power


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeCycle:
    """Concentration just before and just after a water change, and its mean between, all in one unit."""

    before: Quantity
    after: Quantity
    mean: Quantity


def water_change_limit(
    source_per_d: Quantity, *, share_frac: Quantity, interval_d: Quantity, new_water: Quantity
) -> ChangeCycle:
    """Give where a steady source ends up under equal water changes. [unit of the source x d]

    Validity
    --------
    One well mixed volume, no other sink; share above 0 and up to 1.

    Source
    ------
    Fixed point of c -> (1 - r) c + r c0 + p T, taken before the change: c0 + p T / r.
    """
    before = new_water + source_per_d * interval_d / share_frac
    after = before - source_per_d * interval_d
    return ChangeCycle(before=before, after=after, mean=0.5 * (before + after))


def water_change_limit_with_removal(
    source_per_d: Quantity,
    *,
    share_frac: Quantity,
    interval_d: Quantity,
    new_water: Quantity,
    removal_per_d: Quantity,
) -> ChangeCycle:
    """Give the same with a first-order removal between changes. [unit of the source x d]

    Validity
    --------
    As `water_change_limit`; removal above 0.

    Source
    ------
    Fixed point of an exponential approach to p/k, interrupted by the change.
    """
    level, kept = source_per_d / removal_per_d, exp(-removal_per_d * interval_d)
    before = (level * (1.0 - kept) + share_frac * new_water * kept) / (1.0 - (1.0 - share_frac) * kept)
    after = (1.0 - share_frac) * before + share_frac * new_water
    mean = level + (after - level) * (1.0 - kept) / (removal_per_d * interval_d)
    return ChangeCycle(before=before, after=after, mean=mean)


def changes_until_within(tolerance_frac: Quantity, *, share_frac: Quantity) -> Quantity:
    """Number of changes after which the gap to the limit has shrunk to a share; round up for whole ones. [-]

    Validity
    --------
    Share above 0 and below 1.

    Source
    ------
    The gap shrinks by (1 - r) at each change.
    """
    return log(tolerance_frac) / log(1.0 - share_frac)


def gas_transfer_per_h(
    transfer_m_per_h: Quantity, *, surface_m2: Quantity, volume_l: Quantity, extra_per_h: Quantity
) -> Quantity:
    """Rate at which a dissolved gas nears balance with the air. [1/h]

    Validity
    --------
    One well mixed volume; `extra` is what overflow and skimmer add.

    Source
    ------
    Film model: k A / V + k_x.
    """
    return transfer_m_per_h * surface_m2 * 1000.0 / volume_l + extra_per_h


def half_time_h(rate_per_h: Quantity) -> Quantity:
    """Time in which a gap halves. [h]

    Validity
    --------
    First-order approach.

    Source
    ------
    ln 2 / k.
    """
    return LN_2 / rate_per_h


def outage_level_mg_per_l(
    saturation_mg_per_l: Quantity, use_mg_per_h: Quantity, *, transfer_l_per_h: Quantity
) -> Quantity:
    """Oxygen at which a steady use and the surface alone hold each other. [mg/L]

    Validity
    --------
    Transfer above 0. A negative level means that the oxygen runs out.

    Source
    ------
    Steady state of V dC/dt = kA (Cs - C) - R.
    """
    return saturation_mg_per_l - use_mg_per_h / transfer_l_per_h


def outage_hours(
    critical_mg_per_l: Quantity,
    *,
    start_mg_per_l: Quantity,
    level_mg_per_l: Quantity,
    transfer_l_per_h: Quantity,
    volume_l: Quantity,
) -> Quantity:
    """Hours after the pumps stop until oxygen has fallen to a critical value. [h]

    Validity
    --------
    Level below the critical value; otherwise it is never reached and the logarithm is not defined.

    Source
    ------
    Solution of the same balance; level from `outage_level_mg_per_l`.
    """
    ratio = (critical_mg_per_l - level_mg_per_l) / (start_mg_per_l - level_mg_per_l)
    return -volume_l / transfer_l_per_h * log(ratio)


def outage_hours_without_surface(
    critical_mg_per_l: Quantity, *, start_mg_per_l: Quantity, use_mg_per_h: Quantity, volume_l: Quantity
) -> Quantity:
    """The same where nothing passes the surface. [h]

    Validity
    --------
    Steady use.

    Source
    ------
    Straight line.
    """
    return volume_l * (start_mg_per_l - critical_mg_per_l) / use_mg_per_h


def iron_oxide_load_mmol_p(
    phosphate_mg_p_per_l: Quantity, *, adsorbent_g: Quantity, capacity_mmol_p_per_g: Quantity
) -> Quantity:
    """Phosphorus on iron oxide in balance with the water. [mmol P]

    Validity
    --------
    0.01 to 1 mg P/L, sea water; the capacity belongs to 1 mg P/L.

    Source
    ------
    Freundlich isotherm with exponent 1/3.
    """
    return capacity_mmol_p_per_g * adsorbent_g * power(phosphate_mg_p_per_l, 1.0 / 3.0)


def carbonate_load_mmol_p(
    phosphate_umol_p_per_l: Quantity,
    *,
    carbonate_kg: Quantity,
    capacity_mmol_p_per_kg: Quantity,
    half_umol_p_per_l: Quantity,
) -> Quantity:
    """Phosphorus on carbonate rock and sand in balance with the water. [mmol P]

    Validity
    --------
    Below 20 umol/L.

    Source
    ------
    Langmuir isotherm.
    """
    share = phosphate_umol_p_per_l / (half_umol_p_per_l + phosphate_umol_p_per_l)
    return capacity_mmol_p_per_kg * carbonate_kg * share
