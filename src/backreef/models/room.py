"""Temperature, volume and salinity of the tank in its room, carried over time by exact exponentials."""

from __future__ import annotations

from collections.abc import Mapping

from backreef.models.mathops import Quantity, exp, maximum, minimum, select
from backreef.models.seawater import density_kg_per_m3, heat_capacity_kj_per_kg_per_k

KJ_PER_D_PER_W = 86.4


def after(known: Mapping[str, Quantity], days: Quantity) -> dict[str, Quantity]:
    """Give T, V, S, reservoir, evaporated_l and carbon after so many days.

    The thermostat heats up to what the heater can give and never cools; evaporation is met from the
    reservoir while it lasts, then the level falls and the salt, which stays, is in less water.

    Validity
    --------
    Stretches short against the seasons; well mixed water.

    Source
    ------
    Heat balance with one loss coefficient; definitions.
    """
    temperature, volume = known["T"], known["V"]
    loss = known["heat_loss_w_per_k"]
    room = known["room_temperature"] + known["room_swing"] * known["room_season"]
    idle = room + known["waste_heat_w"] * known["pumps"] / loss
    heated = idle + known["heater_w"] * known["pumps"] / loss
    goal = select(idle - known["set_temperature"], idle, minimum(known["set_temperature"], heated))
    density_kg_per_l = density_kg_per_m3(temperature, known["S"]) * 1e-3
    heat_kj_per_k = volume * density_kg_per_l * heat_capacity_kj_per_kg_per_k(temperature, known["S"])
    forgotten = exp(-days * KJ_PER_D_PER_W * loss / heat_kj_per_k)
    gone = known["evaporation_l_per_d"] * days
    poured = minimum(maximum(known["reservoir"], 0.0), gone)
    left = volume - (gone - poured)
    return {
        "T": goal + (temperature - goal) * forgotten,
        "V": left,
        "S": known["salt"] / left,
        "reservoir": known["reservoir"] - poured,
        "evaporated_l": known["evaporated_l"] + gone,
        "carbon": known["carbon"] * exp(-known["f_carbon"] * days),
    }
