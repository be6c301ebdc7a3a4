"""A firm looks at all its tanks and sends its people round."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from backreef.reports.fleet_document import fleet_schema
from backreef.usecases.fleet import fleet
from backreef.usecases.fleet_tank import Asked
from backreef.usecases.forecast import forecast_plan
from tests.e2e.conftest import Run
from tests.fleet_world import WEEK, a_firm, tank_text

ASKED = ("fleet", ".", "--from", WEEK.isoformat(), "--members", "8", "--weeks", "2")


@pytest.fixture
def firm(tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of plans with a log of one of the tanks."""
    for name in ("BACKREEF_LOG", "BACKREEF_WHO"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(tmp_path)
    a_firm(tmp_path)
    for line, at in (
        ("no3 9", "2026-01-12 12:00"),
        ("po4 0.1", "2026-01-12 12:05"),
        ("no3 11", "2026-01-26 12:00"),
    ):
        done = run("log", line, "--at", at, "--tank", "twin.toml", "--yes")
        assert done.code == 0, done.err
    return tmp_path


def test_it_shows_every_tank_and_a_week_for_every_carer(firm: Path, run: Run) -> None:
    done = run(*ASKED)
    assert done.code == 2, done.err
    assert all(len(line) <= 80 for line in done.out.splitlines())
    for tank in ("Hall", "Desk", "Waiting room", "Twin"):
        assert tank in done.out
    assert "faulty.toml:5: tank.rock" in done.out
    assert "read 26 Jan" in " ".join(done.out.split())
    assert "Ana: " in done.out
    assert "Ben: " in done.out


def test_its_document_fits_the_schema_and_visits_do_all_the_work_where_somebody_is_there(
    firm: Path, run: Run
) -> None:
    done = run(*ASKED, "--json", "-")
    document = json.loads(done.out)
    jsonschema.Draft202012Validator.check_schema(fleet_schema())
    jsonschema.validate(document, fleet_schema(), format_checker=jsonschema.FormatChecker())
    asked = sorted((tank["tank"], job["what"]) for tank in document["tanks"] for job in tank["jobs"])
    visits = [visit for carer in document["carers"] for visit in carer["visits"]]
    done_work = sorted((visit["tank"], work["what"]) for visit in visits for work in visit["work"])
    assert done_work == asked
    assert {visit["on"] for visit in visits if visit["tank"] == "Waiting room"} == {"2026-02-03"}
    assert document["faults"][0]["line"] == 5


def test_a_folder_without_plans_is_said_to_be_so(tmp_path: Path, run: Run) -> None:
    done = run("fleet", tmp_path)
    assert done.code == 2
    assert "no plan here" in done.err


def test_a_scheduler_that_is_not_there_is_named(
    firm: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("backreef.usecases.machines.PATIENCE_S", 1)
    done = run(*ASKED, "--scheduler", "tcp://127.0.0.1:1")
    assert done.code == 2
    assert "no scheduler answers at tcp://127.0.0.1:1" in done.err


def test_a_tank_is_judged_as_a_forecast_judges_it_its_own_food_and_least_food_too(tmp_path: Path) -> None:
    """What a label says, and how much is enough, is the same whoever asks."""
    text = tank_text("Hall").replace(
        'food = "pellet_small"\namount = "0.15 g"', 'food = "mine"\nenough_for = "growth"'
    )
    own = '[[foods]]\nid = "mine"\nlike = "pellet_small"\nprotein = "45 %"\nfat = "15 %"\n'
    (tmp_path / "a.toml").write_text(text + own, encoding="utf-8")
    (tank,) = fleet([tmp_path / "a.toml"], Asked(week_from=WEEK, members=8)).tanks
    alone = forecast_plan(tmp_path / "a.toml", members=8)
    assert (tank.holds, tank.share_holding, tank.first_break) == (
        alone.holds,
        alone.share_holding,
        alone.first_break,
    )
    assert tank.jobs


def test_two_plans_of_one_tank_are_a_fault(tmp_path: Path) -> None:
    for name in ("a", "b"):
        (tmp_path / f"{name}.toml").write_text(tank_text("Hall"), encoding="utf-8")
    found = fleet(sorted(tmp_path.glob("*.toml")), Asked(week_from=WEEK, members=8))
    assert [one.tank for one in found.tanks] == ["Hall"]
    assert "has a plan already" in found.faulty[0].message


def test_a_tank_without_a_plan_is_listed(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(tank_text("Hall"), encoding="utf-8")
    found = fleet([tmp_path / "a.toml"], Asked(week_from=WEEK, members=8), logged=("Cellar", "Hall"))
    assert found.without_plan == ("Cellar",)


def test_a_week_outside_the_plan_has_no_work_and_says_so(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(tank_text("Hall"), encoding="utf-8")
    later = WEEK.replace(year=WEEK.year + 1)
    (tank,) = fleet([tmp_path / "a.toml"], Asked(week_from=later, members=8)).tanks
    assert tank.jobs == ()
    assert tank.notices == ("the plan has ended by 2027-02-02, so the week has no work",)
