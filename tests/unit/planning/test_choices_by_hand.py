"""What each choice makes of a plan, wishes as they are read, and rounds of a week: small cases."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from backreef.aquarium.plan import DeviceEntry, Plan, Wish
from backreef.catalogue.entries import Catalogue, Unknown
from backreef.planning import choices, rounds
from backreef.planning.candidates import Refused
from backreef.planning.choices import (
    AT_NEED,
    REMEDIES,
    Choice,
    a_device,
    applied_all,
    choices_of,
    leaves_alone,
)
from backreef.planning.numbers import number
from backreef.planning.programme import Solved
from backreef.planning.rounds import Job, rounds_of
from backreef.planning.solver import solve
from backreef.planning.ways_in import _changes, with_ways_in
from backreef.planning.wishes import ReadWish, read_wishes
from tests.planning_parts import ON, a_value
from tests.planning_world import a_choice, a_short_plan, the_catalogue

NONE: frozenset[str] = frozenset()
A_TEST: Any = "nitrate > 5"


def by_id(plan: Plan, *pins: str) -> dict[str, Choice]:
    return {one.id: one for one in choices_of(plan, frozenset(pins))}


def with_device(*added: DeviceEntry, **changes: Any) -> Plan:
    plan = a_short_plan(**changes)
    return replace(plan, devices=(*plan.devices, *added))


# --- choices ---


def test_a_choice_that_changes_nothing_leaves_the_plan_and_is_none() -> None:
    nothing = Choice(id="x", kind="export", words="x", change=lambda _: None)
    plan = a_short_plan()
    assert nothing.applied(plan) is plan
    assert not leaves_alone(nothing, plan, NONE)
    assert leaves_alone(a_choice("same"), plan, frozenset({"wc_do", "none"}))
    without = Choice(id="x", kind="export", words="x", change=lambda one: replace(one, upkeep=()))
    assert leaves_alone(without, plan, frozenset({"gramma"}))
    assert not leaves_alone(without, plan, frozenset({"gramma", "wc_do"}))


def test_lines_of_remedies_are_named_after_the_proposal_and_say_one_size() -> None:
    line = a_short_plan().upkeep[0]
    added = (
        replace(line, id="remedy_a", amount_l=5.0),
        replace(line, id="remedy_b", amount_g=5.0),
        replace(line, id="c_remedy_"),
    )
    change = Choice(
        id="x",
        kind="export",
        words="x",
        change=lambda one: replace(one, upkeep=added, devices=(a_device("remedy_pump", "awc", {}),)),
    )
    after = change.applied(a_short_plan())
    assert [(one.id, one.share_frac) for one in after.upkeep] == [
        ("proposed_a", None),
        ("proposed_b", None),
        ("c_remedy_", 0.12),
    ]
    assert after.devices[0].id == "proposed_pump"


def test_several_choices_are_made_one_after_the_other() -> None:
    def named(more: str) -> Choice:
        return Choice(id=more, kind="export", words="", change=lambda one: replace(one, name=one.name + more))

    assert applied_all(a_short_plan(name="x"), (named("a"), named("b"))).name == "xab"


def test_what_is_put_off_takes_from_the_water_and_spares_no_minute() -> None:
    known = {one for one, *_ in REMEDIES} | {one.id for one in choices._EXPORTS}  # noqa: SLF001
    assert known >= AT_NEED
    assert not {"automatic_change", "roller", "top_off", "dose_alkalinity", "larger_reservoir"} & AT_NEED
    groups = {one: group for one, _, group in REMEDIES}
    assert groups["start_water_changes"] == groups["change_more_water"] == "water change"


def test_an_automatic_change_takes_away_what_is_changed_by_hand_at_any_rate() -> None:
    plan = a_short_plan()
    (by_hand,) = plan.upkeep
    lines = (
        by_hand,
        replace(by_hand, id="asked", when=A_TEST),
        replace(by_hand, id="helped", by="cleaner"),
        replace(by_hand, id="glass", task="glass_inner"),
    )
    after = by_id(plan)["automatic_change"].applied(replace(plan, upkeep=lines))
    assert [one.id for one in after.upkeep] == ["asked", "helped", "glass"]


@pytest.mark.parametrize(("hours", "after"), [(10.0, 13.0), (14.0, 16.0), (None, None), (16.0, None)])
def test_a_refugium_is_lit_three_hours_longer_and_sixteen_at_most(
    hours: float | None, after: float | None
) -> None:
    box = replace(a_device("r", "refugium", {"area_m2": 0.1}), hours=hours)
    plan = with_device(box)
    offered = by_id(plan).get("refugium_lit_longer")
    if after is None:
        assert offered is None
    else:
        assert offered is not None
        changed = offered.applied(plan)
        assert changed.devices[-1].hours == after
        assert changed.devices[0] == plan.devices[0]


def test_a_refugium_without_a_size_of_its_own_has_the_tanks_litres() -> None:
    plan = with_device(a_device("r", "refugium", {"area_m2": 0.1}))
    # half as much again is 0.15 m2; 10 cm over it are 15 litres
    for litres, offered in ((15.01, True), (14.99, False)):
        tank = replace(plan.tank, refugium_l=litres)
        assert ("larger_refugium" in by_id(replace(plan, tank=tank))) is offered
    assert "larger_refugium" not in by_id(with_device(a_device("r", "refugium", {"volume_l": 99.0})))


def test_a_refugium_is_new_where_the_sump_is_large_enough_and_nothing_else_grows_algae() -> None:
    plan = a_short_plan()
    wants_l = number("new_refugium_frac") * plan.tank.water_volume_l
    assert "new_refugium" in by_id(plan)
    assert plan.tank.sump_l > wants_l
    small = replace(plan.tank, sump_l=0.5 * wants_l)
    assert small.sump_l < number("new_refugium_frac") * small.water_volume_l
    assert "new_refugium" not in by_id(replace(plan, tank=small))
    assert "new_refugium" not in by_id(with_device(a_device("s", "scrubber", {})))
    assert "new_refugium" not in by_id(with_device(a_device("r", "refugium", {})))


# --- what would let somebody in ---


def let_in(plan: Plan, species_id: str, needs: int = 1) -> list[tuple[str, Plan]]:
    refused = Refused(species_id=species_id, what="", why="", rule="x")
    found = with_ways_in(refused, needs, plan, the_catalogue(), ON)
    return [(way.words, way.plan) for way in found.ways_in if way.plan is not None]


def test_one_change_that_ends_a_refusal_is_told_with_the_plan_that_has_it() -> None:
    plan = a_short_plan()
    open_top = replace(plan, tank=replace(plan.tank, lid="open"))
    ways = dict(let_in(open_top, "firefish", needs=2))
    lid = ways["a lid of glass"]
    assert (lid.tank.lid, lid.animals[-1].species, lid.animals[-1].count) == ("glass", "firefish", 2)
    assert "a lid of glass" not in dict(let_in(plan, "firefish"))


def test_two_ways_in_are_told_at_most_and_residents_are_given_away_last() -> None:
    plan = a_short_plan()
    fed_by_hand = replace(plan.meals[0], by="hand", only_when_present=True, who=("gramma",))
    plan = replace(plan, tank=replace(plan.tank, lid="open"), meals=(fed_by_hand,))
    words = [one for one, _ in _changes(plan, the_catalogue())]
    name = the_catalogue().species["royal_gramma"].common_name
    assert words == [
        "a lid of glass",
        "dry food that was given by hand comes from a feeder",
        "a quarantine tank",
        f"without 1 × {name}",
    ]
    gone = dict(_changes(plan, the_catalogue()))[f"without 1 × {name}"]
    assert (gone.animals, gone.meals[0].who) == ((), ())
    kept = replace(plan, animals=(*plan.animals, replace(plan.animals[0], id="other")))
    kept = replace(kept, meals=(replace(fed_by_hand, who=("gramma", "other")),))
    assert [one.meals[0].who for word, one in _changes(kept, the_catalogue()) if "without" in word] == [
        ("other",),
        ("gramma",),
    ]
    apart = with_device(a_device("q", "quarantine_tank", {}))
    assert "a quarantine tank" not in [one for one, _ in _changes(apart, the_catalogue())]
    assert len(let_in(replace(plan, animals=()), "neon_goby")) == 2


# --- wishes ---


def read(*wishes: Wish, plan: Plan | None = None, catalogue: Catalogue | None = None) -> tuple[ReadWish, ...]:
    plan = plan or a_short_plan()
    keeper = replace(plan.keeper, wishes=wishes)
    return read_wishes(replace(plan, keeper=keeper), catalogue or the_catalogue())


def test_wishes_are_numbered_from_one() -> None:
    found = read(Wish(text="a goby", weight=1.0), Wish(text="a shoal", weight=2.0))
    assert [(one.id, one.weight) for one in found] == [("wish1", 1.0), ("wish2", 2.0)]


def test_a_wish_fits_each_of_its_words() -> None:
    catalogue = the_catalogue()
    (grazers,) = read(Wish(text="something that grazes", weight=1.0))
    (both,) = read(Wish(text="a shrimp that grazes", weight=1.0))
    (shrimps,) = read(Wish(text="a shrimp", weight=1.0))
    assert both.species == grazers.species & shrimps.species
    assert all("shrimp" in catalogue.species[one].tags for one in shrimps.species)
    (part,) = read(Wish(text="shrimplike things", weight=1.0))
    assert part.species == frozenset(), "a part of a word is another word"


def test_a_number_alone_means_fish_that_live_so() -> None:
    (pair,) = read(Wish(text="a pair of something", weight=1.0))
    assert pair.species
    catalogue = the_catalogue()
    for one in pair.species:
        species = catalogue.species[one]
        assert "fish" in species.tags
        assert species.group_max_count is None or species.group_max_count >= 2
    (nothing,) = read(Wish(text="of something", weight=1.0))
    assert nothing.species == frozenset()


@pytest.mark.parametrize(("length", "seen"), [(2.0, False), (2.01, True), (None, True)])
def test_what_is_smaller_than_two_centimetres_is_not_seen(length: float | None, seen: bool) -> None:
    catalogue = the_catalogue()
    goby = catalogue.species["neon_goby"]
    adult = Unknown(reason="") if length is None else a_value(length)
    catalogue = replace(catalogue, species={"neon_goby": replace(goby, adult_length_cm=adult)})
    (wish,) = read(Wish(text="surprise me", weight=1.0), catalogue=catalogue)
    assert ("neon_goby" in wish.species) is seen


def test_a_surprise_is_nobody_who_is_there_or_named_and_no_coral() -> None:
    surprise, named = read(
        Wish(text="surprise me", weight=1.0), Wish(text="surprise me", weight=1.0, species=("firefish",))
    )
    assert named.species == {"firefish"}
    assert not {"firefish", "royal_gramma"} & surprise.species
    assert "neon_goby" in surprise.species
    kinds = {the_catalogue().species[one].kind for one in surprise.species}
    assert not {"coral", "pod"} & kinds


# --- rounds ---


def job(tank: str, *days: int, minutes: float = 10.0, setup: float = 5.0, group: str = "wet") -> Job:
    return Job(tank=tank, what="work", minutes=minutes, setup_group=group, setup_minutes=setup, days=days)


def test_a_set_up_is_made_once_a_visit_for_each_group_and_for_its_longest() -> None:
    week = rounds_of([job("a", 1, setup=5.0), job("a", 1, setup=8.0), job("a", 1, setup=3.0, group="dry")])
    (stop,) = week.stops
    assert stop.minutes == 30.0 + 8.0 + 3.0
    assert week.minutes_by_day == {1: 41.0}


def test_a_week_of_which_nothing_better_was_found_is_done_as_it_falls(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    nothing = Solved(status="unsolved", value=0.0, bound=0.0, chosen={})
    monkeypatch.setattr(rounds, "solve", lambda *_, **__: nothing)
    week = rounds_of([job("b", 2, 3), job("a", 4, 5), job("a", 2)])
    assert [(stop.day, stop.tank) for stop in week.stops] == [(2, "a"), (2, "b"), (4, "a")]
    assert not week.proven


def test_a_week_whose_longest_day_was_not_proven_shortest_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    real, week = solve, [job("a", 0, 1), job("b", 0, 1)]
    for unproven, proven in ((0, False), (1, False), (2, True)):
        asked = iter(range(2))

        def unsure(
            programme: Any, *, seed: int, limit_s: float, last: int = unproven, each: Any = asked
        ) -> Solved:
            found = real(programme, seed=seed)
            assert limit_s == 10.0
            return replace(found, status="feasible" if next(each) == last else found.status)

        monkeypatch.setattr(rounds, "solve", unsure)
        found = rounds_of(week)
        assert found.proven is proven
        assert sorted(found.minutes_by_day.values()) == [15.0, 15.0]


def test_days_without_a_set_up_in_common_are_shared_evenly() -> None:
    # 30 + 5 and 10 + 5 with 10 + 5: 35 and 30
    week = rounds_of([job("a", 0, 1, minutes=30.0), job("b", 0, 1), job("c", 0, 1)])
    assert sorted(week.minutes_by_day.values()) == [30.0, 35.0]
    zero = rounds_of([job("a", 0, 1, minutes=0.0, setup=0.0)])
    assert max(zero.minutes_by_day.values()) == 0.0
