"""Which values a lane shows: its data, its act bounds, and its harm bounds unless they lie far off."""

from __future__ import annotations

import numpy as np

from backreef.judgement.verdict import Band, WaterBand
from backreef.plots.scale import nice_ceiling

_AMOUNTS = ("nitrate_", "phosphate_", "ammonia_", "nitrite_")
_FREE = 2.0
"""A quantity with one bound only is at ease this many times the way from act to harm inside of act."""
_FAR_OVER = 2.5
"""A lane ends at this multiple of its highest bound, so that the bounds are not crushed."""
_NEAR = 0.6
"""A harm bound is shown when it lies within this share of what is shown anyway."""


def ease_above(act: float | None, harm: float | None) -> float:
    """The value below which an upper bound is no matter at all; 0 or more."""
    if act is None or harm is None or harm <= act:
        return 0.0
    return max(0.0, act - _FREE * (harm - act))


def ease_below(act: float | None, harm: float) -> float:
    """The value above which a lower bound is no matter at all."""
    return harm if act is None else act + _FREE * (act - harm)


def starts_at_zero(series: str, bounds: WaterBand | None) -> bool:
    """Whether a lane starts at zero: amounts do, quantities that live between bounds do not."""
    if series.startswith(_AMOUNTS) or bounds is None:
        return True
    return bounds.harm_low is None and ease_above(bounds.act_high, bounds.harm_high) == 0.0


def value_range(band: Band, bounds: WaterBand | None, *, zero: bool) -> tuple[float, float]:
    """Lowest and highest value that a lane shows."""
    known = np.concatenate([band.p05[np.isfinite(band.p05)], band.p95[np.isfinite(band.p95)]])
    low = 0.0 if zero or not known.size else float(known.min())
    high = float(known.max()) if known.size else 1.0
    if bounds is not None:
        if zero:
            high = min(high, _most(bounds))
        low, high = _with_bounds(low, high, bounds, zero=zero)
    if zero:
        return 0.0, nice_ceiling(high)
    pad = 0.08 * ((high - low) or abs(high) or 1.0)
    return low - pad, high + pad


def _most(bounds: WaterBand) -> float:
    """What a lane shows at most: values far over all bounds are held at its upper edge."""
    highs = [value for value in (bounds.act_high, bounds.harm_high) if value is not None]
    return _FAR_OVER * max(highs) if highs else np.inf


def _with_bounds(low: float, high: float, bounds: WaterBand, *, zero: bool) -> tuple[float, float]:
    if bounds.act_high is not None:
        high = max(high, (1.2 if zero else 1.0) * bounds.act_high)
    if bounds.act_low is not None:
        low = min(low, bounds.act_low)
    room = _NEAR * (high - low)
    if bounds.harm_high is not None and bounds.harm_high <= high + room:
        high = max(high, (1.12 if zero else 1.0) * bounds.harm_high)
    if bounds.harm_low is not None and bounds.harm_low >= low - room:
        low = min(low, bounds.harm_low)
    return low, high
