"""Where llvmlite cannot be had, the slow engine answers, for fewer members and days, and says so."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date

import pytest

from backreef.judgement.shortened import notice, shortened
from tests.unit.judgement.courses import FED, PAIR, small_plan

BARRED = """\
import sys
sys.modules["llvmlite"] = None
from backreef.cli.main import main
sys.exit(main())
"""
PLAN = """\
start_on = 2027-01-04
[tank]
display = "200 L"
rock = "20 kg"
start = { kind = "live_rock" }
[goals]
horizon = "0.05 years"
"""
LATER = '[[animals]]\nid = "late"\nspecies = "trochus"\ncount = 2\narrives_on = 2028-06-01\n'
THEIRS = """
[[meals]]
id = "theirs"
food = "pellet_small"
enough_for = "growth"
who = ["late"]
times = ["09:00"]
"""
LONG = '[goals]\nhorizon = "2 years"\n'


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> subprocess.CompletedProcess[str]:
    folder = tmp_path_factory.mktemp("barred")
    (folder / "plan.toml").write_text(PLAN, encoding="utf-8")
    command = [
        sys.executable,
        "-c",
        BARRED,
        "forecast",
        "plan.toml",
        "--json",
        "plan.json",
        "--html",
        "plan.html",
    ]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_terminal_document_and_page_say_so(
    answer: subprocess.CompletedProcess[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    assert answer.returncode in {0, 1}, answer.stderr
    folder = next(tmp_path_factory.getbasetemp().glob("barred*"))
    words = "The slow engine made this forecast"
    assert words in " ".join(answer.stdout.split())
    document = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    assert document["notices"][0].startswith(words)
    assert "llvmlite" in document["notices"][0]
    assert (document["plan"]["members"], document["plan"]["engine"]) == (8, "numpy")
    assert words in (folder / "plan.html").read_text(encoding="utf-8")


def test_it_forecasts_the_first_year_of_eight_members() -> None:
    plan, members = shortened(small_plan(PAIR + FED, horizon=LONG), 64)
    assert (plan.horizon_days, members) == (365, 8)
    assert "8 members and the first 365 days" in notice("no wheel", plan, members)
    short = small_plan(PAIR + FED)
    assert shortened(short, 3) == (short, 3)


def test_who_comes_later_and_their_meals_are_left_out() -> None:
    plan = small_plan(PAIR + LATER + FED + THEIRS, horizon=LONG)
    assert plan.animals[1].arrives_on == date(2028, 6, 1)
    cut, _ = shortened(plan, 8)
    assert [one.id for one in cut.animals] == ["pair"]
    assert [meal.id for meal in cut.meals] == ["meal"]
