"""The page of reconcile says where each asked sentence is kept: it names files that are there."""

from __future__ import annotations

from tests.house.repository import ROOT
from tests.house.test_audits import NAMED, lost


def test_the_page_of_reconcile_names_files_that_are_there() -> None:
    text = (ROOT / "docs/reconcile.md").read_text(encoding="utf-8")
    assert len(NAMED.findall(text)) > 40, "it names its files"
    assert lost(text) == []
