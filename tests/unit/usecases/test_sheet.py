from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from backreef.aquarium.plan import Plan
from backreef.errors import InputFaults
from backreef.reports.sheet import sheet_html
from backreef.reports.sheet_text import sheet_text
from backreef.reports.text_layout import Style
from backreef.schedule.away import Absence, away_plan
from backreef.schedule.upkeep import evaporation_l_per_d
from backreef.usecases.check import load_plan
from backreef.usecases.sheet import away_sheet
from backreef.usecases.sheet_page import sheet_words
from backreef.usecases.sheet_steps import handfuls, jugs, poured
from backreef.usecases.work import lay_out
from tests.cli_world import EXAMPLES
from tests.sheet_world import ABSENCES, SUMMER, sheet_of
from tests.unit.aquarium.plans import SHORTEST, catalogue, plan_of

HAND_FED = """
[[animals]]
species = "ocellaris_clown"
count = 2
[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.2 g"
times = ["9:00"]
days = "every day"
[[meals]]
id = "treat"
food = "fz_mysid"
amount = "1.5 g"
times = ["18:00"]
days = "Wed"
[goals]
horizon = "0.5 years"
"""
WEEK = Absence(first_on=date(2027, 2, 1), until_on=date(2027, 2, 8), sitter_weekdays=(0, 2, 4))


def test_it_has_every_chore_that_somebody_does_in_the_absence_and_no_other() -> None:
    example, absence = ABSENCES["two visits"]
    assert example == "reading_room.toml"
    sheet = sheet_of("two visits")
    days = [on for visit in sheet.visits for on in visit.days]
    assert days == [date(2027, 8, 6), date(2027, 8, 13)], "the caretaker's Fridays"
    assert all(absence.first_on <= on < absence.until_on for on in days)
    assert {visit.who for visit in sheet.visits} == {"caretaker"}


def test_what_all_visits_share_is_said_once() -> None:
    sheet = sheet_of("two visits")
    assert any("cup" in step for step in sheet.each_time)
    assert not any(step in visit.steps for visit in sheet.visits for step in sheet.each_time)


def test_a_day_without_steps_of_its_own_says_so() -> None:
    sheet = sheet_of("six visits")
    bare = [visit for visit in sheet.visits if not visit.steps and not visit.only_if]
    assert bare
    text = sheet_text(sheet, Style(width=80, colour=False, ascii_only=True))
    assert text.count("Nothing more than each time.") == len(bare)
    assert sheet_html(sheet).count("Nothing more than each time.") == len(bare)


def test_a_conditional_chore_waits_for_the_keepers_tick() -> None:
    (waiting,) = [step for visit in sheet_of("two visits").visits for step in visit.only_if]
    assert "nitrate > 4 mg/L NO3" in waiting
    assert any("tick" in line for line in sheet_of("two visits").before)


def test_meals_come_in_pots_that_the_keeper_weighs_before() -> None:
    sheet = away_sheet(plan_of(SHORTEST + HAND_FED), WEEK)
    steps = [step for visit in sheet.visits for step in visit.steps] + list(sheet.each_time)
    assert any("pot marked 'pellets' (1 pot)" in step for step in steps)
    assert any("thaw the pot marked 'treat' (1 pot)" in step for step in steps)
    assert not any(re.search(r"\d\s*(g|mL|ml)\b", step) for step in steps), "no scales at the tank"
    pots = [line for line in sheet.before if "pot" in line]
    assert any(line.startswith("3 pots for 'pellets', 0.2 g of") for line in pots), pots
    assert any(line.startswith("1 pot for 'treat', 1.5 g of") for line in pots), pots


def test_water_comes_in_jugs_as_much_as_evaporates() -> None:
    assert (jugs(0.5), jugs(5.0), jugs(5.3), jugs(12.0)) == ("1 jug", "1 jug", "2 jugs", "3 jugs")
    quarters = [poured(litres) for litres in (0.5, 2.4, 3.9, 4.9, 5.3)]
    assert quarters == ["0.25 jug", "0.5 jug", "0.75 jug", "1 jug", "2 jugs"], "no five litres for half a one"
    example, absence = ABSENCES["grandfather"]
    assert example == "family_first_reef.toml"
    sheet = sheet_of("grandfather")
    (line,) = [line for line in sheet.before if "pure water (" in line]
    plan = away_plan(plan_of_example(example), absence)
    assert f"about {absence.days * evaporation_l_per_d(plan):.0f} L" in line


def plan_of_example(name: str) -> Plan:
    return load_plan(EXAMPLES / name, catalogue())


def test_shares_are_handfuls() -> None:
    assert handfuls(0.3) == "1 handful in every 3"
    assert handfuls(0.5) == "1 handful in every 2"
    assert handfuls(0.95) == "all but 1 handful"


def test_without_a_feeder_it_says_that_the_pots_are_all_they_get() -> None:
    fed, unfed = sheet_of("two visits"), sheet_of("six visits")
    assert any("feeder feeds at 10:30, 14:00 and 17:00" in line for line in fed.leave)
    assert any("pots are all they get" in line for line in unfed.leave)
    assert not any("feeder" in f"{each.sign} {each.do}" for each in unfed.troubles)


def test_it_says_what_nobody_can_do() -> None:
    bare = plan_of(SHORTEST + '[keeper]\npresence = ["Mon-Sun 8-20"]\n[goals]\nhorizon = "0.5 years"\n')
    sheet = away_sheet(bare, Absence(first_on=date(2027, 2, 1), until_on=date(2027, 2, 15)))
    assert sheet.visits == ()
    assert any("Top off by hand" in line for line in sheet.undone)


def test_a_sitter_takes_on_what_nobody_could_do() -> None:
    bare = plan_of(SHORTEST + '[keeper]\npresence = ["Mon-Sun 8-20"]\n[goals]\nhorizon = "0.5 years"\n')
    absence = Absence(first_on=date(2027, 2, 1), until_on=date(2027, 2, 15), sitter_weekdays=(0, 2, 4))
    sheet = away_sheet(bare, absence)
    assert sheet.undone == ()
    steps = [*sheet.each_time, *(step for visit in sheet.visits for step in visit.steps)]
    assert any("mark on the glass" in step for step in steps)


def test_a_sitter_comes_only_while_the_keeper_is_away() -> None:
    plan = away_plan(plan_of_example("reading_room.toml"), WEEK)
    sitter = lay_out(plan, catalogue()).presence.helpers[-1]
    days = [plan.start_on + timedelta(days=day) for day, there in enumerate(sitter.present) if there]
    assert days == [date(2027, 2, 1), date(2027, 2, 3), date(2027, 2, 5)]


@pytest.mark.parametrize(
    ("first_on", "until_on", "said"),
    [
        (date(2026, 8, 2), date(2026, 8, 16), "is before the plan begins"),
        (date(2031, 8, 2), date(2031, 8, 16), "is after the plan's last day"),
        (date(2027, 8, 16), date(2027, 8, 16), "is not after"),
    ],
)
def test_an_absence_outside_the_plan_is_refused(first_on: date, until_on: date, said: str) -> None:
    with pytest.raises(InputFaults, match=said):
        away_sheet(plan_of_example("reading_room.toml"), Absence(first_on=first_on, until_on=until_on))


def test_every_task_that_any_sitter_can_do_has_its_own_words() -> None:
    looks = {"headcount", "equipment_look", "log", "dead_fish"}  # the sheet's looks and troubles say these
    able = {task.id for task in catalogue().tasks.values() if task.sitter_can_do == "yes"}
    assert able - looks - set(sheet_words()["tasks"]) == set()


def test_the_lines_of_the_table_name_kinds_that_exist() -> None:
    devices, kinds = set(catalogue().devices), {each.kind for each in catalogue().species.values()}
    for part in ("leave", "normal", "trouble"):
        for line in sheet_words()[part]:
            assert set(line.get("devices", ())) | set(line.get("without_devices", ())) <= devices
            assert set(line.get("kinds", ())) <= kinds


def test_the_summer_absence_is_two_weeks() -> None:
    assert (SUMMER.days, SUMMER.last_on) == (14, date(2027, 8, 15))
