"""What the simulation needs to know of each feeder: how much it holds, how evenly it doses, how it jams."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import DeviceEntry, Plan
from backreef.catalogue.entries import Catalogue, Quantity, Value
from backreef.schedule.tables import feeder_drift, value_or_none

_TRACE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class FeederTraits:
    """One feeder of the plan; the plan's own numbers stand before those of the catalogue."""

    device_id: str
    kind: str
    hopper_g: float | None
    """Of all devices of the entry together; None where neither plan nor catalogue knows."""
    cells_count: float | None
    """Pre-filled cells of all devices of the entry together; None for a feeder without."""
    portion_min_g: float | None
    """Smallest portion; a smaller meal cannot be given."""
    portion_g: float | None
    """One portion as the plan sets it; None: one portion is one meal."""
    portions_max_per_d: float | None
    portion_cv_frac: Quantity
    """Standard deviation of one portion over its mean."""
    jam_per_portion: Quantity
    drift_first_third_ratio: Value
    """Mean portion while the first third of a filling is let out, over the mean of the filling."""
    drift_last_third_ratio: Value
    unattended_days: float | None
    """Days for which its content stays good and it runs by itself."""
    refill_every_days: float | None

    def portions_of(self, food_g: float) -> int:
        """Number of portions that make a meal of this size, at least one."""
        if self.portion_g is None or self.portion_g <= 0:
            return 1
        return max(1, round(food_g / self.portion_g))

    def drift_ratio(self, hopper_frac: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Mean portion at a fill level over the mean of the whole filling; falls as the hopper empties.

        The mean of each third is the table's: straight through the middles of the thirds, level beyond them.
        """
        levels = np.asarray(hopper_frac, dtype=np.float64)
        first, last = self.drift_first_third_ratio.value, self.drift_last_third_ratio.value
        return np.interp(levels, (1 / 6, 1 / 2, 5 / 6), (last, 3.0 - first - last, first))


def feeder_traits(entry: DeviceEntry, *, catalogue: Catalogue) -> FeederTraits:
    """The traits of one entry of the plan."""
    device = catalogue.devices[entry.kind]
    drifts = feeder_drift()
    first, last = drifts.get(entry.kind, drifts["other"])
    cells = _given(entry, "cells_count", device.compartments_count)
    return FeederTraits(
        device_id=entry.id,
        kind=entry.kind,
        hopper_g=_of_all(entry, "hopper_g", device.hopper_g),
        cells_count=cells * entry.count if cells is not None and cells > 1 else None,
        portion_min_g=_given(entry, "portion_min_g", device.portion_min_g),
        portion_g=entry.numbers.get("portion_g"),
        portions_max_per_d=_of_all(entry, "portions_max_per_d", device.portions_per_day_max),
        portion_cv_frac=device.portion_cv_frac,
        jam_per_portion=device.jam_per_portion,
        drift_first_third_ratio=first,
        drift_last_third_ratio=last,
        unattended_days=value_or_none(device.runs_unattended_days),
        refill_every_days=value_or_none(device.upkeep_every_days),
    )


def feeders_of(plan: Plan, catalogue: Catalogue) -> dict[str, FeederTraits]:
    """Device id -> traits, for every device that the plan's meals come from."""
    entries = {entry.id: entry for entry in plan.devices}
    used = dict.fromkeys(meal.by for meal in plan.meals if meal.by in entries)
    return {device_id: feeder_traits(entries[device_id], catalogue=catalogue) for device_id in used}


def share_of_filling(traits: FeederTraits, *, food_g: float, portions: int) -> float:
    """Share of a full feeder that a meal takes, by mass or by cells, whichever is more. [-]

    Where nobody knows how much it holds, next to nothing: it is then refilled by its rhythm and never runs
    empty.
    """
    by_mass = food_g / traits.hopper_g if traits.hopper_g else 0.0
    by_cells = portions / traits.cells_count if traits.cells_count else 0.0
    return max(by_mass, by_cells, _TRACE if portions else 0.0)


def longest_filling_d(traits: FeederTraits) -> float:
    """Days after which the content is renewed at the latest; without end where nobody knows. [d]"""
    known_days = [each for each in (traits.refill_every_days, traits.unattended_days) if each is not None]
    return min(known_days, default=math.inf)


def _given(entry: DeviceEntry, name: str, quantity: Quantity) -> float | None:
    """The plan's number of one device, else the catalogue's."""
    return entry.numbers[name] if name in entry.numbers else value_or_none(quantity)


def _of_all(entry: DeviceEntry, name: str, quantity: Quantity) -> float | None:
    """The number of all devices of the entry together."""
    each = _given(entry, name, quantity)
    return None if each is None else each * entry.count


def daily_limit_reached(traits: FeederTraits, *, given: int, portions: int) -> bool:
    """Whether a meal would take the feeder past its portions of a day."""
    limit = traits.portions_max_per_d
    return limit is not None and given + portions > limit
