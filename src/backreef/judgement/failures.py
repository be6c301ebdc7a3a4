"""How often the devices of a plan fail over its horizon, and how long that stays unseen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.judgement.failure_lines import FailureLine
from backreef.judgement.mishaps import mishap_table
from backreef.judgement.scene import helpers_who_see
from backreef.simulation.prepared import Prepared
from backreef.units import DAYS_PER_YEAR


def failure_lines(prepared: Prepared) -> Iterator[FailureLine]:
    """Give every failure of the table whose device the plan has, the one that comes most often first.

    Feeders are left out: they jam in the forecast itself, by their own chance per portion.
    """
    kinds = {device.kind for device in prepared.plan.devices}
    rows = [
        row for row in mishap_table()["mishaps"] if "per_year" in row and kinds & set(row.get("devices", ()))
    ]
    yield from (_line(row, prepared) for row in sorted(rows, key=_seldom))


def _seldom(row: Mapping[str, Any]) -> tuple[float, str]:
    return -float(row["per_year"]["value"]), str(row["id"])


def _line(row: Mapping[str, Any], prepared: Prepared) -> FailureLine:
    keeper = prepared.keeper
    years = keeper.days / DAYS_PER_YEAR
    low, middle, high = (years * float(row["per_year"][key]) for key in ("low", "value", "high"))
    wait = _unseen_d(row, prepared)
    longest = int(np.argmax(wait))
    return FailureLine(
        id=str(row["id"]),
        what=str(row["what"]),
        times_low=low,
        times=middle,
        times_high=high,
        unseen_d=float(wait.mean()),
        unseen_longest_d=int(wait[longest]),
        longest_from=keeper.presence.on(longest),
    )


def _unseen_d(row: Mapping[str, Any], prepared: Prepared) -> npt.NDArray[np.int64]:
    """For each day the days from it until somebody is there who would see what is wrong; 0 on such a day."""
    presence = prepared.keeper.presence
    seen = presence.present.copy()
    for helper in helpers_who_see(str(row.get("seen_by", "")), presence, prepared.catalogue):
        seen |= helper.present
    days = np.arange(presence.days)
    following = np.minimum.accumulate(np.where(seen, days, presence.days)[::-1])[::-1]
    return np.asarray(following - days)
