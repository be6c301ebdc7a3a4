"""Which chores may come round at another pace, on made-up days of a keeper."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from backreef.aquarium.phrases import read_rhythm
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, Unknown, known
from backreef.planning import chores
from backreef.planning.choices import Choice
from backreef.planning.chores import chore_choices, is_work_only, minutes_of, paced
from backreef.schedule.people import KEEPER
from backreef.schedule.rhythm import mean_interval_d
from backreef.schedule.tables import effect_rules, implied_rules
from backreef.units import DAYS_PER_MONTH
from tests.planning_parts import a_value
from tests.planning_world import a_short_plan, the_catalogue

GLASS = "glass_inner"


def chore(task: str, day: int | None, minutes: float, **changes: Any) -> SimpleNamespace:
    made = SimpleNamespace(task_id=task, done_day=day, minutes=minutes, by=KEEPER, condition=None, look=False)
    return SimpleNamespace(**{**vars(made), **changes})


def keeps(monkeypatch: pytest.MonkeyPatch, *done: SimpleNamespace, days: int = 100) -> None:
    """The keeper's days hold just these chores, whatever the plan says."""
    laid = SimpleNamespace(keeper=SimpleNamespace(days=days, chores=done))
    monkeypatch.setattr(chores, "lay_out", lambda *_: laid)


def test_minutes_of_a_day_are_those_of_the_chores_that_the_keeper_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    done: Any = [
        chore(GLASS, 2, 5.0),
        chore("wc_do", 2, 7.0),
        chore(GLASS, 3, 11.0, by="helper"),
        chore(GLASS, 3, 13.0, condition="nitrate > 5"),
        chore("glance", 3, 17.0, look=True),
        chore(GLASS, None, 19.0),
        chore("acclimate", 4, 23.0),
    ]
    assert minutes_of(done, 6).tolist() == [0.0, 0.0, 12.0, 0.0, 23.0, 0.0]
    newcomers = minutes_of(done, 6, group="newcomers")
    assert newcomers.tolist() == [0.0, 0.0, 0.0, 0.0, 23.0, 0.0]


def stated(every: str, **changes: Any) -> Plan:
    plan = a_short_plan()
    line = replace(
        plan.upkeep[0], id="glass", task=GLASS, rhythm=read_rhythm(every), share_frac=None, **changes
    )
    return replace(plan, upkeep=(*plan.upkeep, line))


def with_days(*, harm: float | None, usual: float | None) -> Catalogue:
    """A catalogue in which the glass may be left so long and is usually wiped so often."""
    catalogue = the_catalogue()
    task = catalogue.tasks[GLASS]
    given: dict[str, Any] = {
        name: Unknown(reason="") if value is None else a_value(value)
        for name, value in (("harm_after_days", harm), ("every_days", usual))
    }
    return replace(catalogue, tasks={**catalogue.tasks, GLASS: replace(task, **given)})


def found(plan: Plan, catalogue: Catalogue) -> dict[str, Choice]:
    return {one.id: one for one in chore_choices(plan, catalogue)}


def minutes(per_month: float) -> SimpleNamespace:
    return chore(GLASS, 0, per_month * 100.0 / DAYS_PER_MONTH)


@pytest.mark.parametrize(
    ("harm", "per_month", "offered"),
    [(14.0, 1.001, True), (13.9, 9.0, False), (None, 9.0, False), (14.0, 0.999, False)],
)
def test_half_as_often_saves_half_of_its_minutes_where_it_does_no_harm(
    harm: float | None, per_month: float, offered: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    # every week becomes every fortnight; half a minute a month has to be saved
    keeps(monkeypatch, minutes(per_month))
    choices = found(stated("7 days"), with_days(harm=harm, usual=7.0))
    assert ("rarer:glass" in choices) is offered
    assert "oftener:glass" not in choices
    if offered:
        choice = choices["rarer:glass"]
        assert (choice.kind, choice.group) == ("rarer", "chore:glass")
        assert choice.words.endswith(": half as often, every 14 days")
        assert choice.words[0].islower()
        line = choice.applied(stated("7 days")).upkeep[-1]
        assert (line.id, mean_interval_d(line.rhythm)) == ("glass", 14.0)


@pytest.mark.parametrize(
    ("usual", "per_month", "offered"),
    [(8.0, 0.501, True), (8.1, 9.0, False), (None, 9.0, False), (8.0, 0.499, False)],
)
def test_twice_as_often_is_for_what_comes_half_as_late_again_as_is_usual(
    usual: float | None, per_month: float, offered: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    # every twelve days where eight are usual is stretched, and twice as often takes as many minutes again
    keeps(monkeypatch, minutes(per_month))
    choices = found(stated("12 days"), with_days(harm=None, usual=usual))
    assert ("oftener:glass" in choices) is offered
    if offered:
        assert choices["oftener:glass"].kind == "oftener"
        assert choices["oftener:glass"].words.endswith(": twice as often, every 6 days")


def test_a_line_that_was_taken_away_is_changed_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    keeps(monkeypatch, minutes(9.0))
    choice = found(stated("7 days"), with_days(harm=30.0, usual=7.0))["rarer:glass"]
    assert choice.change(a_short_plan()) is None
    assert choice.applied(a_short_plan()) == a_short_plan()


def test_changes_of_water_exclude_each_other(monkeypatch: pytest.MonkeyPatch) -> None:
    keeps(monkeypatch, chore("wc_do", 0, 100.0))
    catalogue = the_catalogue()
    task = catalogue.tasks["wc_do"]
    harm = a_value(90.0)
    catalogue = replace(catalogue, tasks={**catalogue.tasks, "wc_do": replace(task, harm_after_days=harm)})
    assert {one.group for one in chore_choices(a_short_plan(), catalogue)} == {"water change"}


@pytest.mark.parametrize("changes", [{"when": "nitrate > 5"}, {"by": "cleaner"}])
def test_chores_that_wait_for_a_test_or_are_anothers_stay_as_they_are(
    changes: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeps(monkeypatch, minutes(9.0))
    assert found(stated("7 days", **changes), with_days(harm=30.0, usual=7.0)) == {}
    twice = stated("7 days")
    twice = replace(twice, upkeep=(*twice.upkeep, replace(twice.upkeep[-1], id="glass2")))
    assert found(twice, with_days(harm=30.0, usual=7.0)) == {}, "which of two lines is meant?"


def test_what_is_only_implied_is_changed_where_it_comes_round_as_the_catalogue_says(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rhythms = {
        rule.task: {one.rhythm for one in implied_rules() if one.task == rule.task}
        for rule in implied_rules()
    }
    own = next(
        task
        for task, kinds in rhythms.items()
        if kinds == {"task"} and known(the_catalogue().tasks[task].every_days)
    )
    other = next(task for task, kinds in rhythms.items() if "task" not in kinds)
    keeps(monkeypatch, chore(own, 0, 500.0), chore(other, 0, 500.0))
    catalogue = the_catalogue()
    harm = a_value(1e6)
    tasks = {one: replace(catalogue.tasks[one], harm_after_days=harm) for one in (own, other)}
    catalogue = replace(catalogue, tasks={**catalogue.tasks, **tasks})
    choices = found(replace(a_short_plan(), upkeep=()), catalogue)
    assert list(choices) == [f"rarer:proposed_{own}"]
    (line,) = choices[f"rarer:proposed_{own}"].applied(replace(a_short_plan(), upkeep=())).upkeep
    usual = catalogue.tasks[own].every_days.value  # type: ignore[union-attr]
    assert mean_interval_d(line.rhythm) == max(1, round(usual * 2.0))
    assert (line.task, line.by, line.share_frac) == (own, "hand", None)


@pytest.mark.parametrize(
    ("text", "ratio", "said"),
    [
        ("1 days", 0.5, "1 days"),
        ("1 weeks on Mon", 0.5, "1 weeks on Mon"),
        ("first Tue of every 1 months", 0.5, "first Tue of every 1 months"),
    ],
)
def test_no_rhythm_is_quicker_than_once(text: str, ratio: float, said: str) -> None:
    assert paced(read_rhythm(text), ratio) == read_rhythm(said)


def test_a_rhythm_without_days_of_the_week_keeps_its_pace() -> None:
    nameless = replace(read_rhythm("2 weeks on Mon"), weekdays=())
    assert paced(nameless, 2.0) is None
    month = replace(read_rhythm("first Tuesday"), nth=None)
    assert paced(month, 2.0) == read_rhythm("first Tue of every 2 months")
    odd = replace(read_rhythm("3 days"), every_days=None)
    assert paced(odd, 2.0) == read_rhythm("2 days")


def test_two_plans_differ_in_work_alone_where_the_water_feels_nothing_of_what_changed() -> None:
    felt, unfelt = stated("7 days"), stated("7 days")
    task = next(one for one in the_catalogue().tasks if one not in effect_rules())
    assert "wc_do" in effect_rules()
    unfelt = replace(unfelt, upkeep=(*a_short_plan().upkeep, replace(unfelt.upkeep[-1], task=task)))
    plan = a_short_plan()
    assert is_work_only(plan, plan)
    assert is_work_only(plan, unfelt)
    assert is_work_only(unfelt, plan)
    assert is_work_only(felt, plan) is (GLASS not in effect_rules())
    assert not is_work_only(plan, replace(plan, upkeep=()))
    assert not is_work_only(plan, replace(plan, devices=()))
    halved = replace(plan.upkeep[0], share_frac=0.06)
    assert not is_work_only(plan, replace(plan, upkeep=(halved,)))
    other_task = replace(plan.upkeep[0], task=task)
    assert not is_work_only(plan, replace(plan, upkeep=(other_task,))), "the change of water is gone"
