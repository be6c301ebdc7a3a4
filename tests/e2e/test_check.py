from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from backreef.usecases.documents import document_schema
from tests.cli_world import EXAMPLES
from tests.e2e.conftest import Run


def test_it_accepts_a_short_plan_and_says_what_it_assumes(run: Run, folder: Path) -> None:
    done = run("check", "plan.toml")
    assert done.code == 0, done.err
    assert done.out.startswith("plan.toml: no faults.\nTest tank, 300 L display,")
    assert "taken from our defaults" in done.out
    assert done.err == ""


@pytest.mark.parametrize("example", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_it_accepts_every_example(run: Run, folder: Path, example: Path) -> None:
    assert run("check", example).code == 0


def test_it_tells_all_faults_at_once_with_their_lines(run: Run, folder: Path) -> None:
    done = run("check", "bad.toml")
    assert done.code == 2
    assert done.out == ""
    lines = done.err.splitlines()
    assert lines[0] == "bad.toml:4: tank.displai: is no key of [tank]; did you mean 'display'?"
    assert lines[1:3] == ['     4 | displai = "300 L"', "       | ^^^^^^^"]
    assert any(line.startswith("bad.toml:5: tank.display: '300 gal': which gallon?") for line in lines)
    assert any(line.startswith("bad.toml:8: animals[0].species: 'yelow_tang' is no animal") for line in lines)
    assert any(line.startswith("bad.toml:9: animals[0].count: found 1000000") for line in lines)
    assert lines[-1] == "4 faults."


def test_a_json_document_of_faults_fits_its_schema_and_stands_alone(run: Run, folder: Path) -> None:
    done = run("check", "bad.toml", "--json", "-")
    assert done.code == 2
    assert done.err == ""
    document = json.loads(done.out)
    jsonschema.validate(document, document_schema("check"))
    assert document["schema"] == "backreef.check/1"
    assert document["faults"][0] == {
        "file": "bad.toml",
        "line": 4,
        "key": "tank.displai",
        "message": "is no key of [tank]; did you mean 'display'?",
    }
    assert document["findings"] == []


def test_a_json_document_of_findings_fits_its_schema(run: Run, folder: Path) -> None:
    done = run("check", EXAMPLES / "office_showpiece.toml", "--json", "found.json")
    assert done.code == 0
    assert "no faults" in done.out
    document = json.loads((folder / "found.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, document_schema("check"))
    assert document["ok"] is True
    weights = [finding["weight"] for finding in document["findings"]]
    assert weights
    assert weights == sorted(weights, key=["serious", "caution", "note"].index)


def test_it_prints_the_schema_of_plans_without_a_plan(run: Run, folder: Path) -> None:
    done = run("check", "--schema")
    assert done.code == 0
    schema = json.loads(done.out)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert "start_on" in schema["required"]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("gone.toml", None, "gone.toml: does not exist"),
        ("empty.toml", b"", "empty.toml: holds no keys"),
        ("broken.toml", b"start_on = 2027-01-04\n[tank\n", "broken.toml:2: is not valid TOML"),
        ("latin.toml", 'story = "Grün"\n'.encode("latin-1"), "latin.toml:1: is not UTF-8"),
        ("wide.toml", 'story = "a"\n'.encode("utf-16"), "wide.toml: is written in UTF-16"),
        ("large.toml", b"# " + 10_000_000 * b"x" + b"\n", "large.toml: is larger than "),
        ("nan.toml", b"start_on = 2027-01-04\n[tank]\ndisplay = nan\n", "nan.toml:3: tank.display"),
        ("day.toml", b"start_on = 2027-02-30\n[tank]\ndisplay = '300 L'\n", "day.toml:1: is not valid TOML"),
    ],
)
def test_it_says_in_one_message_what_is_wrong_with_a_file(
    run: Run, folder: Path, name: str, content: bytes | None, words: str
) -> None:
    if content is not None:
        (folder / name).write_bytes(content)
    done = run("check", name)
    assert done.code == 2
    assert done.out == ""
    assert done.err.startswith(words)
    assert "Traceback" not in done.err


def test_it_refuses_a_directory(run: Run, folder: Path) -> None:
    done = run("check", ".")
    assert (done.code, done.err) == (2, ".: is a directory; name the plan file in it\n")


def test_it_reads_a_file_of_any_name(run: Run, folder: Path) -> None:
    (folder / "Łódź 🐠 riff.toml").write_bytes((folder / "plan.toml").read_bytes())
    done = run("check", "Łódź 🐠 riff.toml")
    assert done.code == 0
    assert done.out.startswith("Łódź 🐠 riff.toml: no faults.")
