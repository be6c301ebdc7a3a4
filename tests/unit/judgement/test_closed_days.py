"""What must show: presence decides, not only minutes. The scenarios are ours; trade facts have no source."""

from __future__ import annotations

from datetime import date

from backreef.judgement.course import Course
from backreef.judgement.findings import findings_of
from backreef.judgement.verdict import Finding
from tests.unit.judgement.courses import WEEKS, course

STOCK = '[[animals]]\nid = "pair"\nspecies = "ocellaris_clown"\ncount = 2\n'
KEEPER = """
[keeper]
minutes_per_month = 600
presence = ["Mon-Sun 7:00-22:00"]
closed = [{ first = 2027-02-01, last = 2027-02-14, label = "away" }]
"""
DRY_BY_FEEDER = """
[[meals]]
id = "ration"
food = "pellet_small"
enough_for = "growth"
by = "feeder"
times = ["9:00", "17:00"]
[[devices]]
id = "feeder"
kind = "feeder_auger"
hopper = "60 g"
[[devices]]
id = "top_off"
kind = "ato"
plumbed = true
"""
TOP_OFF_BY_HAND = '[[upkeep]]\nid = "top_off"\ntask = "ato_refill"\nevery = "2 days"\nminutes = "2 min"\n'
FED_BY_HAND = """
[[meals]]
id = "ration"
food = "pellet_small"
enough_for = "growth"
times = ["9:00", "17:00"]
"""
TREAT = """
[[meals]]
id = "treat"
food = "fz_mysid"
amount = "0.2 g"
times = ["18:00"]
days = "Sat when present"
"""


def marched(lines: str) -> Course:
    return course(STOCK + lines + KEEPER, horizon=WEEKS)


def named(found: Course) -> dict[str, Finding]:
    return {finding.id: finding for finding in findings_of(found)}


def test_a_plan_that_fits_its_minutes_breaks_on_a_closed_day_and_says_which() -> None:
    found = marched(FED_BY_HAND + TOP_OFF_BY_HAND)
    minutes = found.work.per_day.sum(axis=0) / found.prepared.keeper.days * 365.25 / 12
    assert (minutes < 600).all(), "the minutes fit"
    missed = named(found)["hands.missed.ato_refill"]
    assert missed.breaks
    assert missed.first_on is not None
    assert date(2027, 2, 1) <= missed.first_on <= date(2027, 2, 14)
    assert (found.broken_on["hands"] == (missed.first_on - date(2027, 1, 4)).days).all()


def test_the_same_plan_with_a_feeder_and_an_automatic_top_off_holds() -> None:
    found = marched(DRY_BY_FEEDER)
    assert not any(finding.breaks for finding in findings_of(found))
    assert all((first < 0).all() for first in found.broken_on.values())


def test_a_treat_by_hand_may_be_skipped_when_the_feeder_carries_the_ration() -> None:
    # common practice, no source: a treat given by hand may be skipped without harm
    found = marched(DRY_BY_FEEDER + TREAT)
    given = [meal.day for meal in found.prepared.keeper.meals.occasions if meal.meal_id == "treat"]
    first = (date(2027, 2, 1) - date(2027, 1, 4)).days
    assert given
    assert not set(given) & set(range(first, first + 14))
    assert not any(finding.breaks for finding in findings_of(found))


def test_frozen_food_needs_somebody_each_time() -> None:
    # common practice, no source: frozen food needs a person present each time
    found = marched(TREAT.replace("Sat when present", "every day"))
    closed = range(28, 42)
    given = {meal.day for meal in found.prepared.keeper.meals.occasions if meal.meal_id == "treat"}
    assert not given & set(closed)
    tasks = {chore.task_id: chore.needs_presence for chore in found.prepared.keeper.chores}
    assert tasks["feed_frozen"]
