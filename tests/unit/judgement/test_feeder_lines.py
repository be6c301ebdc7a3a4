"""Settings, refills, gaps and rations told in advance."""

import itertools
from datetime import date
from functools import cache

from backreef.judgement.fasting import fasting_lines
from backreef.judgement.feeder_lines import feeder_lines, gap_lines, ration_steps
from backreef.judgement.verdict import GapLine
from backreef.simulation.prepared import Prepared, prepare
from tests.unit.aquarium.plans import catalogue
from tests.unit.judgement.courses import PAIR, course, small_plan

YEAR = '[goals]\nhorizon = "1 year"\n'
CLOSED = """\
[keeper]
presence = ["Mon-Sun 7:00-22:00"]
closed = [{ first = 2027-01-12, last = 2027-01-20, label = "away" }]
"""
DRUM = '[[devices]]\nid = "drum"\nkind = "feeder_drum_batt"\nhopper = "6 g"\n'
BY_DRUM = """\
[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.2 g"
by = "drum"
times = ["11:00", "17:00"]
"""
TANG = '[[animals]]\nid = "tang"\nspecies = "yellow_tang"\nlength = "8 cm"\n'
SHEET = '[[meals]]\nid = "sheet"\nfood = "nori"\namount = "1 g"\ntimes = ["12:00"]\n'
GROWING = """\
[[meals]]
id = "growing"
food = "pellet_small"
enough_for = "growth"
times = ["12:00", "17:00"]
"""


@cache
def prepared(lines: str) -> Prepared:
    return prepare(small_plan(lines, horizon=YEAR), catalogue())


def gap(lines: str) -> GapLine:
    found = course(lines)
    fasting = fasting_lines(found.prepared, found.members, found.courses)
    (only,) = gap_lines(found.prepared, fasting)
    return only


def test_a_feeder_tells_its_settings_its_days_and_when_it_is_seen_to() -> None:
    (line,) = feeder_lines(prepared(CLOSED + PAIR + DRUM + BY_DRUM))
    assert line.settings[0].startswith("11:00 ")
    assert line.settings[1].startswith("17:00 ")
    assert line.covered_d == int(6.0 / line.grams_as_fed_per_d)
    between = [(later - first).days for first, later in zip(line.refills, line.refills[1:], strict=False)]
    assert line.refills
    assert max(between) <= line.covered_d
    assert line.batteries
    assert line.batteries[0] > date(2027, 1, 4)


def test_a_feeder_without_meals_is_not_told_of() -> None:
    assert feeder_lines(prepared(CLOSED + PAIR + DRUM + GROWING)) == ()


def test_with_a_feeder_nobody_suffers_in_a_gap_and_without_one_the_pair_does() -> None:
    fed, unfed = gap(CLOSED + PAIR + DRUM + BY_DRUM), gap(CLOSED + PAIR + GROWING)
    assert (fed.first_on, fed.last_on) == (date(2027, 1, 12), date(2027, 1, 20))
    assert (fed.fed_days, fed.hungry) == (9, "")
    assert (unfed.fed_days, unfed.hungry) == (0, "Ocellaris clownfish")
    assert unfed.hungry_quarter_gone_d_p05 is not None
    assert unfed.hungry_quarter_gone_d_p05 < 9


def test_who_takes_nothing_that_the_feeder_gives_suffers() -> None:
    mandarin = '[[animals]]\nid = "picker"\nspecies = "mandarin"\nlength = "6 cm"\n'
    pods = '[[meals]]\nid = "pods"\nfood = "live_pods"\namount = "1 g"\ntimes = ["12:00"]\n'
    found = gap(CLOSED + PAIR + mandarin + DRUM + BY_DRUM + pods)
    assert found.fed_days == 9
    assert "dragonet" in found.hungry.lower() or "mandarin" in found.hungry.lower()


def test_a_ration_that_follows_young_fish_grows_and_says_from_when() -> None:
    young = PAIR.replace("count = 2", 'count = 2\nlength = "3.5 cm"')
    first, *later = ration_steps(prepared(CLOSED + young + GROWING))
    assert (first.on, first.month) == (date(2027, 1, 4), 1)
    assert later
    amounts = [step.grams_as_fed_per_d for step in (first, *later)]
    assert amounts == sorted(amounts)
    assert all(after > 1.09 * before for before, after in itertools.pairwise(amounts))
    assert later[-1].month == (later[-1].on - date(2027, 1, 4)).days * 12 // 365 + 1


def test_a_stated_amount_is_no_growing_ration() -> None:
    assert ration_steps(prepared(CLOSED + PAIR + TANG + SHEET)) == ()
