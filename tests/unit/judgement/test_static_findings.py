from __future__ import annotations

from datetime import date

import pytest

from backreef.aquarium.load import load_plan
from backreef.company.engine import check_plan
from backreef.company.findings import CheckFinding
from backreef.judgement import static_findings as room
from backreef.judgement.static_findings import static_findings
from backreef.judgement.verdict import Finding
from tests.unit.aquarium.plans import EXAMPLES, catalogue, with_tank

TANG = '[[animals]]\nid = "tang"\nspecies = "regal_blue_tang"\narrives_on = 2027-03-01\n'
WEIGHED = {"serious": 0.6, "caution": 0.3, "note": 0.1}
"""Our own order of findings that were not simulated."""


def found(lines: str, absence_days: int = 0) -> dict[str, Finding]:
    return {one.id: one for one in static_findings(with_tank(lines), catalogue(), absence_days)}


def test_it_says_everything_that_the_check_says_and_nothing_else() -> None:
    plan = load_plan(EXAMPLES / "office_showpiece.toml", catalogue())
    checked = check_plan(plan, catalogue(), absence_days=12)
    said = static_findings(plan, catalogue(), 12)
    assert [(one.id, one.who, one.what, one.harm) for one in said] == [
        (f"plan.{one.id}", one.who, one.what, WEIGHED[one.weight]) for one in checked
    ]
    assert all(one.why.startswith(other.why) for one, other in zip(said, checked, strict=True))
    assert all(other.condition in one.why for one, other in zip(said, checked, strict=True))
    assert {one.harm for one in said} == set(WEIGHED.values())


def test_it_never_breaks_a_plan_without_a_simulation() -> None:
    tang = found(TANG)["plan.space.tang"]
    assert not tang.breaks
    assert tang.share_of_members == 1.0
    assert (tang.value, tang.bound, tang.days) == (None, None, 0)


def test_it_dates_a_finding_by_the_arrival_that_brings_it() -> None:
    assert found(TANG)["plan.space.tang"].first_on == date(2027, 3, 1)
    residents = found(TANG.replace("arrives_on = 2027-03-01\n", ""))
    assert residents["plan.space.tang"].first_on == date(2027, 1, 4)
    later = '[[animals]]\nid = "rival"\nspecies = "yellow_tang"\narrives_on = 2027-04-01\n'
    assert found(TANG + later)["plan.fights.rival.tang"].first_on == date(2027, 4, 1)
    assert found(TANG)["plan.local_rules"].first_on is None


def test_it_counts_the_days_of_absence_it_is_told() -> None:
    fed = TANG + '[[meals]]\nfood = "pellet_small"\namount = "1 g"\n'
    assert "plan.unfed.tang" in found(fed, absence_days=14)
    assert "plan.unfed.tang" not in found(fed, absence_days=0)


def test_it_offers_remedies_that_it_did_not_try() -> None:
    remedies = found(TANG)["plan.space.tang"].remedies
    assert remedies
    assert not any(remedy.checked or remedy.holds_after is not None or remedy.effect for remedy in remedies)


def test_it_has_a_remedy_for_whatever_the_examples_show() -> None:
    for name in ("reading_room", "office_showpiece", "family_first_reef"):
        plan = load_plan(EXAMPLES / f"{name}.toml", catalogue())
        silent = [one.id for one in static_findings(plan, catalogue(), 12) if not one.remedies]
        assert silent == []


@pytest.mark.parametrize(
    ("status", "source", "expected"),
    [
        ("published", "Millero 1981", "Millero 1981"),
        ("practice", "common practice, no source", "common practice, no source"),
        ("memory", "a book", "a book (from memory)"),
        ("memory", "a book, from memory", "a book, from memory"),
        ("calc", "a table", "a table (worked out by us)"),
    ],
)
def test_it_says_how_far_its_source_carries(
    status: str, source: str, expected: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = CheckFinding(
        id="new_rule",
        balance="water",
        weight="note",
        who="water",
        what="something",
        why="so",
        source=source,
        status=status,
    )
    monkeypatch.setattr(room, "check_plan", lambda *_, **__: (one,))
    said = static_findings(with_tank(""), catalogue(), 0)[0]
    assert (said.source, said.remedies, said.first_on) == (expected, (), None)
