from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.judgement.verdict import Forecast, Remedy
from backreef.reports import words
from tests.forecast_world import a_breaking_forecast, a_holding_forecast, a_minimal_forecast, an_odd_forecast


@pytest.fixture(scope="module")
def breaking() -> Forecast:
    return a_breaking_forecast()


def test_it_says_first_whether_the_plan_holds(breaking: Forecast) -> None:
    assert words.headline(breaking) == "The plan breaks on 29 July 2027."
    assert words.headline(a_holding_forecast()) == "The plan holds for 3 years."
    assert words.headline(replace(breaking, first_break=None)) == "The plan breaks."


def test_it_names_the_first_balance_and_its_cause(breaking: Forecast) -> None:
    assert (
        words.reason(breaking) == "Hands breaks first: water changes fall on days when the library is closed."
    )
    assert words.reason(a_holding_forecast()) == ""


def test_it_takes_the_balances_cause_where_the_forecast_gives_none(breaking: Forecast) -> None:
    assert words.reason(replace(breaking, first_break_cause="")) == words.reason(breaking)


def test_it_says_in_what_share_of_members_with_the_interval(breaking: Forecast) -> None:
    said = words.certainty(breaking).replace("\u00a0", " ")
    assert said == "None of 64 members hold to 3 January 2030: 0 %, between 0 and 6 %."
    assert words.certainty(a_minimal_forecast()).startswith("One member was run, without its uncertainty")


def test_it_names_the_breaks_that_follow(breaking: Forecast) -> None:
    assert words.later_breaks(breaking) == "Mouths on 17 July 2028 and Water on 15 January 2029 follow."
    mouths, water, hands = breaking.balances
    held = tuple(replace(b, holds=True, first_break=None) for b in (mouths, water))
    hands_only = replace(breaking, balances=(*held, hands))
    assert words.later_breaks(hands_only) == "Mouths and Water hold."


def test_it_ranks_breaks_before_greater_harm(breaking: Forecast) -> None:
    first, *rest = breaking.findings
    loud = replace(rest[-1], harm=1.0)
    assert [f.id for f in words.ranked(replace(breaking, findings=(loud, first)))] == [
        "anthias_starve",
        loud.id,
    ]


def test_it_keeps_all_findings(breaking: Forecast) -> None:
    assert {f.id for f in words.ranked(breaking)} == {f.id for f in breaking.findings}


def test_it_sets_a_value_against_its_bound(breaking: Forecast) -> None:
    finding = breaking.findings[1]
    assert words.finding_measure(finding) == "78 against a bound of 50 mg NO3/L"
    assert words.finding_measure(replace(finding, bound=None)) == "78 mg NO3/L"
    assert words.finding_measure(replace(finding, value=float("nan"))) == "bound 50 mg NO3/L"
    assert words.finding_measure(replace(finding, value=None, bound=None)) == ""


@pytest.mark.parametrize(
    ("remedy", "said"),
    [
        (Remedy(id="x", what="x"), "not simulated"),
        (Remedy(id="x", what="x", checked=True), "simulated"),
        (Remedy(id="x", what="x", checked=True, holds_after=True), "simulated: mends this"),
        (Remedy(id="x", what="x", checked=True, holds_after=False), "simulated: not enough"),
        (Remedy(id="x", what="x", checked=False, holds_after=True), "not simulated"),
        (Remedy(id="x", what="x", advice=True), "advice"),
    ],
)
def test_it_says_of_a_remedy_only_what_was_simulated(remedy: Remedy, said: str) -> None:
    assert words.remedy_verdict(remedy) == said


def test_it_counts_assumptions_by_what_stands_behind_them(breaking: Forecast) -> None:
    said = words.assumption_count(breaking)
    assert said == (
        "40 assumptions: 1 our default, 10 from memory, 10 common practice, 9 worked out here, 10 published"
    )
    assert words.weakest_first(breaking)[0].status == "default"
    assert words.weakest_first(breaking)[-1].status == "published"
    assert words.assumption_count(a_minimal_forecast()) == "No assumption was recorded"


def test_it_admits_that_a_residual_is_not_known() -> None:
    forecast = replace(a_minimal_forecast(), conservation_residual=float("nan"))
    assert (
        words.residual_words(forecast)
        == "The books of the elements close to not known of what passed through."
    )


def test_it_names_a_plan_without_a_name_by_its_file() -> None:
    assert words.plan_title(a_minimal_forecast()) == "library.toml"
    assert words.plan_title(an_odd_forecast()) == "<script>alert('reef')</script>"


def test_it_makes_a_cause_part_of_its_sentence(breaking: Forecast) -> None:
    told = words.reason(replace(breaking, first_break_cause="A quarter takes more than the minutes given."))
    assert told == "Hands breaks first: a quarter takes more than the minutes given."
    told = words.reason(replace(breaking, first_break_cause="NO3 stays high"))
    assert told == "Hands breaks first: NO3 stays high."


def test_it_tells_every_break_in_full_and_some_to_watch(breaking: Forecast) -> None:
    watch = [replace(breaking.findings[-1], id=f"watch_{i}") for i in range(9)]
    many = replace(breaking, findings=(*watch, *breaking.findings[:3]))
    told, rest = words.split_findings(many, 4)
    assert [f.breaks for f in told] == [True] * 3 + [False] * 4
    assert len(rest) == 5
    assert {f.id for f in told + rest} == {f.id for f in many.findings}


def test_it_names_later_breaks_in_the_order_they_come(breaking: Forecast) -> None:
    mouths, water, hands = breaking.balances
    swapped = (
        replace(mouths, first_break=water.first_break),
        replace(water, first_break=mouths.first_break),
        hands,
    )
    told = words.later_breaks(replace(breaking, balances=swapped))
    assert told == "Water on 17 July 2028 and Mouths on 15 January 2029 follow."


def test_it_says_how_to_try_what_was_not_tried() -> None:
    able, advice = Remedy(id="x", what="x"), Remedy(id="y", what="y", advice=True)
    finding = a_breaking_forecast().findings[0]
    untried = replace(finding, remedies=(able, advice))
    assert "--thorough" in words.untried_note([finding, untried])
    tried = replace(finding, remedies=(replace(able, checked=True), advice))
    assert words.untried_note([tried]) == ""
