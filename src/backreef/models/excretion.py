"""What animals give off: nitrogen and phosphorus, dissolved or as faeces, and when after a meal."""

from __future__ import annotations

from backreef.models.body_values import Numbers, number
from backreef.models.constants import LN_10
from backreef.models.mathops import Quantity, exp, log

VERTEBRATE_TERM_N = 0.7804
"""Added to log10 for vertebrates by Vanni & McIntyre 2016; see `nitrogen_mg_n_per_d_vanni2016`."""
DIET_TERM_N = {
    "algae_detritus": -0.0389,
    "invert": -0.2013,
    "fish": -0.0537,
    "fish_invert": -0.1732,
    "algae_invert": 0.0,
}
"""Diet terms of the same synthesis, nitrogen."""
DIET_TERM_P = {
    "algae_detritus": 0.0173,
    "invert": -0.2480,
    "fish": -0.0337,
    "fish_invert": -0.4525,
    "algae_invert": 0.0,
}
"""Diet terms of the same synthesis, phosphorus."""


def faeces(intake: Quantity, *, digested_frac: Quantity) -> Quantity:
    """Part of an element eaten that leaves undigested. [unit of intake]

    Validity
    --------
    Digested share 0 to 1.

    Source
    ------
    Definition of apparent digestibility.
    """
    return intake * (1.0 - digested_frac)


def dissolved_output(intake: Quantity, growth: Quantity, *, digested_frac: Quantity) -> Quantity:
    """Part of an element that leaves dissolved: eaten, digested and not grown. [unit of intake]

    Closes at any ration: an adult that does not grow returns all that it digests. Negative when more is
    built in than was digested; then growth has to be lowered, not the output cut.

    Validity
    --------
    Averages over days; nitrogen and phosphorus.

    Source
    ------
    Mass balance (Schiettekatte et al. 2020, Functional Ecology 34:1857-1869).
    """
    return intake * digested_frac - growth


def ammonia_from_feed_g_n_per_d(
    feed_g_per_d: Quantity, protein_frac: Quantity, *, ammonia_per_protein_ratio: Quantity
) -> Quantity:
    """Total ammonia nitrogen from a ration by the fixed factor of fish farming. [g N/d]

    Validity
    --------
    Cross-check of the mass balance at 20 to 30 % retention, 0.7 to 1.3 of this.

    Source
    ------
    Timmons & Ebeling (`excretion` in `data/bodies.toml`).
    """
    return feed_g_per_d * protein_frac * ammonia_per_protein_ratio


def leached_phosphorus(faecal: Quantity, *, leached_frac: Quantity) -> Quantity:
    """Part of faecal phosphorus that is dissolved after a day. [unit of faecal]

    Validity
    --------
    First day; grunts.

    Source
    ------
    Meyer & Schultz 1985, Limnol Oceanogr 30:146-156.
    """
    return faecal * leached_frac


def retention_ratio(harvest: Quantity, stocked: Quantity, fed: Quantity) -> Quantity:
    """Share of an element fed that a farm takes out as fish. [-]

    Validity
    --------
    A whole cycle; all three in one unit.

    Source
    ------
    Mass balance of 20 cages (PMC8459621, table 2).
    """
    return (harvest - stocked) / fed


def nitrogen_mg_n_per_d_vanni2016(
    dry_mass_g: Quantity, temperature_c: Quantity, *, diet: str, vertebrate_term: Quantity = 0.0
) -> Quantity:
    """Nitrogen excreted by one animal on the synthesis line. [mg N/d]

    CAUTION: with its vertebrate term (`VERTEBRATE_TERM_N`) the line is several times too high for settled
    marine fish, 8 times for surgeonfish; without it the error is 2.5 times at most, which is why 0 is the
    default here. Snails and hermit crabs fit only with the term subtracted. Use as a bound.

    Validity
    --------
    Cross-check only, band a factor of 2.5 either way; the original paper was not seen.

    Source
    ------
    Vanni & McIntyre 2016, Ecology 97:3460, as coded in lter/lterwg-marine-cnd
    (scripts-harmonization/step4_consumer_excretion_cal.R).
    """
    exponent = 1.461 + 0.0246 * temperature_c + DIET_TERM_N[diet] + vertebrate_term
    return exp(LN_10 * exponent + 0.6840 * log(dry_mass_g)) * 24.0 / 1000.0


def phosphorus_mg_p_per_d_vanni2016(
    dry_mass_g: Quantity, temperature_c: Quantity, *, diet: str, vertebrate_term: Quantity = 0.0
) -> Quantity:
    """Phosphorus excreted by one animal on the synthesis line. [mg P/d]

    Validity
    --------
    As `nitrogen_mg_n_per_d_vanni2016`, with the same caution.

    Source
    ------
    Vanni & McIntyre 2016, Ecology 97:3460, as coded in lter/lterwg-marine-cnd.
    """
    exponent = 0.6757 + 0.0194 * temperature_c + DIET_TERM_P[diet] + vertebrate_term
    return exp(LN_10 * exponent + 0.5656 * log(dry_mass_g)) * 24.0 / 1000.0


def family_nitrogen_mg_n_per_d(mass_g: Quantity, numbers: Numbers, *, family: str) -> Quantity:
    """Nitrogen excreted by a Caribbean reef fish of a family. [mg N/d]

    Validity
    --------
    Cross-check only, half either way; the unit of the source is inferred.

    Source
    ------
    Burkepile et al. 2013, Sci Rep 3:1493, table S1 (`family_nitrogen` in `data/bodies.toml`).
    """
    key = f"family_nitrogen.{family.lower()}"
    slope = number(numbers, f"{key}.slope_g_n_per_g_per_d")
    return 1000.0 * (slope * mass_g + number(numbers, f"{key}.intercept_g_n_per_d"))


def post_meal_share_per_h(hours_since_meal: Quantity, *, peak_h: Quantity) -> Quantity:
    """Share of a meal's ammonia that leaves per hour, so many hours after the meal. [1/h]

    The output of two equal stores in a row, each emptying at 1/peak per hour; a kernel can carry it as two
    states. The whole area is 1.

    Validity
    --------
    Hours 0 or more; warm-water fish peak earlier than the turbot at 12 degC it was shaped on.

    Source
    ------
    Shape: own; peak at 3 to 6 h, Yigit et al. 2005.
    """
    return hours_since_meal / (peak_h * peak_h) * exp(-hours_since_meal / peak_h)


def post_meal_ratio(hours_since_meal: Quantity, *, peak_h: Quantity, peak_ratio: Quantity) -> Quantity:
    """Ammonia output after one meal over that of a starved fish. [-]

    Validity
    --------
    One meal; as `post_meal_share_per_h`.

    Source
    ------
    Yigit et al. 2005: 2 to 3 times at the peak (`excretion` in `data/bodies.toml`).
    """
    pulse = hours_since_meal / peak_h * exp(1.0 - hours_since_meal / peak_h)
    return 1.0 + (peak_ratio - 1.0) * pulse
