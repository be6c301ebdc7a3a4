"""What a forecast says of food as goods: what to buy of it, and what it costs the water."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingLine:
    """A food to buy: how much, in which packs, and on which trips of the first year."""

    food_id: str
    label: str
    grams_per_month: float
    """With what is lost on thawing."""
    packaging: str
    opened_d_low: float | None
    """Days for which an opened pack is surely good; None where nobody knows."""
    opened_d: float | None
    pack_g: float
    """The plan's, or the largest that is used up while it is surely good."""
    packs_per_trip: int
    stale_frac: float
    """Share of a pack that is thrown away."""
    thaw_loss_frac: float
    """Share of what it holds that leaves with the liquid; 0 for food that is not frozen."""
    trips: tuple[date, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodPrice:
    """What the food costs the water in a month, and what of that nobody ate while it was adrift."""

    nitrogen_g_per_month: float
    uneaten_nitrogen_g_per_month: float
    """Of food that sank or was drawn off; scavengers and bacteria have it."""
    uneaten_as_mg_no3_per_l_per_month: float
    """The same if it all became nitrate and stayed."""
    nitrate_held_mg_no3_per_l: float
    """Middle of all days and members."""
    change_l_per_month: float | None
    """Water whose change would carry it out at that nitrate; None where there is next to none in it."""

    @property
    def uneaten_frac(self) -> float:
        """Share of the nitrogen that nobody ate adrift."""
        return self.uneaten_nitrogen_g_per_month / self.nitrogen_g_per_month
