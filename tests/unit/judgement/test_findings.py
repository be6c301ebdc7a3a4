from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from backreef.judgement.course import Course
from backreef.judgement.findings import breaks, findings_of, rank, sentence, words
from backreef.judgement.remedies import says
from backreef.judgement.verdict import Finding
from backreef.judgement.water import WaterTrouble, water_bands
from tests.unit.aquarium.plans import with_tank
from tests.unit.judgement.courses import FED, PAIR, SNAILS, course

MONDAYS = '[keeper]\npresence = ["Mon"]\n'


def named(marched: Course) -> dict[str, Finding]:
    return {finding.id: finding for finding in findings_of(marched)}


def trouble(series: str, first: list[int], *, harm: bool, low_side: bool = False) -> WaterTrouble:
    band = next(band for band in water_bands(with_tank("")) if band.series == series)
    return WaterTrouble(
        band=band,
        low_side=low_side,
        harm=harm,
        first_day=np.array(first),
        days=12.0,
        worst=60.0,
        bound=50.0,
    )


def with_waters(*waters: WaterTrouble) -> dict[str, Finding]:
    marched = course(PAIR + FED)
    changed = replace(marched, waters=list(waters))
    return {name: one for name, one in named(changed).items() if one.balance == "water"}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("pH falls below 7.4", "pH falls below 7.4"),
        ("pH, lowest of the day falls", "pH, lowest of the day falls"),
        ("nitrate rises", "Nitrate rises"),
        ("Ocellaris clownfish starves", "Ocellaris clownfish starves"),
        ("", ""),
    ],
)
def test_a_sentence_begins_with_a_capital_where_its_word_allows_it(text: str, expected: str) -> None:
    assert sentence(text) == expected


def test_a_harm_in_one_of_twenty_does_not_break_a_plan() -> None:
    assert not breaks(harm=True, share=0.05)
    assert breaks(harm=True, share=0.0501)
    assert not breaks(harm=False, share=1.0)


def test_what_breaks_ranks_before_rare_harm_and_that_before_a_note() -> None:
    note, rare, broken = rank(harm=False, share=1.0), rank(harm=True, share=0.05), rank(harm=True, share=0.06)
    assert 0 < note < rare < broken < rank(harm=True, share=1.0) <= 1


def test_a_finding_says_how_far_which_bound_was_left_and_when() -> None:
    found = with_waters(trouble("nitrate_mg_no3_per_l", [10, -1, 30], harm=True))
    nitrate = found["water.nitrate_mg_no3_per_l.high.harm"]
    assert nitrate.what == "Nitrate rises above 50 mg/L NO3"
    assert (nitrate.value, nitrate.bound, nitrate.unit, nitrate.days) == (60.0, 50.0, "mg/L NO3", 12)
    assert nitrate.first_on == date(2027, 1, 24), "the median of the members that leave it"
    assert nitrate.share_of_members == pytest.approx(2 / 3)
    assert nitrate.breaks
    assert nitrate.why
    assert nitrate.source


def test_its_remedies_are_not_tried_yet() -> None:
    found = with_waters(trouble("nitrate_mg_no3_per_l", [10], harm=True))
    remedies = found["water.nitrate_mg_no3_per_l.high.harm"].remedies
    assert remedies
    assert not any(one.checked or one.effect or one.holds_after is not None for one in remedies)


def test_harm_that_breaks_the_plan_makes_the_act_bound_of_its_side_superfluous() -> None:
    act = trouble("nitrate_mg_no3_per_l", [5, 5], harm=False)
    harm = trouble("nitrate_mg_no3_per_l", [10, 10], harm=True)
    low = trouble("nitrate_mg_no3_per_l", [5, 5], harm=False, low_side=True)
    assert set(with_waters(act, harm, low)) == {
        "water.nitrate_mg_no3_per_l.high.harm",
        "water.nitrate_mg_no3_per_l.low.act",
    }
    rare = trouble("nitrate_mg_no3_per_l", [10, *[-1] * 39], harm=True)
    assert len(with_waters(act, rare)) == 2


def test_ph_keeps_its_small_letter() -> None:
    found = with_waters(trouble("ph_total", [10], harm=True, low_side=True))
    assert found["water.ph_total.low.harm"].what.startswith("pH, lowest of the day falls below")


def test_every_bound_of_the_water_has_its_reason() -> None:
    for corals in ("none", "soft", "sps"):
        for band in water_bands(with_tank(f'corals = "{corals}"\n')):
            sides = {
                "low": (band.act_low, band.harm_low),
                "high": (band.act_high, band.harm_high),
            }
            for side, bounds in sides.items():
                if any(bound is not None for bound in bounds):
                    assert words()["water"][band.series][side]["why"]


def test_a_starving_fish_is_named_with_its_meals_as_the_cause() -> None:
    starving = named(course(PAIR))["mouths.pair.harm"]
    assert (starving.balance, starving.who, starving.breaks) == ("mouths", "Ocellaris clownfish", True)
    assert starving.what == "Ocellaris clownfish starves"
    assert starving.why == words()["mouths"]["eater"]["why"]
    assert "mouths.pair.act" not in named(course(PAIR))


def test_a_starving_grazer_is_named_with_the_film_as_the_cause() -> None:
    bare = SNAILS.replace("count = 4", "count = 60")
    hungry = [one for name, one in named(course(bare)).items() if name.startswith("mouths.snails")]
    assert [one.why for one in hungry] == [words()["mouths"]["grazer"]["why"]]


def test_a_missed_chore_breaks_the_plan_on_the_day_it_was_due() -> None:
    marched = course(PAIR + FED + MONDAYS)
    missed = named(marched)["hands.missed.ato_refill"]
    chores = [each for each in marched.work.missed if each.chore.task_id == "ato_refill"]
    assert (missed.breaks, missed.harm, missed.value) == (True, 1.0, len(chores))
    assert missed.what.endswith("falls on days when nobody is there, and cannot wait")
    assert missed.first_on == date(2027, 1, 4 + min(each.day for each in chores))
    assert marched.prepared.catalogue.tasks["ato_refill"].consequence in missed.why


def test_a_quarter_over_the_budget_makes_the_month_superfluous() -> None:
    busy = (
        "[keeper]\nminutes_per_month = 10\n"
        '[[upkeep]]\ntask = "wc_do"\nshare = "10 %"\nevery = "2 days"\n'
        '[goals]\nhorizon = "0.3 years"\n'
    )
    found = [one for name, one in named(course(busy, horizon="")).items() if name.startswith("hands.minutes")]
    (over,) = found
    assert (over.id, over.bound, over.unit) == ("hands.minutes.harm", 10.0, "min per month")
    assert (over.value or 0.0) > 10.0


def test_it_names_no_remedy_that_would_change_nothing() -> None:
    helped = {remedy.what for one in named(course(PAIR)).values() for remedy in one.remedies}
    assert says("first_meal") in helped
    assert not helped & {says("feed_more"), says("more_meals"), says("harvest_more")}


def test_it_writes_units_as_people_do() -> None:
    found = with_waters(trouble("temperature_c", [3, 4], harm=False))
    assert found["water.temperature_c.high.act"].what == "Temperature rises above 50 °C"


def test_what_is_said_of_warm_water_is_not_said_of_cold() -> None:
    name = "temperature_c"
    found = with_waters(trouble(name, [5], harm=True), trouble(name, [5], harm=True, low_side=True))
    assert "bleach" in found["water.temperature_c.high.harm"].source
    cold = found["water.temperature_c.low.harm"].source
    assert cold
    assert "bleach" not in cold
