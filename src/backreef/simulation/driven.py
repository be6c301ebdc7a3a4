"""What pumps and lamps make of the plan's devices at an instant, for recorded and plain numbers alike."""

from __future__ import annotations

from collections.abc import Mapping

from backreef.models.mathops import Quantity


def driven(known: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Give the working skimmer and sock, and the light on rock, corals and refugium.

    A skimmer and a sock work while the pumps run; lamps follow the shape of their day, fade with age and
    dim under salt.
    """
    day = known["light_fade"] * known["lamp_clean"] * known["day_shape"]
    return {
        "skimmer": known["skimmer"] * known["pumps"] * (1.0 - known["no_skimmer"]),
        "sock": known["sock"] * known["pumps"],
        "light_display": known["par_display"] * day,
        "light_coral": known["par_coral"] * day,
        "light_refugium": known["par_refugium"] * known["refugium_shape"],
    }
