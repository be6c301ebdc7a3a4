"""Small plans marched for tests of the judgement: a pair of clownfish in a young tank, fed or not."""

from __future__ import annotations

from datetime import date
from functools import cache

from backreef.aquarium.plan import Plan
from backreef.judgement.course import Course, run_course
from backreef.judgement.verdict import Finding
from backreef.simulation.draws import Draws
from tests.unit.aquarium.plans import catalogue, plan_of

MEMBERS = 8
TANK = """\
start_on = 2027-01-04
[tank]
display = "200 L"
rock = "20 kg"
start = { kind = "live_rock" }
"""
PAIR = '[[animals]]\nid = "pair"\nspecies = "ocellaris_clown"\ncount = 2\n'
SNAILS = '[[animals]]\nid = "snails"\nspecies = "trochus"\ncount = 4\n'
FED = """\
[[meals]]
id = "meal"
food = "pellet_small"
enough_for = "growth"
times = ["08:00", "13:00", "18:00"]
"""
"""In three meals: of two, more is lost than the pair's gain allows where there is little film to pick at."""
SHORT = '[goals]\nhorizon = "0.1 years"\n'
WEEKS = '[goals]\nhorizon = "0.25 years"\n'


def small_plan(lines: str, *, horizon: str = SHORT) -> Plan:
    return plan_of(TANK + lines + horizon)


@cache
def course(lines: str, *, horizon: str = SHORT, members: int = MEMBERS) -> Course:
    return run_course(small_plan(lines, horizon=horizon), catalogue(), Draws(1, members))


def a_finding(name: str, *, share: float) -> Finding:
    """A harm that hits a share of the members."""
    return Finding(
        id=name,
        balance="mouths",
        harm=0.9,
        breaks=share > 0.05,
        who="",
        first_on=date(2027, 1, 10),
        days=1,
        share_of_members=share,
        value=None,
        bound=None,
        unit="",
        what=name,
        why="",
        source="",
    )
