"""How often the devices of a plan fail over its horizon, and how long that stays unseen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.judgement.failure_lines import FailureLine
from backreef.judgement.horizon import horizon_d
from backreef.judgement.mishaps import mishap_table
from backreef.judgement.scene import helpers_who_see
from backreef.simulation.prepared import Prepared
from backreef.units import DAYS_PER_YEAR
from backreef.working.members import Seen, mean, seen_once, whole
from backreef.working.record import told_constant

_TABLE = "judgement/data/mishaps.toml"
_UNSEEN = Seen(symbol="unseen_d", what="days until somebody who would see it is there", unit="d", of="days")


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
    years = horizon_d(prepared) / told_constant(DAYS_PER_YEAR, "DAYS_PER_YEAR", "backreef.units")
    yearly = Seen(symbol="per_year", what=f"how often in a year: {row['what']}", unit="1/y")
    low, middle, high = (
        years * seen_once(float(row["per_year"][key]), yearly, kind="constant", place=_TABLE)
        for key in ("low", "value", "high")
    )
    wait = _unseen_d(row, prepared)
    longest = int(np.argmax(wait))
    return FailureLine(
        id=str(row["id"]),
        what=str(row["what"]),
        times_low=low,
        times=middle,
        times_high=high,
        unseen_d=mean(wait, _UNSEEN),
        unseen_longest_d=whole(
            seen_once(float(wait[longest]), _UNSEEN, kind="plan", place=prepared.plan.file)
        ),
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
