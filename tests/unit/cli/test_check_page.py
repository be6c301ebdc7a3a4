from __future__ import annotations

from backreef.cli.check_page import check_page
from backreef.company.engine import check_plan
from backreef.reports.text_layout import Style
from backreef.usecases.check import CheckResult
from tests.unit.aquarium.plans import catalogue, with_tank

TANGS = '[[animals]]\nspecies = "yellow_tang"\n[[animals]]\nspecies = "scopas_tang"\n'


def page(lines: str) -> str:
    plan = with_tank(lines)
    findings = check_plan(plan, catalogue(), absence_days=0)
    return check_page(CheckResult(file="plan.toml", faults=(), findings=findings, plan=plan), Style(width=80))


def test_what_two_animals_have_in_common_is_said_once() -> None:
    text = page(TANGS)
    assert text.count("blade at the tail cuts hands") == 1
    assert (
        text.count("Yellow tang: can hurt people") == text.count("Scopas (brown) tang: can hurt people") == 1
    )
    assert text.count("after an injury ask a doctor") == 1
    assert text.index("Scopas (brown) tang: can hurt people") < text.index("blade at the tail")


def test_remedies_of_a_rule_stand_once_below_its_findings() -> None:
    text = page(TANGS.replace("scopas_tang", "regal_blue_tang"))
    assert text.count("the display is too small for adults") == 2
    assert text.count("try: leave it out, and take an animal that stays small") == 1


def test_every_finding_is_named() -> None:
    plan = with_tank(TANGS)
    text = " ".join(page(TANGS).split())
    assert all(finding.what in text for finding in check_plan(plan, catalogue(), absence_days=0))
