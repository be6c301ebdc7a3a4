"""One food offered once, and one refill of a container: what meals are made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from backreef.aquarium.plan import Meal
from backreef.errors import BackreefError

RationFunction = Callable[[Meal, int], float]
"""Grams as fed of a meal, at each of its hours, on a day of the horizon."""


class MissingRation(BackreefError):
    """A meal is to be 'enough for' its animals, and nobody said how much that is."""

    def __init__(self, meal: Meal) -> None:
        super().__init__(
            f"meals.{meal.id}: it is to be enough for {meal.enough_for or 'its animals'}, and only the "
            "needs of the animals can turn that into grams: pass ration_g, or give grams in the plan"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MealOccasion:
    """One food offered once."""

    meal_id: str
    food_id: str
    day: int
    hour: float
    food_g: float
    """As fed. Nominal: before the error of the portions; 0 where nothing came, and `note` says why."""
    by: str
    """'hand' or a device id."""
    who: str
    """'keeper' or a helper's name for a meal by hand; empty for a feeder."""
    pump_paused: bool
    portions: int
    """Turns of a feeder that make the meal; their errors average out."""
    hopper_frac: float
    """How full the feeder was before; 1 for a meal by hand."""
    mix_ratio: float = 1.0
    """What of its food comes over its share of the mix, where foods of unlike size share a hopper."""
    note: str = ""

    @property
    def grams_as_fed(self) -> float:
        """The same as `food_g`. [g]"""
        return self.food_g


@dataclass(frozen=True, slots=True, kw_only=True)
class Refill:
    """A container falls due to be refilled, and is or is not."""

    device_id: str
    due_day: int
    done_day: int | None
    """None: nobody came within what it can slip."""
    share_frac: float
    """How much of a full container goes in."""


def no_ration(meal: Meal, _: int) -> float:
    """Stands where nobody passed a ration: never a number, always `MissingRation`."""
    raise MissingRation(meal)


def grams_of(meal: Meal, day: int, *, ration: RationFunction) -> float:
    """Food as fed at each of the meal's hours on that day. [g]"""
    return ration(meal, day) if meal.grams_as_fed is None else meal.grams_as_fed
