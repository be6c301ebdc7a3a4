"""What to buy: how much of each food, in which packs, so that it is used before it goes stale."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta

from backreef.catalogue.entries import Value
from backreef.company.findings import CheckFinding
from backreef.judgement.pantry_lines import ShoppingLine
from backreef.schedule.pantry import is_bought, is_frozen, opened_life_d, packagings, pantry, trip_every_d
from backreef.simulation.prepared import Prepared
from backreef.units import DAYS_PER_MONTH
from backreef.working.members import Seen, rounded_up, seen_once
from backreef.working.number import total
from backreef.working.record import told_constant

_PACK = Seen(symbol="pack_g", what="the largest usual pack that is used up while surely good", unit="g")
_STEPS = (1.0, 2.0, 5.0)
"""Sizes of packs within a power of ten."""
_YEAR_D = 365
_A_TRIFLE = 1e-9
_WORTH_A_WORD = 0.2
"""Share of a pack that goes stale from which it is said as a finding; our own rule."""


def shopping_lines(prepared: Prepared) -> tuple[ShoppingLine, ...]:
    """Give, for each food that is bought, how much of it and in which packs, for the first year."""
    return tuple(_lines(prepared))


def _lines(prepared: Prepared) -> Iterator[ShoppingLine]:
    days = min(_YEAR_D, prepared.keeper.days)
    grams: dict[str, list[float]] = defaultdict(list)
    for meal in prepared.keeper.meals.occasions:
        if meal.day < days:
            grams[meal.food_id].append(meal.food_g)
    every_d = trip_every_d(prepared.plan, prepared.catalogue)
    labels = {label.id: label for label in prepared.plan.foods}
    for name, given in grams.items():
        of_it = total(given)
        food, label = prepared.catalogue.foods[name], labels.get(name)
        if of_it <= 0.0 or not is_bought(food):
            continue
        loss = pantry()["thaw_loss_frac"] if is_frozen(food) else None
        per_day = of_it / days / (1.0 - loss.value if loss else 1.0)
        packaging = label.packaging if label and label.packaging else "usual"
        life = opened_life_d(food, packaging)
        pack = (label.pack_g if label else None) or seen_once(
            _largest_pack_g(per_day, life), _PACK, kind="constant", place="schedule/data/pantry.toml"
        )
        stale = _stale_frac(per_day, pack, life)
        yield ShoppingLine(
            food_id=name,
            label=food.name,
            grams_per_month=per_day * told_constant(DAYS_PER_MONTH, "DAYS_PER_MONTH", "backreef.units"),
            packaging=packagings()[packaging].name,
            opened_d_low=None if life is None else life.lowest,
            opened_d=None if life is None else life.value,
            pack_g=pack,
            packs_per_trip=rounded_up(
                per_day * every_d / (pack * (1.0 - stale)) - told_constant(_A_TRIFLE, "_A_TRIFLE", __name__)
            ),
            stale_frac=stale,
            thaw_loss_frac=loss.value if loss else 0.0,
            trips=tuple(
                prepared.plan.start_on + timedelta(days=round(number * every_d))
                for number in range(math.ceil(days / every_d))
            ),
        )


def _largest_pack_g(per_day_g: float, life: Value | None) -> float:
    """The largest pack that is used up while it is surely good, of the sizes that are sold."""
    smallest, largest = (pantry()[name].value for name in ("smallest_pack_g", "largest_pack_g"))
    if life is None:
        return smallest
    sizes = [step * 10.0**power for power in range(-1, 6) for step in _STEPS]
    sold = [size for size in sizes if smallest <= size <= min(largest, per_day_g * life.lowest)]
    return max(sold, default=smallest)


def _stale_frac(per_day_g: float, pack_g: float, life: Value | None) -> float:
    """Share of a pack that is left when it goes stale. [-]"""
    return 0.0 if life is None else max(0.0, 1.0 - per_day_g * life.value / pack_g)


def stale_packs(prepared: Prepared) -> Iterator[CheckFinding]:
    """Packs of which much goes stale before it is used."""
    for line in shopping_lines(prepared):
        if line.stale_frac < _WORTH_A_WORD or line.opened_d is None:
            continue
        life = opened_life_d(prepared.catalogue.foods[line.food_id])
        yield CheckFinding(
            id=f"stale.{line.food_id}",
            balance="mouths",
            weight="note",
            who=line.label,
            what=f"{line.label}: a pack of {line.pack_g:g} g goes stale before it is used up",
            why=f"{line.grams_per_month:.2g} g are fed in a month, and a pack stays good for about "
            f"{line.opened_d:.0f} days once open; {line.stale_frac:.0%} of it is thrown away",
            source=prepared.catalogue.sources[life.source.split()[0]].text if life else "",
            status="practice",
        )
