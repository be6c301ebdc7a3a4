"""What a forecast names as the cause is what had broken its members by the day that it names."""

from __future__ import annotations

import numpy as np
import pytest

from backreef.judgement.telling import first_cause
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
