"""Figures of animals: mass, need, ration of a food, the day on which the tank is outgrown."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from functools import partial

from backreef.catalogue.entries import known
from backreef.company.cleaners import carcass_mg_n_per_l, grown_g
from backreef.company.findings import Resident
from backreef.company.growing import days_until_longer
from backreef.company.space import longest_that_fits_cm
from backreef.models.mouths import FOOD_POOLS
from backreef.simulation.cohorts import Cohort
from backreef.simulation.foods import FoodSlot
from backreef.simulation.rations import (
    mass_on_day_g,
    needed_mmol_per_d,
    ration_of_one_g_per_d,
    warmth_of,
)
from backreef.usecases.asked import Asking, Figure, Found, shown
from backreef.working.record import recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of


def animal_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of each entry of the plan's animals without a forecast."""
    laid_out = asking.laid_out
    for cohort in laid_out.cohorts:
        called, entry = cohort.species.common_name, cohort.entry.id
        for name, title, find in (
            ("mass_g", f"expected mass of one {called}", _mass),
            ("need_mmol_c_per_d", f"what one {called} burns in a day", partial(_need, growth=False)),
            (
                "need_with_growth_mmol_c_per_d",
                f"what one {called} burns in a day and takes for growth",
                partial(_need, growth=True),
            ),
        ):
            yield Figure(
                name=f"{entry}.{name}", title=title, daily=True, forecast=False, find=partial(find, cohort)
            )
        for food, pool in zip(laid_out.foods, FOOD_POOLS, strict=False):
            if cohort.kept[pool] > 0:
                yield Figure(
                    name=f"{entry}.ration_g_per_d.{food.food.id}",
                    title=f"{food.food.name} that keeps one {called} for a day, if it eats nothing else",
                    daily=True,
                    forecast=False,
                    find=partial(_ration, cohort, food, pool),
                )
    yield from _outgrown(asking)
    yield from _carcasses(asking)


def _carcasses(asking: Asking) -> Iterator[Figure]:
    for one in asking.setting.residents:
        if grown_g(one) is not None:
            beside = (f"{one.entry.id}.grown_g",)
            yield Figure(
                name=f"{one.entry.id}.carcass_mg_n_per_l",
                title=f"ammonia of one dead {one.called} after two days",
                daily=False,
                forecast=False,
                find=partial(_carcass, one),
                beside=lambda *_, beside=beside: beside,
                of_its_own=False,
            )
            yield Figure(
                name=f"{one.entry.id}.grown_g",
                title=f"mass of one grown {one.called}",
                daily=False,
                forecast=False,
                find=partial(_grown, one),
                of_its_own=False,
            )


def _carcass(one: Resident, asking: Asking, _on: date | None) -> Found:
    with recording():
        mass_g = grown_g(one) or 0.0
        value = carcass_mg_n_per_l(mass_g, water_l=asking.plan.tank.water_volume_l)
    return _found(value, "carcass_mg_n_per_l", None)


def _grown(one: Resident, _asking: Asking, _on: date | None) -> Found:
    with recording():
        value = grown_g(one) or 0.0
    return _found(value, "grown_g", None)


def _outgrown(asking: Asking) -> Iterator[Figure]:
    for one in asking.setting.residents:
        if longest_that_fits_cm(one, asking.setting) is not None and _can_grow(one):
            yield Figure(
                name=f"{one.entry.id}.outgrown_on",
                title=f"the day from which the tank is too small for {one.called}",
                daily=False,
                forecast=False,
                find=partial(_outgrown_on, one),
            )


def _can_grow(one: Resident) -> bool:
    species = one.species
    return one.length_cm is not None and known(species.growth_kmax_per_y) is not None


def _mass(cohort: Cohort, asking: Asking, on: date | None) -> Found:
    day = asking.day(on, cohort.arrives_day)
    with recording():
        value = mass_on_day_g(cohort, day)
    return _found(value, "mass_g", asking.on(day))


def _need(cohort: Cohort, asking: Asking, on: date | None, *, growth: bool) -> Found:
    day = asking.day(on, cohort.arrives_day)
    with recording():
        value = needed_mmol_per_d(cohort, day, warmth_of(asking.plan), growth=growth)
    return _found(value, "need_mmol_c_per_d", asking.on(day))


def _ration(cohort: Cohort, food: FoodSlot, pool: str, asking: Asking, on: date | None) -> Found:
    day = asking.day(on, cohort.arrives_day)
    with recording():
        need = needed_mmol_per_d(cohort, day, warmth_of(asking.plan), growth=False)
        value = ration_of_one_g_per_d(cohort, food, pool, needed_mmol_per_d=need)
    return _found(value, "ration_g_per_d", asking.on(day))


def _outgrown_on(one: Resident, asking: Asking, _on: date | None) -> Found:
    """Days until the tank is too small, as the rule 'outgrown' reckons them, and the day they lead to."""
    adult, rate, start = (
        known(one.species.adult_length_cm),
        known(one.species.growth_kmax_per_y),
        one.length_cm,
    )
    with recording():
        fits = longest_that_fits_cm(one, asking.setting)
        days = (
            None
            if fits is None or adult is None or rate is None or start is None
            else days_until_longer(start, adult.value, length_cm=fits, kmax_per_y=rate.value)
        )
    if days is None:
        tree = tree_of(fits or 0.0, About(symbol="longest_that_fits_cm", key="", kind="law"))
        return Found(tree=tree, shown="never, as far as anybody plans")
    on = asking.setting.comes_on(one) + timedelta(days=int(days))
    tree = tree_of(days, About(symbol="days_until_longer", key="", kind="law"))
    return Found(tree=tree, shown=f"{on}, {int(days)} days after it comes", on=on)


def _found(value: InItsUnit, name: str, on: date | None) -> Found:
    tree = tree_of(value, About(symbol=name, key=name, kind="law"))
    return Found(tree=tree, shown=shown(value, tree.root.about.unit), on=on)
