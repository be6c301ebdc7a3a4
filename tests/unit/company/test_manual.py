"""docs/rules.md says what the rules are; what they read exists."""

from __future__ import annotations

import dataclasses
import os
from pathlib import Path

from backreef.aquarium.limits import all_keys
from backreef.catalogue.entries import Device, Food, Species, Task
from backreef.company.engine import RULES
from backreef.company.manual import rules_page

PAGE = Path(__file__).resolve().parents[3] / "docs" / "rules.md"
FIELDS = {field.name for kind in (Species, Food, Device, Task) for field in dataclasses.fields(kind)}


def test_the_page_of_rules_is_current() -> None:
    if os.environ.get("BACKREEF_RECORD_RULES"):
        PAGE.write_text(rules_page(), encoding="utf-8")
    assert PAGE.read_text(encoding="utf-8") == rules_page()


def test_every_rule_reads_what_exists() -> None:
    assert [(rule.name, field) for rule in RULES for field in rule.reads if field not in FIELDS] == []
    assert [(rule.name, key) for rule in RULES for key in rule.plan if key not in all_keys()] == []
