from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from backreef.errors import InputFaults
from backreef.usecases.check import check_plan, load_plan
from backreef.usecases.documents import check_document, document_schema
from tests.cli_world import BAD_PLAN, EXAMPLES, GOOD_PLAN


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    path = tmp_path / "bad.toml"
    path.write_text(BAD_PLAN, encoding="utf-8")
    return path


def test_it_gives_faults_instead_of_raising_them(bad: Path) -> None:
    result = check_plan(bad)
    assert not result.ok
    assert [fault.key for fault in result.faults] == [
        "tank.displai",
        "tank.display",
        "animals[0].species",
        "animals[0].count",
    ]
    assert (result.findings, result.plan) == ((), None)


def test_it_gives_the_plan_and_what_stands_out() -> None:
    result = check_plan(str(EXAMPLES / "office_showpiece.toml"))
    assert result.ok
    assert result.plan is not None
    assert result.plan.animals
    assert result.findings


def test_a_plan_alone_is_loaded_or_refused(tmp_path: Path, bad: Path) -> None:
    path = tmp_path / "good.toml"
    path.write_text(GOOD_PLAN, encoding="utf-8")
    assert load_plan(path).tank.name == "Test tank"
    with pytest.raises(InputFaults) as refusal:
        load_plan(bad)
    assert len(refusal.value.faults) == 4


def test_its_table_has_a_row_for_each_fault_and_finding(bad: Path) -> None:
    faulty, found = check_plan(bad), check_plan(EXAMPLES / "office_showpiece.toml")
    assert list(faulty.to_frame()["line"]) == [4, 5, 8, 9]
    assert set(faulty.to_frame()["kind"]) == {"fault"}
    frame = found.to_frame()
    assert list(frame["what"]) == [finding.what for finding in found.findings]
    assert set(frame["kind"]) <= {"serious", "caution", "note"}
    assert len(check_plan(EXAMPLES / "reading_room.toml").to_frame().columns) == len(frame.columns)


def test_its_document_fits_the_schema_both_ways(bad: Path) -> None:
    schema = document_schema("check")
    jsonschema.Draft202012Validator.check_schema(schema)
    for path in (bad, EXAMPLES / "office_showpiece.toml"):
        jsonschema.validate(check_document(check_plan(path)), schema)


@pytest.mark.parametrize(
    "change",
    [
        {"schema": "backreef.check/2"},
        {"faults": None},
        {"more": 1},
        {"findings": [{"id": "x"}]},
        {"ok": "yes"},
    ],
    ids=str,
)
def test_its_schema_refuses_other_documents(bad: Path, change: dict[str, object]) -> None:
    document = check_document(check_plan(bad)) | change
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, document_schema("check"))
