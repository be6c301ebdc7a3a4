"""What holds of the rules of company for every stock: more animals end no quarrel, order changes nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from backreef.aquarium.plan import AnimalEntry, Plan, Sex
from backreef.company.engine import check_plan
from tests.searching import tries
from tests.unit.aquarium.plans import catalogue, with_tank

LASTING = ("space", "outgrown", "eats", "hunts", "fights", "nips", "niche", "pods")
"""Rules of conflicts that no further animal can end."""
SPECIES = sorted(catalogue().species)
COMES = st.one_of(st.none(), st.dates(date(2027, 1, 5), date(2028, 12, 31)))


SEXES: tuple[Sex | None, ...] = (None, "male", "female", "young")


def entry(number: int, species: str, count: int, on: date | None) -> AnimalEntry:
    return AnimalEntry(
        id=f"one{number}",
        species=species,
        count=count,
        length_cm=None,
        arrives_on=on,
        gate=None,
        sex=SEXES[(number + count) % len(SEXES)],
    )


STOCK = st.lists(st.tuples(st.sampled_from(SPECIES), st.integers(1, 6), COMES), min_size=1, max_size=9)


def stocked(animals: list[tuple[str, int, date | None]]) -> Plan:
    entries = tuple(entry(number, *animal) for number, animal in enumerate(animals))
    return replace(with_tank(""), animals=entries)


@given(animals=STOCK, more=st.tuples(st.sampled_from(SPECIES), st.integers(1, 6), COMES))
@tries(60)
def test_one_more_animal_ends_no_conflict_of_others(
    animals: list[tuple[str, int, date | None]], more: tuple[str, int, date | None]
) -> None:
    def conflicts(plan: Plan) -> set[str]:
        found = check_plan(plan, catalogue(), absence_days=2)
        return {one.id for one in found if one.rule in LASTING and not one.id.endswith("unknown")}

    assert conflicts(stocked(animals)) <= conflicts(stocked([*animals, more]))


@given(animals=STOCK, order=st.randoms(use_true_random=False))
@tries(60)
def test_the_order_of_entries_changes_nothing(
    animals: list[tuple[str, int, date | None]], order: object
) -> None:
    plan = stocked(animals)
    shuffled = list(plan.animals)
    order.shuffle(shuffled)  # type: ignore[attr-defined]
    again = replace(plan, animals=tuple(shuffled))
    assert check_plan(again, catalogue(), absence_days=2) == check_plan(plan, catalogue(), absence_days=2)


@given(animals=STOCK)
@tries(40)
def test_every_finding_says_what_why_on_whose_word_and_what_can_be_done(
    animals: list[tuple[str, int, date | None]],
) -> None:
    found = check_plan(stocked(animals), catalogue(), absence_days=9)
    assert len({one.id for one in found}) == len(found)
    for one in found:
        assert one.what
        assert one.why
        assert one.source
        assert one.remedies
