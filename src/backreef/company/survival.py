"""Every hazard of a plan: settling in, leaps, falls, wrong food, disease, rivals, mouths."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from itertools import pairwise
from typing import Literal

from backreef.company.attacks import attacks, eaten
from backreef.company.cleaners import WEEKS_PER_YEAR, unseen_frac
from backreef.company.counted import graver
from backreef.company.findings import CheckFinding, Resident, Setting, rule_number, rules
from backreef.company.hazards import (
    Hazard,
    Outbreak,
    Rate,
    apart_d,
    day_of,
    hazard,
    number,
    rate_of,
    rate_that_loses,
)
from backreef.company.hungry import needs_plants
from backreef.units import DAYS_PER_YEAR


def hazards_of(setting: Setting) -> tuple[Hazard, ...]:
    """Every hazard of a plan, by entry and cause."""
    found = [hazard for cause in CAUSES for hazard in cause(setting)]
    return tuple(one for one in found if one.until_day > one.since_day and one.rate.value_per_y > 0)


# --- one animal by itself -------------------------------------------------------------------------------


def settling(setting: Setting) -> Iterator[Hazard]:
    """Transport, new water, new food: the first weeks of whoever comes."""
    days = number("settling_days")
    for one in setting.residents:
        if one.entry.arrives_on is None:
            continue
        rate = _settling_rate(one)
        if is_quarantined(one, setting):
            rate = rate.times(number("settling_quarantined_ratio"))
        yield hazard(one, setting, "settling in", graver(rate, one.species.id), days=days)


def _settling_rate(one: Resident) -> Rate:
    """Rate of death of a newcomer that goes straight into the display."""
    rate = rate_that_loses(f"settling_{one.species.hardiness}_frac", days=number("settling_days"))
    return rate.times(number("settling_farm_bred_ratio")) if one.species.captive_bred == "common" else rate


def is_quarantined(one: Resident, setting: Setting) -> bool:
    """Whether a fish is kept apart for long enough to settle there."""
    return one.is_fish and apart_d(one, setting) >= rule_number("quarantine_least_d")


def out_of_quarantine_frac(one: Resident, setting: Setting) -> tuple[float, float, float] | None:
    """Share of the fish bought that come out of their quarantine: low, middle and high; None without one.

    Validity
    --------
    The deaths that a quarantine spares the display fall in it instead; disease that it finds, and treatments,
    are not in it.

    Source
    ------
    Own rule, from the rates of settling in with and without a quarantine.
    """
    if not is_quarantined(one, setting) or one.entry.arrives_on is None:
        return None
    spared = _settling_rate(one).times(1.0 - number("settling_quarantined_ratio"))
    years = number("settling_days") / DAYS_PER_YEAR
    rates = (spared.high_per_y, spared.value_per_y, spared.low_per_y)
    low, middle, high = (math.exp(-rate * years) for rate in rates)
    return low, middle, high


def leaping(setting: Setting) -> Iterator[Hazard]:
    """Fish that leap out of an open tank."""
    if setting.plan.tank.lid != "open":
        return
    for one in setting.residents:
        name = {"high": "leaps_high_per_y", "climbs": "leaps_high_per_y", "low": "leaps_low_per_y"}
        if one.species.jumps in name:
            yield hazard(one, setting, "leaps", rate_of(name[one.species.jumps]))


def falling(setting: Setting) -> Iterator[Hazard]:
    """Snails on their backs that nobody turns over in time."""
    row = rules()["numbers"]["falls_per_week"]
    if setting.plan.tank.sand_area_m2 <= 0:
        return
    weeks = WEEKS_PER_YEAR * unseen_frac(setting)
    rate = Rate(value_per_y=row["value"], low_per_y=row["low"], high_per_y=row["high"]).times(weeks)
    for one in setting.residents:
        if setting.guild(one).light_fed or one.species.self_rights not in ("no", "partly"):
            continue
        harmed = 1.0 if one.species.self_rights == "no" else number("partly_rights_ratio")
        yield hazard(one, setting, "falls", rate.times(harmed))


def lacking_plants(setting: Setting) -> Iterator[Hazard]:
    """Plant eaters without plants, which fall ill after months."""
    found = (one for one in needs_plants(setting) if isinstance(one, CheckFinding))
    meant = {one.id.partition(".")[2] for one in found if one.weight != "note"}
    for one in setting.residents:
        if one.entry.id in meant:
            since = day_of(one, setting) + round(number("wrong_diet_days"))
            yield hazard(one, setting, "wrong food", rate_of("wrong_diet_per_y"), since_day=since)


# --- disease --------------------------------------------------------------------------------------------


def carrier_chance_frac(*, watched_d: float, treated: bool) -> float:
    """Chance that a batch of fish brings a parasite into the display after its quarantine.

    Validity
    --------
    Fish from a mixed trade; a treatment that is too short counts as watching, and is for a vet to choose.

    Source
    ------
    Common practice, no source; 76 days outlast the cysts of white spot.
    """
    kept_out = (
        number("treated_frac") if treated and watched_d >= number("treatment_d") else _watched(watched_d)
    )
    return number("carrier_frac") * (1.0 - kept_out)


def _watched(days: float) -> float:
    points = (
        (0.0, 0.0),
        (number("watching_short_d"), number("watching_short_frac")),
        (number("watching_long_d"), number("watching_long_frac")),
        (number("watching_whole_d"), number("watching_whole_frac")),
    )
    for (first, below), (last, above) in pairwise(points):
        if days <= last:
            return below + (above - below) * (days - first) / (last - first)
    return points[-1][1]


def outbreaks(setting: Setting, *, watched_d: float, treated: bool) -> Iterator[Hazard]:
    """Two waves of disease in all fish after each batch, where it brings it, for one quarantine."""
    chance = carrier_chance_frac(watched_d=watched_d, treated=treated)
    for on in _batches(setting):
        yield from _outbreak(on, chance, setting)


def _batches(setting: Setting) -> list[date]:
    """Days on which fish come."""
    return sorted({one.entry.arrives_on for one in setting.residents if one.is_fish and one.entry.arrives_on})


def _outbreak(on: date, chance_frac: float, setting: Setting) -> Iterator[Hazard]:
    outbreak = Outbreak(name=f"disease brought on {on}", chance_frac=chance_frac)
    came = (on - setting.plan.start_on).days
    for one in setting.residents:
        if one.is_fish:
            yield from _waves(one, setting, came, outbreak)


def _waves(one: Resident, setting: Setting, came: int, outbreak: Outbreak) -> Iterator[Hazard]:
    first, lull, again, last = (
        round(number(f"outbreak_{name}_d")) for name in ("first", "lull", "again", "last")
    )
    share = f"outbreak_{one.species.disease}_frac"
    rate = rate_that_loses(share, days=lull - first)
    later = rate_that_loses(share, days=last - again).times(number("outbreak_again_ratio"))
    horizon, here = setting.plan.horizon_days, day_of(one, setting)
    for since, until, size in ((first, lull, rate), (again, last, later)):
        yield Hazard(
            entry_id=one.entry.id,
            cause="disease",
            since_day=max(here, came + since),
            until_day=min(horizon, came + until),
            rate=size,
            outbreak=outbreak,
        )


def disease(setting: Setting) -> Iterator[Hazard]:
    """Disease, with the quarantine that each batch had: the worst of its entries counts."""
    for on in _batches(setting):
        chance = max(
            carrier_chance_frac(watched_d=apart_d(one, setting), treated=one.entry.treated)
            for one in setting.residents
            if one.is_fish and one.entry.arrives_on == on
        )
        yield from _outbreak(on, chance, setting)


CAUSES: tuple[Callable[[Setting], Iterator[Hazard]], ...] = (
    settling,
    leaping,
    falling,
    lacking_plants,
    disease,
    attacks,
    eaten,
)
"""In the order in which they are told."""


Point = Literal["low", "value", "high"]


def alive_frac(
    hazards: Iterable[Hazard], entry_id: str, *, since_day: int, until_day: int, point: Point = "value"
) -> float:
    """Share of an entry's animals that these hazards leave alive over some days.

    `point` says with which rates: the low ones leave most alive.

    Validity
    --------
    Outbreaks of different batches are independent; hunger, water and the losses of settled animals are not
    in it.

    Source
    ------
    Survival under a hazard that is constant by pieces.
    """
    sure_y = 0.0
    outbreaks_y: dict[tuple[str, float], float] = defaultdict(float)
    for one in hazards:
        days = min(until_day, one.until_day) - max(since_day, one.since_day)
        if one.entry_id != entry_id or days <= 0:
            continue
        rates = {"low": one.rate.low_per_y, "value": one.rate.value_per_y, "high": one.rate.high_per_y}
        risk = rates[point] * days / DAYS_PER_YEAR
        if one.outbreak is None:
            sure_y += risk
        else:
            outbreaks_y[one.outbreak.name, one.outbreak.chance_frac] += risk
    alive = math.exp(-sure_y)
    for (_, chance_frac), risk in outbreaks_y.items():
        alive *= 1.0 - chance_frac + chance_frac * math.exp(-risk)
    return alive
