"""Writes docs/catalogue_coverage.md from the catalogue as it stands."""

from __future__ import annotations

from pathlib import Path

from backreef.catalogue.coverage import coverage_page
from backreef.catalogue.load import load_catalogue

if __name__ == "__main__":
    page = Path(__file__).parents[2] / "docs" / "catalogue_coverage.md"
    page.write_text(coverage_page(load_catalogue()), encoding="utf-8")
