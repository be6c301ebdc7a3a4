from __future__ import annotations

import numpy as np

from backreef.judgement.crew import crew_sizes
from backreef.judgement.verdict import CrewSize
from backreef.plots.crew import size_words
from tests.unit.judgement.courses import FED, PAIR, SNAILS, WEEKS, course

MANY = SNAILS.replace("count = 4", "count = 60")


def size(lines: str) -> CrewSize:
    marched = course(lines, horizon=WEEKS)
    (found,) = crew_sizes(marched.prepared, marched.courses, marched.series)
    return found


def test_it_looks_at_grazers_that_are_no_fish() -> None:
    marched = course(PAIR + FED, horizon=WEEKS)
    assert crew_sizes(marched.prepared, marched.courses, marched.series) == ()
    assert size(SNAILS).animal_id == "snails"


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
    )
    assert "never thin" in size_words(one)
    assert np.isfinite(one.held_count_p50)
