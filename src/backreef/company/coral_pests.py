"""Flatworms that eat stony corals, through dips: what a dip kills, what hatches later."""

from __future__ import annotations

from collections.abc import Collection

from backreef.company.hazards import number

SEEN_COUNT = 1.0
"""Worms on a colony from which they count as there."""


def worms_by_day(
    days: int, *, dips: Collection[int] = (), hunted_frac_per_d: float = 0.0, start_count: float = 10.0
) -> list[float]:
    """Adults on the corals of a tank, day after day, from some adults and their eggs on the first.

    `hunted_frac_per_d` is the share of worms that a wrasse takes in a day; it takes no eggs.

    Validity
    --------
    About 27 degC; eggs laid on bare skeleton, out of reach of a dip; crowding only by a ceiling.

    Source
    ------
    Hatching after 11 days and maturity at 35: Barton et al. 2019 (abstract);
    eggs a day, the share that a dip kills and the ceiling: common practice, no source.
    """
    hatch, mature = round(number("flatworm_hatch_d")), round(number("flatworm_mature_d"))
    eggs = [start_count * number("flatworm_eggs_per_d")] * hatch
    young = [0.0] * (mature - hatch)
    adults, seen = start_count, []
    for day in range(days):
        kept = 1.0 - (number("flatworm_dip_frac") if day in dips else 0.0)
        kept *= 1.0 - hunted_frac_per_d
        adults, young = adults * kept, [count * kept for count in young]
        adults, young = adults + young[-1], [eggs[-1], *young[:-1]]
        laid = adults * number("flatworm_eggs_per_d") if adults >= SEEN_COUNT else 0.0
        eggs = [laid, *eggs[:-1]]
        adults = min(adults, number("flatworm_most_count"))
        seen.append(adults if adults >= SEEN_COUNT else 0.0)
    return seen
