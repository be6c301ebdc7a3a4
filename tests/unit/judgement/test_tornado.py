"""What is looked at where a figure is asked what moves it."""

from __future__ import annotations

import numpy as np
import pytest

from backreef.judgement.course import run_course
from backreef.judgement.tornado import inputs_of, tornado
from backreef.simulation.draws import Draws
from tests.unit.aquarium.plans import catalogue, plan_of

PLAN = """\
start_on = 2027-01-04
[tank]
display = "200 L"
[[animals]]
id = "clowns"
species = "ocellaris_clown"
count = 2
[[animals]]
id = "leather"
species = "leathers"
[[devices]]
id = "drum"
kind = "feeder_drum_mains"
[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.2 g"
by = "drum"
[goals]
horizon = "0.1 years"
"""
LASTING = ("drum.gives over its setting", "corals.surface over what the plan says")


def test_what_a_feeder_gives_and_how_much_coral_there_is_are_among_the_inputs() -> None:
    course = run_course(plan_of(PLAN), catalogue(), Draws(1, 16))
    drawn = inputs_of(course)
    for name in LASTING:
        found = tornado(drawn[name], course, unit="-")
        assert found is not None
        assert found.bars[0].key == name
        assert found.bars[0].rank_correlation_ratio == pytest.approx(1.0)
    assert np.ptp(drawn[LASTING[0]]) > 0.1
