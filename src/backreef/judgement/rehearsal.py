"""The answer of a rehearsal as plain data: what an absence does with nothing wrong, and with each mishap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

LEAST_HEADS = 0.05
"""A mitigation that spares less than a twentieth of an animal is not worth naming."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """How likely something is over the absence, 0 to 1."""

    low: float
    value: float | None
    """None where nobody knows."""
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HourLine:
    """What a quantity does hour by hour from leaving to the return; None where nothing is left to measure."""

    label: str
    unit: str
    harm_low: float | None
    harm_high: float | None
    p05: tuple[float | None, ...]
    p50: tuple[float | None, ...]
    p95: tuple[float | None, ...]
    calm_p50: tuple[float | None, ...]
    """The same with nothing going wrong; empty where that is what is shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of animals and water; hours count from the beginning of the mishap."""

    hours_to_risk: float | None
    """Until the first animal is at risk in more than 5 % of the members; None where it comes to no more."""
    share_at_risk: float
    """Share of the members in which an animal comes to risk that would not without the mishap."""
    who: str
    """Who comes to risk first; empty for nobody."""
    why: str
    """What happens to them: gasping for oxygen, starving, …"""
    harm_heads: float
    """Animals at risk or lost, mean of the members."""
    lost_heads: float
    """Animals lost beyond those that the mishap itself takes, mean of the members."""
    extremes: Mapping[str, float]
    """Series with its side -> furthest value while away, the middle of the members."""
    found: tuple[str, ...]
    """What the keeper finds on return, against an absence with nothing wrong."""
    found_as: tuple[str, ...] = ()
    """What each of these is asked as."""
    line: HourLine | None = None
    """The quantity that brings the first animal to risk; None where none comes to risk."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mitigation:
    """Something that makes a mishap milder, simulated."""

    id: str
    what: str
    minutes: float
    """Work of the keeper for this absence, buying and setting up included."""
    device: str
    """Kind of a device to buy; empty for none."""
    device_name: str = ""
    price: str = ""
    """Of such a device, in the catalogue's words; empty where nobody says, or where none is bought."""
    harm_avoided_heads: float
    hours_to_risk_after: float | None
    share_at_risk_after: float

    @property
    def heads_per_hour_of_work(self) -> float:
        """Animals spared for an hour of work. [1/h]"""
        return 60.0 * self.harm_avoided_heads / max(self.minutes, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mishap:
    """One thing that goes wrong, or a pair, and what it does."""

    id: str
    what: str
    begins_at: datetime
    lasts_h: float
    chance: Chance
    chance_from: str
    """On whose word."""
    outcome: Outcome
    mitigations: tuple[Mitigation, ...]
    """Those that help, the cheapest harm avoided first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What one mitigation is worth over all mishaps, each by its chance; pairs are not counted again."""

    id: str
    what: str
    minutes: float
    """Work of the keeper for this absence, buying and setting up included."""
    device: str
    """Kind of a device to buy; empty for none."""
    device_name: str
    devices_count: int
    """How many of it: one for each feeder where it stands beside one; 0 where none is bought."""
    price: str
    """Of one, in the catalogue's words; empty where nobody says, or where none is bought."""
    spared_heads: float
    """Animals that it spares on the mean of many such absences."""
    against: tuple[str, ...]
    """Ids of the mishaps."""
    chance_unknown: tuple[str, ...]
    """Ids of mishaps that it helps against, too, but of which nobody knows how often they come."""

    @property
    def heads_per_hour_of_work(self) -> float:
        """Animals spared for an hour of work. [1/h]"""
        return 60.0 * self.spared_heads / max(self.minutes, 1.0)

    @property
    def heads_per_device(self) -> float:
        """Animals spared for a device that is bought. [1/device]"""
        return self.spared_heads / max(self.devices_count, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """An absence tried out."""

    plan_name: str
    plan_file: str
    first_on: date
    until_on: date
    members: int
    seed: int
    nothing_wrong: Outcome
    nobody_there_for: tuple[str, ...]
    """Chores that fall where nobody can do them."""
    mishaps: tuple[Mishap, ...]
    """The soonest harm first, then by chance; pairs among them."""
    sitter_weekdays: tuple[int, ...] = ()
    """On these somebody looks in."""
    advice: tuple[Advice, ...] = ()
    """Over all mishaps: first what asks for nothing but work, the most for an hour first; then what asks for
    a device, the most for a device first."""
    allowed_frac: float = field(default=0.05)
    """Share of the members that may come to risk with nothing wrong."""

    @property
    def holds(self) -> bool:
        """Whether the absence harms nobody as long as nothing goes wrong."""
        return self.nothing_wrong.share_at_risk <= self.allowed_frac and not self.nobody_there_for

    def to_frame(self) -> pd.DataFrame:
        """One row per mishap. Needs pandas."""
        from backreef.judgement.frames import pandas_module

        rows = [
            {
                "id": mishap.id,
                "what": mishap.what,
                "hours_to_risk": mishap.outcome.hours_to_risk,
                "who": mishap.outcome.who,
                "share_at_risk": mishap.outcome.share_at_risk,
                "chance": mishap.chance.value,
                "mitigation": mishap.mitigations[0].what if mishap.mitigations else "",
            }
            for mishap in self.mishaps
        ]
        return pandas_module().DataFrame(rows)
