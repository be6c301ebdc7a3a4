"""docs/findings.md says what the judge's tables say, and no finding lacks its words."""

from __future__ import annotations

import os
from pathlib import Path

from backreef.judgement.findings import words
from backreef.judgement.manual import MOUTHS, findings_page
from backreef.judgement.remedies import remedy_table
from backreef.judgement.rules import rows_of

PAGE = Path(__file__).resolve().parents[3] / "docs" / "findings.md"


def test_the_page_of_findings_is_current() -> None:
    if os.environ.get("BACKREEF_RECORD_FINDINGS"):
        PAGE.write_text(findings_page(), encoding="utf-8")
    assert PAGE.read_text(encoding="utf-8") == findings_page()


def test_every_bound_of_the_water_has_a_reason() -> None:
    without = [
        (row["series"], side)
        for row in rows_of("water_bands.csv")
        for side in ("low", "high")
        if (row[f"act_{side}"] or row[f"harm_{side}"]) and side not in words()["water"].get(row["series"], {})
    ]
    assert without == []


def test_every_reason_stands_on_the_page_and_names_remedies_that_have_words() -> None:
    assert set(words()["mouths"]) == set(MOUTHS)
    sides = [said for series in words()["water"].values() for said in series.values()]
    every = [*sides, *words()["mouths"].values(), *words()["hands"].values()]
    assert all(said["why"] in findings_page() for said in every)
    assert [name for said in every for name in said["remedies"] if "says" not in remedy_table()[name]] == []
