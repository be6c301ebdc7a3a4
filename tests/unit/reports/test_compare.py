from __future__ import annotations

import json

import jsonschema
import pytest

from backreef.reports.compare_document import compare_json, compare_schema
from backreef.reports.compare_html import compare_html
from backreef.reports.compare_text import compare_page
from backreef.reports.side_by_side import outcome_table
from tests.comparison_world import a_comparison


def cells(title: str) -> tuple[str, ...]:
    return next(row[1:] for row in outcome_table(a_comparison()).rows if row[0] == title)


def test_the_table_has_a_column_for_each_plan_and_says_what_becomes_of_it() -> None:
    assert outcome_table(a_comparison()).columns == ("", "A", "B", "C")
    assert [cell.split()[0] for cell in cells("verdict")] == ["holds", "breaks", "holds"]
    assert cells("holds in")[1] == "none of 64 members"
    assert cells("of minutes given")[0] == cells("of minutes given")[2]
    assert cells("minutes a month")[0] != cells("minutes a month")[1]


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_page_keeps_to_its_width(width: int) -> None:
    page = compare_page(a_comparison(), width)
    assert max(len(line) for line in page.splitlines()) <= width
    assert page.endswith("\n")


def test_the_page_says_who_holds_where_and_what_differs() -> None:
    page = " ".join(compare_page(a_comparison()).split())
    assert (
        "Of the same 64 members, 0 hold under both, 62 only under A, 0 only under B, 2 under neither." in page
    )
    assert "tank: rock: 20 kg in A, 34 kg in B" in page
    assert "keeper: minutes_per_month: not said in A, 90 min in B" in page
    assert "animals anthias: only in B (species lyretail, count 5)" in page
    assert "The plans say the same." in page
    assert "B breaks on 29 July 2027: Water changes fall on days when the library is closed." in page


def test_the_page_can_be_written_in_ascii() -> None:
    assert compare_page(a_comparison(), ascii_only=True).isascii()


def test_the_file_needs_nothing_else_and_names_each_part_once() -> None:
    page = compare_html(a_comparison())
    assert "<script" not in page
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")
    idents = [part.split('"')[0] for part in page.split(' id="')[1:]]
    assert len(set(idents)) == len(idents)
    assert page.count("The plan holds for 3 years.") == 2
    assert "The plan breaks on 29 July 2027." in page


def test_the_document_has_the_shape_of_its_schema() -> None:
    schema = compare_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    document = json.loads(compare_json(a_comparison()))
    jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(document)
    assert [plan["letter"] for plan in document["plans"]] == ["A", "B", "C"]
    assert document["plans"][1]["members"]["only_first_holds"] == 62
    assert document["plans"][1]["differences"][0]["other"] == "34 kg"
    assert document["plans"][0]["at_the_end"]["nitrate_mg_no3_per_l"]["p50"] > 0
