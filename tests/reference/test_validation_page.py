"""docs/validation.md and its picture say what the cases say, computed now."""

from __future__ import annotations

from xml.etree import ElementTree as ET

from scripts.write_validation import PAGE, PICTURE, by_subject, page, picture, points
from tests.reference.cases import FOLDER, read

HOW = "write them anew: python scripts/write_validation.py"


def test_the_page_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(points()), HOW


def test_the_picture_is_current_and_stands_alone() -> None:
    text = PICTURE.read_text(encoding="utf-8")
    assert text == picture(points()), HOW
    assert ET.fromstring(text).tag.endswith("svg")


def test_no_case_is_left_out_and_none_is_off_by_more_than_it_allows() -> None:
    found = points()
    written = {name.stem: len(read(name.name).get("case", ())) for name in FOLDER.glob("*.toml")}
    assert {subject: len(mine) for subject, mine in by_subject(found)} == {
        name: count for name, count in written.items() if count
    }
    assert [point.id for point in found if point.off_ratio > 1.0 + 1e-9] == []
