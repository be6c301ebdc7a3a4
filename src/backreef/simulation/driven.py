"""What pumps and lamps make of the plan's devices at an instant, for recorded and plain numbers alike."""

from __future__ import annotations

from collections.abc import Mapping

from backreef.models.mathops import Quantity, select


def driven(known: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Give what pumps move, the working skimmer and sock, and the light on rock, corals and refugium.

    The return pump draws air where the level has fallen to its inlet. A skimmer and a sock work while it
    runs, as well as their air line and neck are clean; lamps follow the shape of their day, fade with age and
    dim under salt, as does what a cover lets through.
    """
    drowned = known["V"] - known["dry_l"]
    pumps = select(drowned, known["pumps"], 0.0)
    day = known["light_fade"] * known["lamp_clean"] * known["day_shape"]
    through = day * known["cover_clean"]
    skimming = known["skimmer"] * known["skimmer_clean"] * known["neck_clean"]
    return {
        "pumps": pumps,
        "overflow": select(drowned, known["overflow"], 0.0),
        "skimmer": skimming * pumps * (1.0 - known["no_skimmer"]),
        "sock": known["sock"] * pumps,
        "light_display": known["par_display"] * through,
        "light_coral": known["par_coral"] * through,
        "light_refugium": known["par_refugium"] * known["refugium_shape"],
    }
