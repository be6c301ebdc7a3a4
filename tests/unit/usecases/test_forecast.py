from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

import backreef
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.errors import InputFaults
from backreef.judgement.verdict import Forecast
from backreef.usecases import forecast as usecase
from backreef.usecases.check import load_plan
from backreef.usecases.demo import run_demo
from backreef.usecases.examples import ExampleMissing, example_plan
from backreef.usecases.forecast import MOST_MEMBERS, forecast_plan
from tests.cli_world import BAD_PLAN, EXAMPLES
from tests.forecast_world import a_holding_forecast


@dataclass(slots=True)
class Recorder:
    """A judge that remembers what it was asked."""

    asked: list[tuple[Plan, Catalogue, dict[str, Any]]] = field(default_factory=list)

    def __call__(self, plan: Plan, catalogue: Catalogue, **settings: Any) -> Forecast:
        self.asked.append((plan, catalogue, settings))
        return a_holding_forecast()


def progress(phrase: str, done: int, total: int) -> None:
    """Take note of nothing."""


def test_it_hands_the_plan_of_a_file_to_the_judge() -> None:
    judge = Recorder()
    path = EXAMPLES / "family_first_reef.toml"
    found = forecast_plan(path, members=8, seed=3, thorough=True, progress=progress, judge=judge)
    ((plan, catalogue, settings),) = judge.asked
    assert found.holds
    assert plan == load_plan(path)
    assert "royal_gramma" in catalogue.species
    assert settings == {"members": 8, "seed": 3, "remedies": "all", "progress": progress}


def test_it_takes_a_plan_that_was_read_before() -> None:
    judge, plan = Recorder(), load_plan(EXAMPLES / "family_first_reef.toml")
    forecast_plan(plan, judge=judge)
    assert judge.asked[0][0] is plan
    assert judge.asked[0][2] == {"members": 64, "seed": 1, "remedies": "worst", "progress": None}


def test_it_asks_no_judge_where_there_are_faults(tmp_path: Path) -> None:
    judge, path = Recorder(), tmp_path / "bad.toml"
    path.write_text(BAD_PLAN, encoding="utf-8")
    with pytest.raises(InputFaults):
        forecast_plan(path, judge=judge)
    assert judge.asked == []


@pytest.mark.parametrize(
    ("members", "seed", "words"),
    [
        (0, 1, "members is 0"),
        (-3, 1, "members is -3"),
        (MOST_MEMBERS + 1, 1, "members"),
        (8, -1, "seed is -1"),
    ],
)
def test_it_refuses_what_makes_no_sense(members: int, seed: int, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        forecast_plan(EXAMPLES / "reading_room.toml", members=members, seed=seed, judge=Recorder())


def test_the_demo_is_the_reading_room() -> None:
    judge = Recorder()
    run_demo(members=8, judge=judge)
    plan = judge.asked[0][0]
    assert plan.file == str(EXAMPLES / "reading_room.toml")
    assert plan.start_on.isoformat() == "2027-01-04"


def test_an_example_that_is_not_there_is_said(tmp_path: Path) -> None:
    assert example_plan("family_first_reef").is_file()
    with pytest.raises(ExampleMissing, match="install backreef again"):
        example_plan("no_such_plan")


def test_the_python_interface_gives_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    judge = Recorder()
    monkeypatch.setattr(usecase, "default_judge", lambda: judge)
    found = backreef.forecast(EXAMPLES / "reading_room.toml", members=8)
    assert isinstance(found, backreef.Forecast)
    frame = found.to_frame()
    assert frame.shape == (len(found.dates), 3 * len(found.series))
    assert float(frame["nitrate_mg_no3_per_l", "p50"].iloc[0]) == found.series["nitrate_mg_no3_per_l"].p50[0]
    assert backreef.check(EXAMPLES / "reading_room.toml").ok
    assert backreef.load_plan(EXAMPLES / "reading_room.toml") == judge.asked[0][0]
    assert "yellow_tang" in backreef.load_catalogue().species


def test_the_python_interface_lists_what_it_has() -> None:
    assert set(backreef.__all__) <= set(dir(backreef))
    assert all(getattr(backreef, name) is not None for name in backreef.__all__)
    with pytest.raises(AttributeError, match="no attribute 'forcast'"):
        _ = backreef.forcast
