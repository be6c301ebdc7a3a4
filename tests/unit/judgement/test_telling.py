"""What a forecast says beside its march: how long nobody is there, and what broke its members first."""

from __future__ import annotations

import numpy as np
import pytest

from backreef.aquarium.absence import longest_absence
from backreef.judgement.telling import first_cause, longest_absence_days
from backreef.schedule.presence import presence
from tests.unit.aquarium.plans import plan_of
from tests.unit.judgement.courses import a_finding

PHOSPHATE, NITRATE, ALGAE = "water.phosphate.high.harm", "water.nitrate.high.harm", "water.film.high.act"
FINDINGS = [a_finding(PHOSPHATE, share=0.8), a_finding(NITRATE, share=0.1), a_finding(ALGAE, share=0.01)]
HIT = {
    PHOSPHATE: np.array([900, 300, 310, 700, -1, -1]),
    NITRATE: np.array([-1, -1, -1, -1, 400, -1]),
    ALGAE: np.array([1, 1, 1, 1, 1, 1]),
}


@pytest.mark.parametrize(
    ("by", "cause"),
    [
        (200, ""),  # nothing but a bound to act at
        (310, PHOSPHATE),  # though its middle member is hit later than the only one of nitrate
        (400, PHOSPHATE),
        (900, PHOSPHATE),
    ],
)
def test_the_cause_is_what_hit_most_members_by_then(by: int, cause: str) -> None:
    assert first_cause(FINDINGS, HIT, by) == next((one.what for one in FINDINGS if one.id == cause), "")


def test_of_as_many_the_first_is_named() -> None:
    one_each = {**HIT, PHOSPHATE: np.array([500, -1, -1, -1, -1, -1])}
    assert first_cause(FINDINGS, one_each, 600) == FINDINGS[1].what


SCHOOL = """\
start_on = 2027-08-16
[tank]
display = "60 L"
[keeper]
presence = ["Mon-Fri 7:30-16:00"]
closed = [{ every_year = "18 Dec to 3 Jan", label = "holidays" }]
"""
# In 2028 the holidays begin on a Monday after a weekend: 16 December to 3 January.
CARETAKER = (
    'helpers = [{ name = "caretaker", days = "Mon-Fri", when_closed = true, tasks = ["ato_refill"] }]\n'
)


@pytest.mark.parametrize(("helpers", "days"), [("", 19), (CARETAKER, 2)])
def test_a_day_on_which_a_helper_comes_is_none_without_anybody(helpers: str, days: int) -> None:
    plan = plan_of(SCHOOL + helpers)
    assert longest_absence_days(presence(plan)) == days
    assert longest_absence(plan).days == days, "a check says the same as a forecast"


def test_where_nobody_ever_comes_all_days_are_without_anybody() -> None:
    plan = plan_of(
        SCHOOL.replace("Mon-Fri 7:30-16:00", "Sun 9:00-10:00").replace("18 Dec to 3 Jan", "1 Jan to 31 Dec")
    )
    assert longest_absence_days(presence(plan)) == plan.horizon_days
