import numpy as np
import pytest

from backreef.company.hazards import Hazard, Outbreak, Rate
from backreef.simulation.dangers import EVERY_D, Dangers, drawn_rate_per_y
from backreef.simulation.draws import Draws
from backreef.simulation.events import Drawn, EventProgram
from backreef.units import DAYS_PER_YEAR
from tests.unit.judgement.courses import FED, WEEKS, course
from tests.unit.runs.world import PAIR, operators, prepared

RATE = Rate(value_per_y=2.0, low_per_y=1.0, high_per_y=4.0)


def a_hazard(since_day: int = 0, until_day: int = 365, outbreak: Outbreak | None = None) -> Hazard:
    return Hazard(
        entry_id="pair",
        cause="rivals",
        since_day=since_day,
        until_day=until_day,
        rate=RATE,
        outbreak=outbreak,
    )


def added_per_head(hazard: Hazard, days: range) -> float:
    """Sum of what the events of some midnights add for each living animal, over the rate."""
    ready = prepared(PAIR)
    drawn = Drawn()
    dangers = Dangers((hazard,), ready.cohorts, operators(ready, drawn).book, drawn)
    program = EventProgram()
    for day in days:
        dangers.reckon(program, day)
    return sum(factor for *_, factor in program.operations if factor > 0)


@pytest.mark.parametrize(
    ("since", "until", "expected"), [(0, 365, 35), (10, 20, 10), (33, 365, 2), (40, 50, 0)]
)
def test_the_weeks_add_up_to_the_days_of_a_hazard(since: int, until: int, expected: int) -> None:
    assert added_per_head(a_hazard(since, until), range(37)) == pytest.approx(expected / DAYS_PER_YEAR)


def test_it_counts_nothing_before_the_first_day() -> None:
    assert added_per_head(a_hazard(), range(-70, 1)) == 0.0
    assert added_per_head(a_hazard(), range(1, EVERY_D)) == 0.0


def test_a_disease_breaks_out_in_some_members_for_all_alike() -> None:
    draws = Draws(1, 2000)
    outbreak = Outbreak(name="disease brought on a day", chance_frac=0.25)
    rates = drawn_rate_per_y(a_hazard(outbreak=outbreak), draws)
    others = drawn_rate_per_y(
        Hazard(entry_id="other", cause="disease", since_day=0, until_day=9, rate=RATE, outbreak=outbreak),
        draws,
    )
    assert np.mean(rates > 0) == pytest.approx(0.25, abs=0.03)
    assert ((rates > 0) == (others > 0)).all()
    assert np.median(drawn_rate_per_y(a_hazard(), draws)) == pytest.approx(2.0, rel=0.1)


def test_more_animals_of_a_marched_plan_die_where_a_mouth_is() -> None:
    many = PAIR.replace("count = 2", "count = 8") + FED
    lion = '[[animals]]\nid = "zz_lion"\nspecies = "volitans_lion"\nlength = "20 cm"\n'

    def lost(lines: str) -> float:
        marched = course(lines, horizon=WEEKS, members=16)
        slot = [cohort.entry.id for cohort in marched.prepared.cohorts].index("pair")
        return float(marched.courses[slot].lost[-1].mean())

    assert lost(many + lion) > lost(many) + 1
