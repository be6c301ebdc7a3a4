from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.catalogue.tables import DATA
from backreef.errors import InputFaults
from backreef.judgement.verdict import Forecast
from backreef.usecases.compare import compare_plans, pairing
from backreef.usecases.forecast import Progress
from tests.cli_world import BAD_PLAN
from tests.forecast_world import a_holding_forecast
from tests.unit.aquarium.plans import EXAMPLES, with_tank

FAMILY = EXAMPLES / "family_first_reef.toml"


def judge(plan: Plan, catalogue: Catalogue, **settings: Any) -> Forecast:
    """A forecast that remembers by its story what was asked."""
    assert "trochus" in catalogue.species
    progress: Progress | None = settings.pop("progress")
    if progress is not None:
        progress("at work", 1, 2)
    return replace(a_holding_forecast(), plan_name=plan.tank.name, story=repr(settings))


def fared(days: Sequence[int | None]) -> Forecast:
    return replace(
        a_holding_forecast(), first_breaks=tuple(None if day is None else date(2027, 1, day) for day in days)
    )


def test_every_plan_is_forecast_with_the_same_luck_and_without_trying_remedies() -> None:
    found = compare_plans([FAMILY, with_tank("")], members=8, seed=5, judge=judge)
    assert [one.letter for one in found.plans] == ["A", "B"]
    for one in found.plans:
        assert one.forecast.story == repr({"members": 8, "seed": 5, "remedies": "none"})


def test_each_is_held_against_the_first() -> None:
    first, second, third = compare_plans(
        [with_tank('rock = "9 kg"\n'), with_tank('rock = "9 kg"\n'), with_tank('rock = "8 kg"\n')],
        judge=judge,
    ).plans
    assert first.differences == second.differences == ()
    assert [one.key for one in third.differences] == ["rock"]


def test_members_are_counted_pair_by_pair() -> None:
    found = pairing(fared([None, None, 3, 4, None]), fared([None, 9, None, 2, None]))
    counts = (found.both_hold, found.only_first_holds, found.only_other_holds, found.neither_holds)
    assert counts == (2, 1, 1, 1)


def test_it_says_which_plan_is_at_work() -> None:
    told: list[tuple[str, int, int]] = []
    compare_plans([FAMILY, FAMILY], judge=judge, progress=lambda *state: told.append(state))
    assert told == [("plan A of 2: at work", 1, 2), ("plan B of 2: at work", 1, 2)]


def test_the_faults_of_all_files_come_at_once(tmp_path: Path) -> None:
    for name in ("one.toml", "two.toml"):
        (tmp_path / name).write_text(BAD_PLAN, encoding="utf-8")
    with pytest.raises(InputFaults) as refusal:
        compare_plans([tmp_path / "one.toml", FAMILY, tmp_path / "two.toml"], judge=judge)
    files = {Path(fault.file).name for fault in refusal.value.faults}
    assert files == {"one.toml", "two.toml"}


@pytest.mark.parametrize("count", [0, 1, 7])
def test_fewer_than_two_or_more_than_six_plans_are_refused(count: int) -> None:
    with pytest.raises(ValueError, match="2 to 6 can stand side by side"):
        compare_plans([FAMILY] * count, judge=judge)


def test_each_plan_is_judged_with_its_own_entries(tmp_path: Path) -> None:
    shipped = load_catalogue()
    text = (DATA / "species" / "ocellaris_clown.toml").read_text(encoding="utf-8")
    (tmp_path / "mine" / "species").mkdir(parents=True)
    mine = text.replace('"ocellaris_clown"', '"bay_clown"')
    (tmp_path / "mine" / "species" / "bay_clown.toml").write_text(mine, encoding="utf-8")
    plan = 'start_on = 2027-01-04\n{}[tank]\ndisplay = "200 L"\n[[animals]]\nspecies = "{}"\n'
    for name, words in (("a", ('catalogue = "mine"\n', "bay_clown")), ("b", ("", "ocellaris_clown"))):
        (tmp_path / f"{name}.toml").write_text(plan.format(*words), encoding="utf-8")
    seen: list[bool] = []

    def knows(plan: Plan, catalogue: Catalogue, **settings: Any) -> Forecast:
        seen.append("bay_clown" in catalogue.species)
        return judge(plan, shipped, **settings)

    compare_plans([tmp_path / "a.toml", tmp_path / "b.toml"], judge=knows)
    assert seen == [True, False]
