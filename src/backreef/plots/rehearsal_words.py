"""Hours, chances and outcomes of a rehearsal in words, the same on every page."""

from __future__ import annotations

from backreef.judgement.rehearsal import LEAST_HEADS, Advice, Chance, Mishap, Mitigation, Outcome, Rehearsal
from backreef.plots.words import minutes_words, plural

RARE, DAY_H = 0.001, 24.0
NOBODY = "nobody before the return"
HONESTY = (
    "Each mishap is simulated with the same draws, from the same morning. At risk: in more than 5 % "
    "of the members. Chances are guesses from common "
    "practice; your own log should replace them. A sick animal needs a vet, a faulty device an electrician."
)

ADVICE_ORDER = (
    "First what asks for work alone, the most spared for an hour of it; then what asks for a device, the "
    "most spared for each. Two things together may spare less than both alone."
)


def hours_words(hours: float | None) -> str:
    """Hours up to two days, then days."""
    if hours is None:
        return "never"
    return f"{hours:.0f} h" if hours < 2 * DAY_H else f"{hours / DAY_H:.1f} days"


def chance_words(chance: Chance) -> str:
    """A chance in percent."""
    if chance.value is None:
        return "not known"
    return percent_words(chance.value)


def percent_words(share: float) -> str:
    """A share in percent, with one decimal below ten."""
    if 0.0 < share < RARE:
        return "under 0.1 %"
    return f"{share:.1%}".replace("%", " %") if share < 0.1 else f"{share:.0%}".replace("%", " %")


def chance_ends(chance: Chance) -> str:
    """Between what a chance lies, or what it is at most where both ends are too small for a number."""
    low, high = percent_words(chance.low), percent_words(chance.high)
    return f"{high} at most" if low == high else f"somewhere between {low} and {high}"


def share_words(outcome: Outcome) -> str:
    """The share of the members in which an animal comes to risk."""
    return f"{outcome.share_at_risk:.0%}".replace("%", " %")


def first_words(outcome: Outcome) -> str:
    """Who comes to risk first, of what, and in how many members."""
    if outcome.hours_to_risk is None:
        return NOBODY
    return f"{outcome.who} {outcome.why}, in {share_words(outcome)} of the members"


def verdict_words(rehearsal: Rehearsal) -> str:
    """Whether the absence holds with nothing going wrong."""
    calm = rehearsal.nothing_wrong
    if rehearsal.nobody_there_for:
        return "Even if nothing goes wrong this does not hold: chores fall where nobody can do them."
    if not rehearsal.holds:
        words = f"{calm.who} {calm.why} after {hours_words(calm.hours_to_risk)}"
        return f"Even if nothing goes wrong: {words}, in {share_words(calm)} of the members."
    return "With nothing going wrong it holds: no animal comes to risk before the return."


def water_words(outcome: Outcome) -> str:
    """How far the water went while nobody was there."""
    worst = outcome.extremes
    return (
        f"oxygen down to {worst['oxygen_mg_per_l.low']:.1f} mg/L, toxic ammonia up to "
        f"{_ammonia_words(worst['ammonia_unionised_mg_n_per_l.high'])} mg/L N, "
        f"{worst['temperature_c.low']:.1f} to "
        f"{worst['temperature_c.high']:.1f} °C, salinity {worst['salinity_psu.low']:.1f} to "
        f"{worst['salinity_psu.high']:.1f} psu"
    )


def _ammonia_words(unionised_mg_n_per_l: float) -> str:
    """Thousandths where they matter, and whole milligrams where nothing lives anyway."""
    return f"{unionised_mg_n_per_l:.{3 if unionised_mg_n_per_l < 1.0 else 0}f}"


def without_help_words(mishap: Mishap) -> str:
    """Why nothing is named that helps against what puts animals at risk; empty where something is."""
    if mishap.mitigations or mishap.outcome.hours_to_risk is None:
        return ""
    if mishap.outcome.harm_heads <= LEAST_HEADS:
        return "Hardly an animal is lost by it, so nothing was tried against it."
    return "Nothing that can be tried against it spares an animal."


def mitigation_words(each: Mitigation) -> tuple[str, str]:
    """What helps, and what it costs and leaves."""
    if each.device_name:
        price = price_words(each.price)
        costs = f"{minutes_words(each.minutes)} min, and a device to buy ({each.device_name}; {price})"
    else:
        costs = f"{minutes_words(each.minutes)} min"
    after = (
        "then nobody comes to risk"
        if each.hours_to_risk_after is None
        else f"then the first after {hours_words(each.hours_to_risk_after)}"
    )
    spared = f"spares {each.harm_avoided_heads:.1f} animals"
    return each.what, f"{costs}; {after}, {spared}"


def price_words(price: str) -> str:
    """What a device costs, as far as anybody says."""
    return f"price {price}" if price else "price not known"


def advice_words(each: Advice) -> tuple[str, str]:
    """What helps over all mishaps, and what it asks for and spares."""
    asks = f"{minutes_words(each.minutes)} min"
    if each.device_name:
        many = f"{each.devices_count} of " if each.devices_count > 1 else ""
        asks += f", {many}{each.device_name} ({price_words(each.price)})"
    of = f"helps against {plural(len(each.against), 'mishap')}"
    if each.chance_unknown:
        of += f", {len(each.chance_unknown)} of them of unknown chance and not counted"
    heads = each.spared_heads / RARE
    spared = f"{heads:.0f} animals" if heads >= 1.0 else "less than one animal"
    return each.what, f"{asks}; spares {spared} in a thousand such absences; {of}"


def away_words(rehearsal: Rehearsal) -> str:
    """How long nobody is there."""
    return f"{plural((rehearsal.until_on - rehearsal.first_on).days, 'day')} away"
