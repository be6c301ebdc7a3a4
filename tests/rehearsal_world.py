"""Rehearsals for tests: the reading room's August, and small tanks with one thing to go wrong."""

from __future__ import annotations

from datetime import date
from functools import cache

from backreef.judgement.rehearsal import Rehearsal
from backreef.schedule.away import Absence
from backreef.usecases.rehearse import rehearse
from tests.cli_world import EXAMPLES
from tests.unit.aquarium.plans import plan_of

AUGUST = Absence(first_on=date(2027, 8, 2), until_on=date(2027, 8, 16))
MEMBERS = 8
SMALL = """\
start_on = 2027-01-04
[tank]
display = "200 L"
rock = "20 kg"
start = { kind = "established", age = "12 months" }
[[animals]]
id = "pair"
species = "ocellaris_clown"
count = 2
[[animals]]
id = "snails"
species = "trochus"
count = 4
[keeper]
presence = ["Mon-Sun 8:00-20:00"]
[goals]
horizon = "0.25 years"
"""
FEEDER = """\
[[devices]]
id = "feeder"
kind = "feeder_auger"
hopper = "40 g"
portion = "0.05 g"
[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.1 g"
by = "feeder"
times = ["9:00", "17:00"]
"""
TOP_OFF = """\
[[devices]]
id = "box"
kind = "ato"
reservoir = "40 L"
"""
LAMP = '[[devices]]\nid = "lamp"\nkind = "light_timer"\n'
WEEK = Absence(first_on=date(2027, 2, 1), until_on=date(2027, 2, 8))
WEEK_WITH_SITTER = Absence(first_on=date(2027, 2, 1), until_on=date(2027, 2, 8), sitter_weekdays=(2, 4))


@cache
def august() -> Rehearsal:
    return rehearse(EXAMPLES / "reading_room.toml", AUGUST, members=MEMBERS)


@cache
def small(devices: str, absence: Absence = WEEK) -> Rehearsal:
    return rehearse(plan_of(SMALL + devices), absence, members=MEMBERS)
