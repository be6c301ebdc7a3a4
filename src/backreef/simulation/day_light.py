"""Light over a day: a ramp up, a plateau, a ramp down in the display; on or off over the refugium."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.aquarium.plan import Plan
from backreef.simulation.system import refugium_of

HOURS = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DayLight:
    """The hours of light; a day of it may run past midnight."""

    on_at_h: float
    full_from_h: float
    full_until_h: float
    off_at_h: float
    refugium: tuple[float, float] | None
    """Hour at which its light begins, and for how many hours; None: no refugium."""

    def display_frac(self, hour_h: float) -> float:
        """Give the light of the display as a share of its peak."""
        for at in (hour_h, hour_h + HOURS):
            if self.on_at_h <= at <= self.off_at_h:
                return self._height(at)
        return 0.0

    def _height(self, at_h: float) -> float:
        if at_h < self.full_from_h:
            return (at_h - self.on_at_h) / (self.full_from_h - self.on_at_h)
        if at_h <= self.full_until_h:
            return 1.0
        return (self.off_at_h - at_h) / (self.off_at_h - self.full_until_h)

    def refugium_frac(self, hour_h: float) -> float:
        """Give 1 while the refugium is lit, else 0."""
        if self.refugium is None:
            return 0.0
        on_at_h, lit_h = self.refugium
        return 1.0 if (hour_h - on_at_h) % HOURS < lit_h else 0.0

    @property
    def corners(self) -> list[float]:
        """Hours of the day at which a light turns on or off, or begins or ends a ramp."""
        hours = [self.on_at_h, self.full_from_h, self.full_until_h, self.off_at_h]
        if self.refugium is not None:
            hours += [self.refugium[0], self.refugium[0] + self.refugium[1]]
        return [hour % HOURS for hour in hours]


def day_light(plan: Plan) -> DayLight:
    """Give the light of a plan's days."""
    tank = plan.tank
    on, length = tank.light_on_at, tank.light_hours_h
    ramp = min(tank.light_ramp_h, length / 2.0)
    refugium = refugium_of(plan)
    return DayLight(
        on_at_h=on,
        full_from_h=on + ramp,
        full_until_h=on + length - ramp,
        off_at_h=on + length,
        refugium=None if refugium is None else (refugium.on_at_h % HOURS, min(refugium.lit_h, HOURS)),
    )
