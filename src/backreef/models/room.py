"""Temperature, volume and salinity of the tank in its room, lamps, media and dirt, over a stretch of time."""

from __future__ import annotations

import math
from collections.abc import Mapping

from backreef.models.mathops import Quantity, exp, maximum, minimum, select
from backreef.models.seawater import density_kg_per_m3, heat_capacity_kj_per_kg_per_k

KJ_PER_D_PER_W = 86.4
WEARING = (
    ("skimmer_clean", "skimmer", "scaled", "scales_per_d"),
    ("neck_clean", "neck", "fouled", "fouls_per_d"),
    ("pump_clean", "pump", "scaled", "scales_per_d"),
    ("cover_clean", "cover", "fouled", "fouls_per_d"),
)
"""What dirt slows: its register, its name, and the names of what is left in the end and of how fast."""


def after(known: Mapping[str, Quantity], days: Quantity) -> dict[str, Quantity]:
    """Give the registers that change on their own after so many days: heat, water, lamps, media, dirt.

    Validity
    --------
    Stretches short against the seasons; well mixed water.

    Source
    ------
    Heat balance and water balance of a well mixed volume; definitions.
    """
    return _warmth(known, days) | _water(known, days) | _lamps_and_media(known, days) | _neglect(known, days)


def wet_bulb_depression_k(temperature_c: float, humidity_frac: float) -> float:
    """Give how far the wet bulb of moist air is below its temperature. [K]

    Validity
    --------
    -20 to 50 degC and 5 to 99 % of moisture at sea level; errs by less than 1 K.

    Source
    ------
    Stull 2011, J. Appl. Meteorol. Climatol. 50, eq. 1; from memory.
    """
    percent = 100.0 * humidity_frac
    wet_bulb_c = (
        temperature_c * math.atan(0.151977 * math.sqrt(percent + 8.313659))
        + math.atan(temperature_c + percent)
        - math.atan(percent - 1.676331)
        + 0.00391838 * percent**1.5 * math.atan(0.023101 * percent)
        - 4.686035
    )
    return float(temperature_c - wet_bulb_c)


def _drift(now: Quantity, end: Quantity, left: Quantity) -> Quantity:
    """What lies between now and the end when this share of the difference is left."""
    return end + (now - end) * left


def _warmth(known: Mapping[str, Quantity], days: Quantity) -> dict[str, Quantity]:
    """Temperature: losses to the room and, by evaporation, to its wet bulb; pumps, lamps and thermostats.

    The heater heats at full power until its temperature is met; the chiller cools likewise from above.
    """
    temperature = known["T"]
    room = known["room_temperature"] + known["room_swing"] * known["room_season"]
    wet_bulb = room - known["wet_bulb_k"]
    dry, wet = known["heat_loss_w_per_k"], known["evaporation_w_per_k"]
    loss = dry + wet
    lit = known["light_fade"] * (known["day_shape"] + 0.5 * known["day_slope"] * days)
    running = known["pumps"]
    given_w = known["pump_heat_w"] * running + known["lamp_heat_w"] * lit
    idle = (dry * room + wet * wet_bulb + given_w) / loss
    heater_w = known["heater_w"] * running * (1.0 - known["no_heater"])
    left = exp(-days * KJ_PER_D_PER_W * loss / _heat_kj_per_k(known))
    free = _drift(temperature, idle, left)
    full = _drift(temperature, idle + heater_w / loss, left)
    cooled = _drift(temperature, idle - known["chiller_w"] * running / loss, left)
    set_c = known["set_temperature"] + known["thermostat_off"]
    held = maximum(free, minimum(set_c, full))
    held = select(known["heater_stuck"], full, held)
    chilled = minimum(held, maximum(known["chill_from"], cooled))
    return {"T": select(known["chiller_w"] * running, chilled, held)}


def _heat_kj_per_k(known: Mapping[str, Quantity]) -> Quantity:
    temperature, salinity = known["T"], known["S"]
    density_kg_per_l = density_kg_per_m3(temperature, salinity) * 1e-3
    return known["V"] * density_kg_per_l * heat_capacity_kj_per_kg_per_k(temperature, salinity)


def _water(known: Mapping[str, Quantity], days: Quantity) -> dict[str, Quantity]:
    """Evaporation goes with the warmth above the wet bulb; the top-off fills to its mark from its reservoir.

    When that is empty the level falls, and the salt, which stays, is in less water; above the mark the
    top-off waits. One that is stuck open pours until the reservoir is empty; so does one whose sensor sticks
    under slime, or else it gives nothing. Make-up water passes a resin that lets more through as it is spent.
    """
    volume, there = known["V"], maximum(known["reservoir"], 0.0)
    wet_bulb = known["room_temperature"] + known["room_swing"] * known["room_season"] - known["wet_bulb_k"]
    warmth = maximum(known["T"] - wet_bulb, 0.0) / known["above_wet_bulb_k"]
    gone = known["evaporation_l_per_d"] * warmth * days
    floods, shut = _sticking(known)
    short = maximum(known["mark_l"] - (volume - gone), 0.0) * (1.0 - known["no_top_off"]) * (1.0 - shut)
    wanted = select(known["top_off_open"] + floods, gone + known["top_off_open_l_per_d"] * days, short)
    poured = minimum(there, wanted)
    left = volume - (gone - poured)
    resin = known["resin_l"] - poured
    spent = 1.0 - resin / known["resin_fades_l"]
    return {
        "V": left,
        "S": known["salt"] / left,
        "reservoir": known["reservoir"] - poured,
        "evaporated_l": known["evaporated_l"] + gone,
        "resin_l": resin,
        "leak": minimum(maximum(spent, 0.0), 1.0),
        "raw_l": known["raw_l"] + poured * known["leak"],
    }


def _sticking(known: Mapping[str, Quantity]) -> tuple[Quantity, Quantity]:
    """Whether the top-off's sensor sticks so that it floods, and so that it gives nothing: 0 or 1 each.

    A sensor that has stood unwiped for as long as it bears sticks, each member's its own way.
    """
    stuck = select(known["float_fouled"] - 1.0, 1.0, 0.0)
    floods = select(known["float_floods"], stuck, 0.0)
    return floods, stuck - floods


def _lamps_and_media(known: Mapping[str, Quantity], days: Quantity) -> dict[str, Quantity]:
    """Lamps fade with age and under salt; carbon fades with time and with what it has taken up."""
    dust = known["lamp_dusted"]
    taken = known["k_carbon"] * known["S_DOR"] / known["carbon_holds_mmol"]
    return {
        "light_fade": known["light_fade"] * exp(-known["lamp_fades_per_d"] * days),
        "lamp_clean": _drift(known["lamp_clean"], dust, exp(-known["lamp_dusts_per_d"] * days)),
        "carbon": known["carbon"] * exp(-(known["f_carbon"] + taken) * days),
    }


def _neglect(known: Mapping[str, Quantity], days: Quantity) -> dict[str, Quantity]:
    """What dirt and time do to machines and instruments until somebody serves or calibrates them.

    Scale and slime leave a skimmer, its neck and the pumps a share of what they do when clean, and salt a
    cover a share of its light; what shows salinity and what holds the temperature wander off, each its own
    way; slime grows on the sensor of the top-off.
    """
    left = {
        name: _drift(known[f"{part}_clean"], known[f"{part}_{worn}"], exp(-known[f"{part}_{rate}"] * days))
        for name, part, worn, rate in WEARING
    }
    return left | {
        "salinity_off": known["salinity_off"] + known["salinity_drifts_psu_per_d"] * days,
        "float_fouled": known["float_fouled"] + known["float_fouls_per_d"] * days,
        "thermostat_off": known["thermostat_off"] + known["thermostat_drifts_k_per_d"] * days,
    }
