from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from backreef.judgement.books import GROWTH, conservation, fluxes
from backreef.judgement.course import Course, run_course
from backreef.models.tables import ELEMENTS
from backreef.simulation.bookings import Bookings
from backreef.simulation.draws import Draws
from backreef.units import atomic_mass_g_per_mol
from tests.unit.aquarium.plans import catalogue
from tests.unit.judgement.courses import FED, MEMBERS, PAIR, SNAILS, course, small_plan

CARE = """\
[[upkeep]]
task = "wc_do"
share = "10 %"
every = "7 days"
[[upkeep]]
task = "sand_clean"
every = "7 days"
[[upkeep]]
task = "glass_inner"
every = "7 days"
[[devices]]
kind = "doser"
[[devices]]
kind = "skimmer_sump"
"""
LATER = '[[animals]]\nid = "newcomers"\nspecies = "trochus"\ncount = 5\narrives_on = 2027-01-20\n'
CORAL = '[[animals]]\nid = "leather"\nspecies = "leathers"\narrives_on = 2027-01-12\n'
LIFE = PAIR + SNAILS + LATER + CORAL + FED + CARE
CLOSED = 1e-9
"""Relative, over stock and throughput."""


def by_door(marched: Course, element: str) -> dict[str, float]:
    lines = fluxes(marched.prepared, marched.members)
    return {line.door: line.g_per_month_p50 for line in lines if line.element == element}


def months(marched: Course) -> float:
    return marched.prepared.keeper.days / (365.25 / 12)


def test_the_books_of_a_whole_life_close() -> None:
    drift = conservation(course(LIFE).members)
    assert set(drift) == set(ELEMENTS)
    assert max(drift.values()) < CLOSED


@pytest.mark.parametrize(
    ("name", "door"),
    [
        ("bring_drawn", "feed"),
        ("bring_drawn", "animals"),
        ("bring", "water_change"),
        ("bring", "animals"),
        ("take", "water_change"),
        ("take", "siphon"),
        ("take", "harvest"),
        ("ledger", "dose"),
    ],
)
def test_a_dropped_entry_does_not_pass(name: str, door: str, monkeypatch: pytest.MonkeyPatch) -> None:
    forget(name, door, monkeypatch)
    marched = run_course(small_plan(LIFE), catalogue(), Draws(1, MEMBERS))
    assert max(conservation(marched.members).values()) > 100 * CLOSED


def forget(name: str, door: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a booking change the tank but write nothing into the ledger of one door."""
    booked: Callable[..., None] = getattr(Bookings, name)

    def silent(self: Bookings, *arguments: Any, **named: Any) -> None:
        if door not in (*arguments, *named.values()):
            booked(self, *arguments, **named)
            return
        if name == "ledger":
            return
        if name == "bring_drawn":
            booked(self, *arguments, **{**named, "content": (0.0,) * 5})
            return
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Bookings, "ledger", lambda *_arguments, **_named: None)
            booked(self, *arguments, **named)

    monkeypatch.setattr(Bookings, name, silent)


def test_what_comes_in_is_positive_and_what_leaves_negative() -> None:
    nitrogen = by_door(course(LIFE), "N")
    assert nitrogen["food"] > 0
    assert nitrogen["animals added"] > 0
    assert nitrogen["siphon and socks"] < 0
    assert nitrogen["skimmer"] < 0


def test_only_what_was_dosed_and_used_passes_by_those_doors() -> None:
    plain = by_door(course(PAIR + FED), "C")
    assert "dosing" not in plain
    assert "water changes" not in plain
    assert by_door(course(LIFE), "C")["dosing"] > 0


def test_food_is_counted_as_the_schedule_gives_it() -> None:
    """In a nominal run nothing errs, so the carbon of the meals is what the schedule set."""
    plan = small_plan(PAIR + FED)
    marched = run_course(plan, catalogue(), Draws(1, MEMBERS, nominal=True))
    (food,) = marched.prepared.foods
    given = [meal.food_g for meal in marched.prepared.keeper.meals.occasions if meal.day > 0]
    expected = sum(given) * food.carbon_mmol_per_g * atomic_mass_g_per_mol()["C"] / 1000.0
    assert by_door(marched, "C")["food"] * months(marched) == pytest.approx(expected, rel=1e-9)


def test_growth_leaves_out_the_animals_that_came() -> None:
    marched = course(PAIR + LATER + FED)
    layout, members = marched.prepared.layout, marched.members
    slots = len(marched.prepared.cohorts)
    rows = [
        members.ends(layout.slot_address(slot, name, slots))
        for slot in range(slots)
        for name in ("structure", "reserve")
    ]
    flesh = np.sum(rows, axis=0)
    came = members.ends(layout.address("animals_C"))
    grown = flesh[-1] - flesh[0] + (came[-1] - came[0])
    expected = -float(np.median(grown)) * atomic_mass_g_per_mol()["C"] / 1000.0 / months(marched)
    assert by_door(marched, "C")[GROWTH] == pytest.approx(expected, rel=1e-9)
    assert by_door(marched, "C")["animals added"] > 0


def test_animals_that_come_and_eat_nothing_do_not_grow() -> None:
    """They only lose what they burn, so growth as a door brings carbon back into the tank."""
    unfed = PAIR.replace("count = 2", "count = 2\narrives_on = 2027-01-08")
    assert by_door(course(unfed), "C")[GROWTH] > 0
