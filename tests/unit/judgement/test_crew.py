from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest

from backreef.judgement.crew import crew_sizes, quarters
from backreef.judgement.rules import rule
from backreef.judgement.verdict import CrewSize
from backreef.plots.crew import size_words
from backreef.plots.crew_seasons import lasting_words, years_table
from tests.unit.judgement.courses import FED, PAIR, SNAILS, WEEKS, course

YEAR = '[goals]\nhorizon = "1 years"\n'
HALF = '[goals]\nhorizon = "0.5 years"\n'
MANY = SNAILS.replace("count = 4", "count = 60")


def size(lines: str) -> CrewSize:
    marched = course(lines, horizon=WEEKS)
    (found,) = crew_sizes(marched.prepared, marched.courses, marched.series)
    return found


def test_it_looks_at_grazers_and_not_at_fish_that_live_from_meals() -> None:
    marched = course(PAIR + FED, horizon=WEEKS)
    assert crew_sizes(marched.prepared, marched.courses, marched.series) == ()
    assert size(SNAILS).animal_id == "snails"


def test_a_fish_that_lives_from_what_grows_is_a_grazer_too() -> None:
    assert size('[[animals]]\nid = "blenny"\nspecies = "lawnmower_blenny"\n').animal_id == "blenny"


def test_sixty_snails_in_a_young_tank_are_more_than_it_feeds() -> None:
    few, many = size(SNAILS), size(MANY)
    assert (few.count, many.count) == (4, 60)
    assert many.held_count_p50 < 60
    assert few.held_count_p05 <= few.held_count_p50 <= few.held_count_p95
    assert many.starving_share_by_year[0] > few.starving_share_by_year[0]
    assert many.starving_share_by_year[0] > 0.9


def test_it_gives_a_share_for_each_year() -> None:
    assert len(size(SNAILS).starving_share_by_year) == 1
    assert all(0 <= each <= 1 for each in size(MANY).starving_share_by_year)


def test_it_says_it_in_a_sentence() -> None:
    words = size_words(size(MANY))
    assert "60 in the plan" in words
    assert "thin for weeks in year 1" in words
    one = CrewSize(
        animal_id="a",
        common_name="Snail",
        count=3,
        held_count_p05=2.0,
        held_count_p50=4.0,
        held_count_p95=6.0,
        starving_share_by_year=(0.0, 0.0),
        seasons=(),
    )
    assert "never thin" in size_words(one)
    assert np.isfinite(one.held_count_p50)


@pytest.mark.parametrize(
    ("start_on", "days", "firsts"),
    [
        (date(2027, 1, 4), 365, ["2027-01-04", "2027-04-01", "2027-07-01", "2027-10-01"]),
        (date(2027, 3, 20), 365, ["2027-03-20", "2027-07-01", "2027-10-01", "2028-01-01"]),
        (date(2027, 1, 4), 20, ["2027-01-04"]),
        (date(2027, 2, 10), 60, ["2027-02-10"]),
    ],
)
def test_quarters_are_those_of_the_calendar_and_leave_out_no_day(
    start_on: date, days: int, firsts: list[str]
) -> None:
    parts = quarters(start_on, days)
    assert [str(start_on + timedelta(days=part.start)) for part in parts] == firsts
    assert [day for part in parts for day in range(part.start, part.stop)] == list(range(days))


def test_what_a_tank_feeds_changes_with_the_quarter_and_with_how_many_there_are() -> None:
    few, many = (course(lines, horizon=YEAR) for lines in (SNAILS, MANY))
    found = [crew_sizes(one.prepared, one.courses, one.series)[0].seasons for one in (few, many)]
    for seasons in found:
        assert [season.first_on.month for season in seasons] == [1, 4, 7, 10]
        assert all(
            season.held_count_p05 <= season.held_count_p50 <= season.held_count_p95 for season in seasons
        )
        mean = 4 / sum(1 / each.held_count_p50 for each in seasons)
        assert seasons[0].lasting_count == int(mean / rule("crew_fed_frac"))
        assert seasons[0].lasting_count <= min(each.held_count_p50 for each in seasons) * 5
        assert seasons[1].lasting_count is None, "the plan ends before a year is over"
        assert len({round(each.held_count_p50, 1) for each in seasons}) > 1
    assert found[1][0].starving_share > 0.9, "a package in a young tank starves in its first quarter"
    assert found[1][0].held_count_p50 < 60


def test_nothing_is_known_of_a_quarter_in_which_none_lives() -> None:
    late = SNAILS.replace("count = 4", "count = 4\narrives_on = 2027-04-20")
    marched = course(late, horizon=HALF)
    (found,) = crew_sizes(marched.prepared, marched.courses, marched.series)
    first, second = found.seasons
    assert math.isnan(first.held_count_p50)
    assert (first.lasting_count, first.starving_share) == (None, 0.0)
    assert second.held_count_p50 > 0
    (row,) = years_table(found).rows
    assert row[1] == "none there"
    assert lasting_words(found) == ""


def alive_frac(kind: str, count: int) -> float:
    """Middle share of some snails of 2 cm that are alive after a quarter in a young tank."""
    lines = f'[[animals]]\nid = "snails"\nspecies = "{kind}"\ncount = {count}\nlength = "2 cm"\n'
    return float(np.median(course(lines, horizon=WEEKS).courses[0].count[-1])) / count


def test_how_many_mouths_there_are_counts_for_more_than_their_kind() -> None:
    # common practice, no source: the number of grazing mouths matters more than which grazers they are
    kinds = ("trochus", "astraea", "nerite")
    few, many = ([alive_frac(kind, count) for kind in kinds] for count in (4, 30))
    by_kind = max(max(few) - min(few), max(many) - min(many))
    by_number = min(few) - max(many)
    assert by_number > 2 * by_kind
    assert max(many) < 0.4
