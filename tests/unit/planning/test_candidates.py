from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue, Unknown
from backreef.company.engine import check_plan
from backreef.company.findings import CheckFinding
from backreef.planning import candidates
from backreef.planning.candidates import (
    Candidate,
    Looker,
    Refused,
    Shortlist,
    _Able,
    newcomer,
    shortlist,
    why_left_out,
)
from backreef.planning.responses import with_animals
from backreef.planning.wishes import ReadWish
from tests.planning_parts import a_value
from tests.planning_world import a_short_plan, a_wish, the_catalogue

ON = date(2027, 3, 2)
GOBY = "neon_goby"


def test_those_that_the_rules_refuse_are_left_out_with_the_rules_own_reason() -> None:
    plan = a_short_plan()
    found = shortlist(plan, the_catalogue(), [a_wish("tang", "yellow_tang", GOBY)], ON)
    assert GOBY in {one.id for one in found.candidates}
    why = why_left_out("yellow_tang", found, the_catalogue())
    assert why is not None
    said = check_plan(with_animals(plan, [newcomer("yellow_tang", 1, ON)]), the_catalogue())
    assert why.what in {finding.what for finding in said if finding.weight == "serious"}


def test_a_number_is_bounded_where_the_rules_speak_up() -> None:
    found = shortlist(a_short_plan(), the_catalogue(), [a_wish("goby", "yellow_watchman")], ON)
    (watchman,) = [one for one in found.candidates if one.id == "yellow_watchman"]
    assert (watchman.least_count, watchman.most_count) == (1, 1)


def test_pairs_that_do_not_get_on_are_told() -> None:
    wishes = [a_wish("shrimps", "fire_shrimp", "peppermint_shrimp")]
    found = shortlist(a_short_plan(), the_catalogue(), wishes, ON)
    assert [(pair.first, pair.second, pair.rule) for pair in found.quarrels] == [
        ("fire_shrimp", "peppermint_shrimp", "fights")
    ]


def test_what_nobody_asked_for_has_a_reason_too() -> None:
    found = shortlist(a_short_plan(), the_catalogue(), [a_wish("goby", GOBY)], ON)
    why = why_left_out("chalk_bass", found, the_catalogue())
    assert why is not None
    assert why.rule == "shortlist"
    assert why_left_out(GOBY, found, the_catalogue()) is None


# --- with rules of a test's own ---


def says(*found: tuple[str, Any]) -> list[CheckFinding]:
    return [
        CheckFinding(
            id=name,
            balance="mouths",
            weight=weight,
            who="",
            what=name,
            why="so",
            source="calc",
            status="practice",
        )
        for name, weight in found
    ]


@pytest.fixture
def rules(monkeypatch: pytest.MonkeyPatch) -> dict[Any, Any]:
    """What the rules say of the entries of a plan, by kind and number; nothing where a test says nothing."""
    said: dict[Any, Any] = {}

    def check(plan: Plan, _: Catalogue, without: Iterable[str] = ()) -> list[CheckFinding]:
        found: list[tuple[str, Any]] = []
        for entry in plan.animals:
            found += said.get(entry.species, lambda _: [])(entry.count)
        together = frozenset(entry.species for entry in plan.animals)
        found += [
            one
            for pair, what in said.items()
            if isinstance(pair, frozenset) and pair <= together
            for one in what
        ]
        return says(*(one for one in found if one[0].partition(".")[0] not in without))

    monkeypatch.setattr(candidates, "check_plan", check)
    return said


def kind(species_id: str = GOBY, **changes: Any) -> Catalogue:
    catalogue = the_catalogue()
    return replace(
        catalogue,
        species={**catalogue.species, species_id: replace(catalogue.species[GOBY], id=species_id, **changes)},
    )


def looked_at(catalogue: Catalogue, *there: int) -> Candidate | Refused:
    return looked_at_in(a_short_plan(animals=tuple(resident(GOBY, number) for number in there)), catalogue)


def looked_at_in(plan: Plan, catalogue: Catalogue) -> Candidate | Refused:
    return Looker(plan=plan, catalogue=catalogue, on=ON).looked_at(catalogue.species[GOBY])


def resident(species_id: str, number: int) -> AnimalEntry:
    return replace(newcomer(species_id, number, ON), id=f"there{number}", arrives_on=None)


@pytest.mark.parametrize(
    ("least", "most", "there", "bounds"),
    [
        (1, None, (), (1, 8)),
        (3, 5, (), (3, 5)),
        (3, 5, (1,), (2, 4)),
        (3, 5, (4,), (1, 1)),
        (1, 20, (), (1, 8)),
        (3, None, (5,), (1, 8)),
    ],
)
@pytest.mark.usefixtures("rules")
def test_a_group_is_filled_up_to_its_least_and_within_its_most(
    least: int, most: int | None, there: tuple[int, ...], bounds: tuple[int, int]
) -> None:
    found = looked_at(kind(group_min_count=least, group_max_count=most), *there)
    assert isinstance(found, Candidate)
    assert (found.least_count, found.most_count) == bounds
    assert found.cautions == ()


@pytest.mark.usefixtures("rules")
def test_a_group_that_is_full_takes_nobody_more() -> None:
    found = looked_at(kind(group_min_count=2, group_max_count=4), 4)
    assert isinstance(found, Refused)
    assert (found.rule, found.why) == ("group", "4 are there, and it lives in at least 2")
    pods = looked_at(kind(kind="pod"))
    assert isinstance(pods, Refused)
    assert pods.rule == "kind"


def test_as_many_may_come_as_the_rules_say_nothing_more_of(rules: dict[Any, Any]) -> None:
    rules[GOBY] = lambda number: [("crowd.x", "caution")] if number > 3 else []
    found = looked_at(kind(group_min_count=1, group_max_count=None))
    assert isinstance(found, Candidate)
    assert found.most_count == 3
    rules[GOBY] = lambda number: [("jumps.x", "serious" if number > 4 else "caution")]
    found = looked_at(kind(group_min_count=1, group_max_count=None))
    assert isinstance(found, Candidate)
    assert (found.most_count, [one.id for one in found.cautions]) == (4, ["jumps.x"])


def test_notes_days_and_what_was_said_before_are_no_hindrance(rules: dict[Any, Any]) -> None:
    rules[GOBY] = lambda _: [("space.x", "note"), ("order.x", "serious"), ("tank_age.x", "serious")]
    rules["royal_gramma"] = lambda _: [("old.x", "serious")]
    catalogue = kind(group_min_count=1, group_max_count=None)
    found = looked_at_in(a_short_plan(), catalogue)
    assert isinstance(found, Candidate)
    assert found.cautions == ()
    rules[GOBY] = lambda _: [("old.x", "caution")]
    graver = looked_at_in(a_short_plan(), catalogue)
    assert isinstance(graver, Candidate)
    assert [one.id for one in graver.cautions] == ["old.x"], "what is not as it was is new"


def test_a_serious_word_refuses(rules: dict[Any, Any]) -> None:
    rules[GOBY] = lambda _: [("mild.x", "caution"), ("space.x", "serious"), ("other.x", "serious")]
    found = looked_at(kind(group_min_count=1))
    assert isinstance(found, Refused)
    assert (found.rule, found.what, found.species_id) == ("space", "space.x", GOBY)


def test_a_pair_quarrels_over_what_is_said_of_neither_alone(rules: dict[Any, Any]) -> None:
    rules[GOBY] = lambda _: [("shy.x", "caution")]
    rules[frozenset({GOBY, "firefish"})] = [("fights.x", "serious"), ("fights.y", "serious")]
    rules[frozenset({GOBY, "trochus"})] = [("shy.x", "caution")]
    looker = Looker(plan=a_short_plan(), catalogue=the_catalogue(), on=ON)
    three = tuple(
        Candidate(species=the_catalogue().species[one], least_count=1, most_count=1, cautions=())
        for one in (GOBY, "firefish", "trochus")
    )
    assert [(one.first, one.second, one.rule) for one in looker.quarrels(three)] == [
        (GOBY, "firefish", "fights")
    ]


def listed(wishes: Iterable[ReadWish], catalogue: Catalogue | None = None, *asked: str) -> Shortlist:
    return shortlist(a_short_plan(), catalogue or the_catalogue(), list(wishes), ON, asked)


def ids(found: Shortlist) -> set[str]:
    return {one.id for one in found.candidates}


@pytest.mark.usefixtures("rules")
def test_of_a_wish_without_names_the_three_easiest_are_looked_at_and_of_one_with_names_all() -> None:
    four = ("neon_goby", "firefish", "chalk_bass", "yellow_watchman")
    wish = a_wish("any", *four)
    crew = ids(listed([]))
    assert len(crew) == 2, "grazers that no wish asks for"
    assert ids(listed([wish])) - crew == set(four)
    easiest = ids(listed([replace(wish, named=False)])) - crew
    assert len(easiest) == 3
    ease = _Able(Looker(plan=a_short_plan(), catalogue=the_catalogue(), on=ON), needs=1, doubtful=False)
    ranks = {one: ease._ease(one)[:2] for one in four}  # noqa: SLF001
    assert max(ranks[one] for one in easiest) <= min(ranks[one] for one in set(four) - easiest)
    # the crew are the two easiest grazers that are no fish
    assert all(the_catalogue().species[one].kind != "fish" for one in crew)


@pytest.mark.usefixtures("rules")
def test_the_easiest_comes_first_then_the_better_cleaner_the_smaller_one_and_by_name() -> None:
    catalogue = the_catalogue()
    goby = catalogue.species[GOBY]
    small, unknown = a_value(1.0), Unknown(reason="")
    made = {
        "a": replace(goby, id="a", low_upkeep="conditional", hardiness="hardy"),
        "b": replace(goby, id="b", low_upkeep="yes", hardiness="medium"),
        "c": replace(goby, id="c", low_upkeep="yes", hardiness="hardy", cleans={"glass": 1}),
        "d": replace(goby, id="d", low_upkeep="yes", hardiness="hardy", cleans={"glass": 2}),
        "e": replace(goby, id="e", low_upkeep="yes", hardiness="hardy", cleans={}),
        "f": replace(goby, id="f", low_upkeep="yes", hardiness="hardy", cleans={}, adult_length_cm=small),
        "g": replace(goby, id="g", low_upkeep="yes", hardiness="hardy", cleans={}, adult_length_cm=unknown),
    }
    whole = replace(catalogue, species={**catalogue.species, **made})
    able = _Able(Looker(plan=a_short_plan(), catalogue=whole, on=ON), needs=1, doubtful=True)
    assert [one.id for one in able.among(sorted(made), most=9)] == ["d", "c", "g", "f", "e", "b", "a"]
    assert len(able.among(sorted(made), most=2)) == 2


def test_who_has_a_caution_or_little_time_for_comes_only_where_named(rules: dict[Any, Any]) -> None:
    rules["firefish"] = lambda _: [("jumps.x", "caution")]
    catalogue = the_catalogue()
    busy = replace(catalogue.species[GOBY], low_upkeep="no")
    catalogue = replace(catalogue, species={**catalogue.species, GOBY: busy})
    wish = a_wish("any", "firefish", GOBY, "chalk_bass")
    assert {"firefish", GOBY, "chalk_bass"} <= ids(listed([wish], catalogue))
    unnamed = listed([replace(wish, named=False)], catalogue)
    assert {"firefish", GOBY} & ids(unnamed) == set()
    told = {one.species_id: one for one in unnamed.refused}
    assert (told["firefish"].rule, told["firefish"].why) == ("jumps", "so; name it in a wish to have it")
    assert told[GOBY].rule == "low_upkeep"
    assert told[GOBY].why == f"{busy.low_upkeep_reason}; name it in a wish to have it"


def test_a_wish_for_more_than_live_here_is_told_how_many_do(rules: dict[Any, Any]) -> None:
    rules[GOBY] = lambda number: [("crowd.x", "serious")] if number > 2 else []
    assert GOBY in ids(listed([a_wish("pair", GOBY, least=2)]))
    found = listed([a_wish("three", GOBY, least=3)])
    (refused,) = (one for one in found.refused if one.species_id == GOBY)
    assert (GOBY in ids(found), refused.rule, refused.why) == (False, "group", "at most 2")


def test_who_is_only_asked_about_is_a_candidate_of_its_own_kind_with_its_cautions(
    rules: dict[Any, Any],
) -> None:
    rules["firefish"] = lambda _: [("jumps.x", "caution")]
    found = listed([a_wish("goby", GOBY)], None, "firefish", GOBY)
    assert (found.asked_only, {"firefish", GOBY} <= ids(found)) == (frozenset({"firefish"}), True)
    order = [one.trouble for one in found.candidates]
    assert order == sorted(order)


def test_why_somebody_is_no_candidate_is_told_once_and_with_its_own_reason() -> None:
    refused = tuple(
        Refused(species_id=one, what=f"{one} is refused", why="so", rule="space")
        for one in ("firefish", GOBY)
    )
    found = Shortlist(candidates=(), quarrels=(), refused=refused)
    assert why_left_out(GOBY, found, the_catalogue()) is refused[1]
    other = why_left_out("chalk_bass", found, the_catalogue())
    assert other is not None
    assert other.what.endswith(": not looked at")


def test_a_newcomer_is_known_by_its_kind_and_comes_without_a_size() -> None:
    one = newcomer(GOBY, 3, ON)
    assert (one.id, one.species, one.count, one.arrives_on, one.length_cm) == (
        f"new_{GOBY}",
        GOBY,
        3,
        ON,
        None,
    )
